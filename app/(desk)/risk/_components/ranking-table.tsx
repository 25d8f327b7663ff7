import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import type { RankedHeater, RankingOrder } from "@/lib/services/risk";
import styles from "./risk.module.css";

/** One page of the ranking, each heater with its reason. */
export function RankingTable({
  rows,
  order,
}: {
  readonly rows: readonly RankedHeater[];
  readonly order: RankingOrder;
}) {
  const most = Math.max(...rows.map((row) => row.failureUpper), 0.001);
  return (
    <LedgerFrame label="Ranking of heaters">
      <table className={`ledger ${styles.ranking}`}>
        <thead>
          <tr>
            <th scope="col" className={`number ${styles.rank}`}>
              Rank
            </th>
            <th scope="col">Heater and place</th>
            <th
              scope="col"
              className={styles.chance}
              aria-sort={order === "chance" ? "descending" : undefined}
            >
              Chance in 12 months, 90 % band
            </th>
            <th
              scope="col"
              className="number"
              aria-sort={order === "loss" ? "descending" : undefined}
            >
              Expected loss a year
            </th>
            <th scope="col">Kind</th>
            <th scope="col" className="number">
              Age, years (~ estimate)
            </th>
            <th scope="col" className="number">
              Half fail within, years
            </th>
            <th scope="col" className={styles.reason}>
              Why
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.heaterId}>
              <td className={`number ${styles.rank}`}>{formatNumber(row.rank)}</td>
              <th scope="row" className={styles.heater}>
                <Link href={`/heaters/${row.heaterId}`}>{row.tag}</Link>
                <span className={styles.where}>
                  {row.propertyName}, {row.buildingName}
                  {row.unitLabel === null ? "" : `, ${row.unitLabel}`}
                </span>
              </th>
              <td className={styles.chance}>
                <span className={styles.chanceNumber}>{formatShare(row.failureProbability)}</span>
                <span className={styles.bandText}>
                  {formatShare(row.failureLower, 0)} to {formatShare(row.failureUpper, 0)}
                </span>
                <span className={styles.bandTrack} aria-hidden="true">
                  <span
                    className={styles.bandLine}
                    style={{
                      insetInlineStart: `${(100 * row.failureLower) / most}%`,
                      inlineSize: `${(100 * (row.failureUpper - row.failureLower)) / most}%`,
                    }}
                  />
                  <span
                    className={styles.bandPoint}
                    style={{ insetInlineStart: `${(100 * row.failureProbability) / most}%` }}
                  />
                </span>
              </td>
              <td className="number">{formatMoney(row.expectedLossCents)}</td>
              <td>
                <TechnologyMark technology={row.technology} />
              </td>
              <td className="number">
                {row.ageIsEstimated ? "~" : ""}
                {formatNumber(row.ageYears, 1)}
              </td>
              <td className="number">{formatNumber(row.medianRemainingYears, 1)}</td>
              <td className={styles.reason}>{row.reason}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
