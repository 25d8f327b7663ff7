"use client";

import { useRouter } from "next/navigation";
import { useEffect, useOptimistic, useRef, useState, useTransition } from "react";
import { formatDay, formatMoney, formatNumber } from "@/app/_lib/format";
import {
  REGISTER_COLUMN_LABELS,
  REGISTER_COLUMNS,
  type RegisterQuery,
  writeRegisterQuery,
} from "@/lib/core/heaters/register-query";
import type { RegisterRow } from "@/lib/core/heaters/register-row";
import type { RegisterExtent, RegisterPage } from "@/lib/services/register";
import { OpenHeater } from "./open-heater";
import styles from "./register.module.css";
import { RegisterFilters } from "./register-filters";
import { RegisterGrid } from "./register-grid";

/** The register: filters, what they leave, and the heaters themselves. */
export function Register({
  query,
  rows,
  places,
  extent: extentToCome,
}: {
  readonly query: RegisterQuery;
  readonly rows: readonly RegisterRow[];
  readonly places: RegisterPage["places"];
  readonly extent: Promise<RegisterExtent>;
}) {
  const router = useRouter();
  const [isMoving, startMoving] = useTransition();
  const [selection, setSelection] = useState<Record<string, true>>({});
  const extent = useExtent(extentToCome);
  const view = writeRegisterQuery(query);
  // What was chosen shows at once, and the next choice builds on it, while the server still answers.
  const [chosen, setChosen] = useOptimistic(query);
  const [isLeaving, startLeaving] = useTransition();
  const searchPause = useRef<number>(undefined);
  const show = (next: RegisterQuery) => {
    // It would overtake the heater that is being opened.
    if (isLeaving) return;
    startMoving(() => {
      setChosen(next);
      router.replace(`/heaters?${writeRegisterQuery(next)}`, { scroll: false });
    });
  };
  const open = (heaterId: string) => {
    window.clearTimeout(searchPause.current);
    startLeaving(() => router.push(`/heaters/${heaterId}`));
  };
  const selected = Object.keys(selection);

  return (
    <section className={styles.register} aria-label="Register of heaters" aria-busy={isMoving}>
      <RegisterFilters query={chosen} places={places} searchPause={searchPause} onChange={show} />
      <div className={styles.toolbar}>
        <Summary extent={extent} />
        <div className={styles.tools}>
          <ColumnChoice query={chosen} onChange={show} />
          {selected.length > 0 && (
            <button
              className="button button--quiet small"
              type="button"
              onClick={() => setSelection({})}
            >
              Clear selection
            </button>
          )}
          <form method="post" action={`/heaters/export?${view}`}>
            <input type="hidden" name="ids" value={selected.join(" ")} />
            <button className="button" type="submit">
              {selected.length > 0
                ? `Download ${formatNumber(selected.length)} selected as CSV`
                : `Download ${extent ? `all ${formatNumber(extent.summary.total)}` : "all"} as CSV`}
            </button>
          </form>
        </div>
      </div>
      <OpenHeater value={open}>
        <RegisterGrid
          key={query.group}
          query={{ ...chosen, group: query.group }}
          view={view}
          rows={rows}
          extent={extent}
          selection={selection}
          onSelect={setSelection}
          onSort={(sort) => show({ ...chosen, sort })}
          isMoving={isMoving}
        />
      </OpenHeater>
    </section>
  );
}

/** The extent once it has been counted; null until then, also after a change of the question. */
function useExtent(toCome: Promise<RegisterExtent>): RegisterExtent | null {
  const [counted, setCounted] = useState<{
    readonly of: Promise<RegisterExtent>;
    readonly extent: RegisterExtent;
  } | null>(null);
  useEffect(() => {
    let isCurrent = true;
    toCome.then(
      (extent) => isCurrent && setCounted({ of: toCome, extent }),
      () => undefined,
    );
    return () => {
      isCurrent = false;
    };
  }, [toCome]);
  return counted?.of === toCome ? counted.extent : null;
}

function Summary({ extent }: { readonly extent: RegisterExtent | null }) {
  if (!extent) {
    return (
      <p className={styles.summary} role="status">
        Counting …
      </p>
    );
  }
  const { summary, risk } = extent;
  const retired = summary.total - summary.inService;
  const heaters = `${formatNumber(summary.total)} ${summary.total === 1 ? "heater" : "heaters"}`;
  const facts = [
    retired > 0 && summary.inService > 0 ? `${formatNumber(retired)} of them retired` : null,
    summary.averageAgeYears === null
      ? null
      : `average age ${formatNumber(summary.averageAgeYears, 1)} years`,
    summary.scored === 0
      ? null
      : `${formatNumber(summary.expectedFailures, summary.expectedFailures < 10 ? 1 : 0)} expected to fail in 12 months`,
    summary.scored === 0 ? null : `expected loss ${formatMoney(summary.expectedLossCents)} a year`,
  ].filter((fact) => fact !== null);
  const guesses = summary.estimatedInstalls + summary.unknownInstalls;
  return (
    <div className={styles.summary}>
      <p role="status">
        <strong>{heaters}</strong>
        {facts.map((fact) => ` · ${fact}`).join("")}
      </p>
      {guesses > 0 && (
        <p className="small soft">
          ≈ marks an age that is not known for sure: {formatNumber(summary.estimatedInstalls)}{" "}
          install days of these are estimates or brackets, {formatNumber(summary.unknownInstalls)}{" "}
          have no evidence.
          {risk.asOf && ` Chance and loss as of ${formatDay(risk.asOf)}`}
          {risk.asOf && (risk.isComing ? ", being computed anew." : ".")}
        </p>
      )}
      {summary.inService > 0 && summary.scored === 0 && (
        <p className="small soft">
          Chance and loss show "–" until the first pass of the risk model is done
          {risk.isComing ? "; it is under way." : "."}
        </p>
      )}
    </div>
  );
}

function ColumnChoice({
  query,
  onChange,
}: {
  readonly query: RegisterQuery;
  readonly onChange: (query: RegisterQuery) => void;
}) {
  return (
    <details className={styles.columnChoice}>
      <summary className="button">Columns</summary>
      <fieldset className={styles.columnList}>
        <legend className="visually-hidden">Columns to show</legend>
        {REGISTER_COLUMNS.map((column) => (
          <label key={column}>
            <input
              type="checkbox"
              checked={query.columns.includes(column)}
              disabled={column === "tag"}
              onChange={({ target }) =>
                onChange({
                  ...query,
                  columns: REGISTER_COLUMNS.filter((one) =>
                    one === column ? target.checked : query.columns.includes(one),
                  ),
                })
              }
            />
            {REGISTER_COLUMN_LABELS[column]}
          </label>
        ))}
      </fieldset>
    </details>
  );
}
