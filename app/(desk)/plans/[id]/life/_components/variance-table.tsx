import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import type { VarianceTotal } from "@/lib/core/planning/variance";
import { centsDifference } from "./words";

/** Planned against actual, summed by year or building. */
export function VarianceTable({
  label,
  rows,
}: {
  readonly label: string;
  readonly rows: readonly (readonly [name: string, VarianceTotal])[];
}) {
  return (
    <LedgerFrame label={`Planned against actual by ${label.toLowerCase()}`}>
      <table className={`ledger ${styles.medium}`}>
        <thead>
          <tr>
            <th scope="col">{label}</th>
            <th scope="col" className="number">
              Lines
            </th>
            <th scope="col" className="number">
              Done
            </th>
            <th scope="col" className="number">
              Committed
            </th>
            <th scope="col" className="number">
              Dropped
            </th>
            <th scope="col" className="number">
              Planned, all
            </th>
            <th scope="col" className="number">
              Planned, of those billed
            </th>
            <th scope="col" className="number">
              Billed
            </th>
            <th scope="col" className="number">
              Difference
            </th>
            <th scope="col">Early, on time, late</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, total]) => {
            const isBilled = total.done > total.costUnknown;
            return (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td className="number">{formatNumber(total.lines)}</td>
                <td className="number">{formatNumber(total.done)}</td>
                <td className="number">{formatNumber(total.committed)}</td>
                <td className="number">{formatNumber(total.dropped)}</td>
                <td className="number">{formatMoney(total.plannedCents)}</td>
                <td className="number">
                  {isBilled ? formatMoney(total.plannedOfKnownCents) : "–"}
                </td>
                <td className="number">{isBilled ? formatMoney(total.actualCents) : "–"}</td>
                <td className="number">
                  {isBilled ? centsDifference(total.actualCents - total.plannedOfKnownCents) : "–"}
                </td>
                <td>
                  {total.done === 0
                    ? "–"
                    : `${formatNumber(total.early)}, ${formatNumber(total.onTime)}, ${formatNumber(total.late)}`}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
