"use client";

import Link from "next/link";
import { Fragment, useEffect, useState } from "react";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { periodWords } from "@/app/(desk)/plans/_lib/words";
import { READINESS_LABELS } from "@/lib/core/heaters/vocabulary";
import { PRICE_PART_LABELS, PRICE_PARTS } from "@/lib/core/planning/costing";
import { COST_PART_LABELS, COST_PARTS } from "@/lib/core/planning/options";
import type { ScheduleLine } from "@/lib/services/plan-pages";
import styles from "./schedule.module.css";

export type ScheduleRow = {
  readonly period: string;
  readonly buildingId: string;
  readonly buildingName: string;
  readonly propertyName: string;
  readonly swaps: number;
  readonly swapsByOption: readonly { readonly code: string; readonly swaps: number }[];
  readonly capitalCents: number;
  readonly hours: number;
};

type OptionNames = Readonly<Record<string, string>>;

/** A year's buildings; each opens to its lines, which are fetched then. */
export function ScheduleRows({
  runId,
  year,
  rows,
  optionNames,
}: {
  readonly runId: string;
  readonly year: string;
  readonly rows: readonly ScheduleRow[];
  readonly optionNames: OptionNames;
}) {
  const [open, setOpen] = useState<ReadonlySet<string>>(new Set());
  return (
    <LedgerFrame label={`Schedule of ${year}`}>
      <table className={`ledger ${styles.wide}`}>
        <thead>
          <tr>
            <th scope="col">When</th>
            <th scope="col">Building</th>
            <th scope="col">Swaps</th>
            <th scope="col" className="number">
              Crew hours
            </th>
            <th scope="col" className="number">
              Cost
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => {
            const key = `${row.period}/${row.buildingId}`;
            const isOpen = open.has(key);
            return (
              <Fragment key={key}>
                <tr>
                  <td>{periodWords(row.period)}</td>
                  <th scope="row">
                    <button
                      type="button"
                      className={styles.opener}
                      aria-expanded={isOpen}
                      onClick={() => setOpen(toggled(open, key))}
                    >
                      {row.propertyName}, {row.buildingName}
                    </button>
                  </th>
                  <td>
                    {row.swapsByOption
                      .map(({ code, swaps }) => `${swaps} × ${optionNames[code] ?? code}`)
                      .join(", ")}
                  </td>
                  <td className="number">{formatNumber(row.hours)}</td>
                  <td className="number">{formatMoney(row.capitalCents)}</td>
                </tr>
                {isOpen && (
                  <tr className={styles.opened}>
                    <td colSpan={5}>
                      <FetchedLines
                        address={`/plans/${runId}/lines?building=${row.buildingId}&period=${row.period}`}
                        optionNames={optionNames}
                      />
                    </td>
                  </tr>
                )}
              </Fragment>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

/** The heaters that stay, fetched when the reader asks for them. */
export function LeftLines({
  runId,
  optionNames,
}: {
  readonly runId: string;
  readonly optionNames: OptionNames;
}) {
  const [isWanted, setIsWanted] = useState(false);
  return isWanted ? (
    <LedgerFrame label="Heaters that stay">
      <FetchedLines address={`/plans/${runId}/lines?left`} optionNames={optionNames} hasPlace />
    </LedgerFrame>
  ) : (
    <p>
      <button type="button" className="button" onClick={() => setIsWanted(true)}>
        List them
      </button>
    </p>
  );
}

function FetchedLines({
  address,
  optionNames,
  hasPlace = false,
}: {
  readonly address: string;
  readonly optionNames: OptionNames;
  /** True where the lines are of many buildings. */
  readonly hasPlace?: boolean;
}) {
  const [lines, setLines] = useState<readonly ScheduleLine[] | "failed" | null>(null);
  useEffect(() => {
    const stop = new AbortController();
    fetch(address, { signal: stop.signal })
      .then(async (answer) => {
        if (!answer.ok) throw new Error(`lines: ${answer.status}`);
        setLines(await answer.json());
      })
      .catch(() => {
        if (!stop.signal.aborted) setLines("failed");
      });
    return () => stop.abort();
  }, [address]);

  if (lines === null) return <p className="soft small">Fetching the lines …</p>;
  if (lines === "failed") {
    return (
      <p className="field__problem" role="alert">
        The lines could not be fetched. Close and open them again.
      </p>
    );
  }
  return (
    <table className={`ledger ${styles.wide}`}>
      <thead>
        <tr>
          {hasPlace && <th scope="col">Building</th>}
          <th scope="col">Home</th>
          <th scope="col">Heater</th>
          <th scope="col">Now</th>
          <th scope="col">Installed</th>
          <th scope="col" className="number">
            Chance it fails first
          </th>
          <th scope="col">Becomes</th>
          <th scope="col">Cost</th>
        </tr>
      </thead>
      <tbody>
        {lines.map((line) => (
          <LineRow key={line.heaterId} line={line} optionNames={optionNames} hasPlace={hasPlace} />
        ))}
      </tbody>
    </table>
  );
}

function LineRow({
  line,
  optionNames,
  hasPlace,
}: {
  readonly line: ScheduleLine;
  readonly optionNames: OptionNames;
  readonly hasPlace: boolean;
}) {
  const [isOpen, setIsOpen] = useState(false);
  const [from, to] = [line.installEarliest.slice(0, 4), line.installLatest.slice(0, 4)];
  return (
    <>
      <tr>
        {hasPlace && (
          <td>
            {line.propertyName}, {line.buildingName}
          </td>
        )}
        <td>{line.unitLabel ?? "shared"}</td>
        <th scope="row">
          <Link href={`/heaters/${line.heaterId}`}>{line.tag}</Link>
        </th>
        <td>
          <TechnologyMark technology={line.technology} />
        </td>
        <td>{from === to ? from : `${from} to ${to}`}</td>
        <td className="number">{formatShare(line.parts.failsBefore)}</td>
        <td>
          {line.optionCode === null ? "stays" : (optionNames[line.optionCode] ?? line.optionCode)}
        </td>
        <td>
          <button
            type="button"
            className={styles.opener}
            aria-expanded={isOpen}
            onClick={() => setIsOpen(!isOpen)}
          >
            {line.optionCode === null ? "costs" : formatMoney(line.capitalCents)}
          </button>
        </td>
      </tr>
      {isOpen && (
        <tr className={styles.opened}>
          <td colSpan={hasPlace ? 8 : 7}>
            <LineParts line={line} />
          </td>
        </tr>
      )}
    </>
  );
}

/** What the budget pays for the swap, and what the line costs over the whole horizon. */
function LineParts({ line }: { readonly line: ScheduleLine }) {
  const { swap, incentiveCents, price, leftCents, unknownReadiness } = line.parts;
  const total = PRICE_PARTS.reduce((sum, part) => sum + price[part], 0);
  return (
    <div className={styles.parts}>
      {line.optionCode !== null && (
        <table className="ledger">
          <caption>What the budget pays, today’s dollars with the change of installed cost</caption>
          <tbody>
            {COST_PARTS.map((part) => {
              const cents = swap[part];
              return cents === undefined ? null : (
                <tr key={part}>
                  <th scope="row">{COST_PART_LABELS[part]}</th>
                  <td className="number">{formatMoney(cents)}</td>
                </tr>
              );
            })}
            {incentiveCents > 0 && (
              <tr>
                <th scope="row">Incentives</th>
                <td className="number">{formatMoney(-incentiveCents)}</td>
              </tr>
            )}
          </tbody>
          <tfoot>
            <tr>
              <th scope="row">Planned cost</th>
              <td className="number">{formatMoney(line.capitalCents)}</td>
            </tr>
          </tfoot>
        </table>
      )}
      <table className="ledger">
        <caption>Over the whole horizon, present value, each by its chance</caption>
        <tbody>
          {PRICE_PARTS.filter((part) => Math.round(price[part]) !== 0).map((part) => (
            <tr key={part}>
              <th scope="row">{PRICE_PART_LABELS[part]}</th>
              <td className="number">{formatMoney(price[part])}</td>
            </tr>
          ))}
        </tbody>
        <tfoot>
          <tr>
            <th scope="row">In the plan’s total</th>
            <td className="number">{formatMoney(total)}</td>
          </tr>
          {line.optionCode !== null && (
            <tr>
              <th scope="row">Had it been left</th>
              <td className="number">{formatMoney(leftCents)}</td>
            </tr>
          )}
        </tfoot>
      </table>
      {unknownReadiness.length > 0 && (
        <p className="small">
          <span className="mark mark--attention">To be looked at first:</span>{" "}
          {unknownReadiness.map((item) => READINESS_LABELS[item].toLowerCase()).join(", ")}.
        </p>
      )}
    </div>
  );
}

function toggled(open: ReadonlySet<string>, key: string): ReadonlySet<string> {
  const next = new Set(open);
  if (!next.delete(key)) next.add(key);
  return next;
}
