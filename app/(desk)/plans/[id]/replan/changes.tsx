import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import type { PlanChangesView } from "@/lib/services/plan-replan";

const KINDS: readonly (readonly [keyof PlanChangesView["totals"]["byKind"], string])[] = [
  ["moved", "moved"],
  ["option", "with another option"],
  ["moved-and-option", "moved with another option"],
  ["new", "new"],
  ["left", "no longer replaced within the horizon"],
  ["gone", "dropped"],
];

/** What the plan changed of the one it was made around, and why. */
export function Changes({ changes }: { readonly changes: PlanChangesView }) {
  const { totals, rows } = changes;
  const kinds = KINDS.flatMap(([kind, words]) =>
    totals.byKind[kind] > 0 ? [`${formatNumber(totals.byKind[kind])} ${words}`] : [],
  );
  const difference = totals.afterCents - totals.beforeCents;
  return (
    <section className="section">
      <h2>What changed and why</h2>
      <dl className="facts">
        <dt>Why it was asked for</dt>
        <dd>{changes.reason}</dd>
        <dt>Made around</dt>
        <dd>
          <Link href={`/plans/${changes.ofRunId}/life`}>the earlier plan</Link>
        </dd>
        <dt>Moving a line had to save</dt>
        <dd>
          {formatMoney(changes.penaltyCents)}; {formatMoney(changes.penaltiesCents)} in all was
          charged in the search, in no cost of the plan
        </dd>
        <dt>Promised lines kept</dt>
        <dd>{formatNumber(changes.committedKept)}</dd>
        <dt>Lines changed</dt>
        <dd>
          {formatNumber(totals.changed)}
          {kinds.length > 0 && `: ${kinds.join(", ")}`}
        </dd>
        <dt>Planned cost of these lines</dt>
        <dd>
          {formatMoney(totals.afterCents)} instead of {formatMoney(totals.beforeCents)}
          {difference !== 0 &&
            `, ${formatMoney(Math.abs(difference))} ${difference > 0 ? "more" : "less"}`}
        </dd>
      </dl>
      {rows.length === 0 ? (
        <p>No line changed: the earlier plan still is the one to follow.</p>
      ) : (
        <LedgerFrame label="Lines that changed">
          <table className={`ledger ${styles.wide}`}>
            <thead>
              <tr>
                <th scope="col">Heater</th>
                <th scope="col">What changed</th>
                <th scope="col">Why: what is different now</th>
                <th scope="col" className="number">
                  Planned before
                </th>
                <th scope="col" className="number">
                  Planned now
                </th>
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <tr key={row.heaterId}>
                  <th scope="row">
                    <Link href={`/heaters/${row.heaterId}`}>{row.tag}</Link>
                    <div className="small soft">{row.place}</div>
                  </th>
                  <td>{row.change}</td>
                  <td>{row.reasons.length > 0 ? row.reasons.join("; ") : "not known"}</td>
                  <td className="number">{formatMoney(row.beforeCents)}</td>
                  <td className="number">{formatMoney(row.afterCents)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      )}
      {rows.length > 0 && (
        <p className="small soft">
          A reason is what differs for this heater between the inputs of the two plans. A line can
          also move because others did.
        </p>
      )}
    </section>
  );
}
