"use client";

import Link from "next/link";
import { useState, useTransition } from "react";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatMoney } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { ProblemList } from "@/app/(desk)/plans/_components/problem-list";
import { periodWords } from "@/app/(desk)/plans/_lib/words";
import { type ActState, submitLines } from "@/app/(desk)/plans/[id]/life/actions";
import { LINE_LIFE_LABELS, type LineAct } from "@/lib/core/planning/plan-life";
import type { LifeRow } from "@/lib/services/plan-life";
import own from "./life.module.css";
import { centsDifference, daysDifference } from "./words";

/** A year's lines: choose some, then say what became of them. */
export function LifeLines({
  runId,
  year,
  rows,
  optionNames,
  mayAct,
}: {
  readonly runId: string;
  readonly year: string;
  readonly rows: readonly LifeRow[];
  readonly optionNames: Readonly<Record<string, string>>;
  readonly mayAct: boolean;
}) {
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const [day, setDay] = useState("");
  const [cost, setCost] = useState("");
  const [state, setState] = useState<ActState>({ problems: [], said: null });
  const [isPending, start] = useTransition();

  const act = (what: LineAct) =>
    start(async () => {
      const lines = rows
        .filter(({ heaterId }) => chosen.has(heaterId))
        .map(({ heaterId, version }) => ({ heaterId, version }));
      const next = await submitLines(runId, { act: what, lines, day, cost });
      setState(next);
      if (next.problems.length > 0) return;
      setChosen(new Set());
      setDay("");
      setCost("");
    });
  const choose = (heaterId: string) => {
    const next = new Set(chosen);
    if (!next.delete(heaterId)) next.add(heaterId);
    setChosen(next);
  };
  const areAll = rows.length > 0 && chosen.size === rows.length;
  const isIdle = isPending || chosen.size === 0;

  return (
    <>
      {mayAct && (
        <fieldset className={own.acts}>
          <legend>
            {chosen.size === 0
              ? "Choose lines, then say what became of them"
              : `With the ${chosen.size === 1 ? "line" : `${chosen.size} lines`} chosen`}
          </legend>
          <div className="filter">
            <div className="field">
              <label htmlFor="life-day">Done on</label>
              <input
                id="life-day"
                type="date"
                value={day}
                onChange={(event) => setDay(event.target.value)}
              />
            </div>
            <div className="field">
              <label htmlFor="life-cost">Cost of each, $</label>
              <input
                id="life-cost"
                inputMode="decimal"
                value={cost}
                onChange={(event) => setCost(event.target.value)}
              />
            </div>
            <button
              type="button"
              className="button"
              disabled={isIdle}
              onClick={() => act("finish")}
            >
              Mark done
            </button>
            <button
              type="button"
              className="button"
              disabled={isIdle}
              onClick={() => act("commit")}
            >
              Commit
            </button>
            <button type="button" className="button" disabled={isIdle} onClick={() => act("drop")}>
              Drop
            </button>
            <button
              type="button"
              className="button"
              disabled={isIdle}
              onClick={() => act("take-back")}
            >
              Take back
            </button>
          </div>
          <p className="small soft">
            A day or cost left empty is taken from the record of the heater’s replacement, where
            there is one. A cost that nobody knows stays unknown.
          </p>
        </fieldset>
      )}
      <ProblemList problems={state.problems} />
      <p role="status">{state.said}</p>
      <LedgerFrame label={`Lines of ${year}`}>
        <table className={`ledger ${styles.medium}`}>
          <thead>
            <tr>
              {mayAct && (
                <th scope="col">
                  <input
                    type="checkbox"
                    aria-label={`All lines of ${year}`}
                    checked={areAll}
                    onChange={() =>
                      setChosen(areAll ? new Set() : new Set(rows.map((row) => row.heaterId)))
                    }
                  />
                </th>
              )}
              <th scope="col">Heater</th>
              <th scope="col">Home</th>
              <th scope="col">Becomes, when</th>
              <th scope="col">State</th>
              <th scope="col" className="number">
                Planned
              </th>
              <th scope="col" className="number">
                Actual
              </th>
              <th scope="col" className="number">
                Difference
              </th>
              <th scope="col">Day</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.heaterId}>
                {mayAct && (
                  <td>
                    <input
                      type="checkbox"
                      aria-label={`Choose ${row.tag}`}
                      checked={chosen.has(row.heaterId)}
                      onChange={() => choose(row.heaterId)}
                    />
                  </td>
                )}
                <th scope="row">
                  <Link href={`/heaters/${row.heaterId}`}>{row.tag}</Link>
                </th>
                <td>
                  {row.propertyName}, {row.buildingName}
                  {row.unitLabel && `, ${row.unitLabel}`}
                </td>
                <td>
                  {optionNames[row.optionCode] ?? row.optionCode}, {periodWords(row.period)}
                </td>
                <td>
                  {LINE_LIFE_LABELS[row.life]}
                  {row.life !== "done" && row.recordedDay && (
                    <div className="small soft">
                      {row.wasEmergency ? "failed" : "taken out"} {formatDay(row.recordedDay)}, on
                      record
                    </div>
                  )}
                </td>
                <td className="number">{formatMoney(row.plannedCents)}</td>
                <td className="number">
                  {row.actualCents === null
                    ? row.life === "done"
                      ? "not known"
                      : "–"
                    : formatMoney(row.actualCents)}
                </td>
                <td className="number">{centsDifference(row.variance.cents)}</td>
                <td>
                  {row.actualDay && (
                    <>
                      {formatDay(row.actualDay)}, {daysDifference(row.variance.days)}
                    </>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </>
  );
}
