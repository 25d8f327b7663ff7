import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { formatChangeOfShare } from "@/app/(desk)/risk/_lib/risk-words";
import type { PropertyLearning } from "@/lib/core/survival/fit-records";
import { axisOf, IntervalMark, type Range } from "./interval-mark";
import styles from "./risk.module.css";

/** 5 % and 95 % of a standard normal. */
const Z = 1.645;
/** Properties shown before the next are folded away, and those shown at most. */
const SHOWN = 15;
const MOST_SHOWN = 200;

/** How far each property differs from the fleet, its record weighed against all others'. */
export function PropertiesSection({
  properties,
  names,
  spread,
}: {
  readonly properties: readonly PropertyLearning[];
  readonly names: Readonly<Record<string, string>>;
  /** Spread of properties' effects on ln(rate of wear). */
  readonly spread: number;
}) {
  const rows = properties
    .map((property) => ({ ...property, range: rangeOf(property) }))
    .sort((a, b) => Math.abs(b.effect) - Math.abs(a.effect));
  if (rows.length === 0) return null;
  const alone = rows.flatMap(({ aloneEffect }) =>
    aloneEffect === null ? [] : [Math.expm1(aloneEffect)],
  );
  const axis = axisOf(
    rows.map(({ range }) => range),
    [0, ...alone.filter((value) => Math.abs(value) < 1)],
  );
  const table = (shown: typeof rows, label: string) => (
    <LedgerFrame label={label}>
      <table className={`ledger ${styles.properties}`}>
        <thead>
          <tr>
            <th scope="col">Property</th>
            <th scope="col" className="number">
              Taken as
            </th>
            <th scope="col" className={styles.plot}>
              {formatChangeOfShare(axis[0])} to {formatChangeOfShare(axis[1])} wear
            </th>
            <th scope="col" className="number">
              Its record alone
            </th>
            <th scope="col" className="number">
              Its record weighs
            </th>
            <th scope="col" className="number">
              Heaters on record
            </th>
            <th scope="col" className="number">
              Failures
            </th>
          </tr>
        </thead>
        <tbody>
          {shown.map(({ propertyId, records, failures, ownWeight, aloneEffect, range }) => (
            <tr key={propertyId}>
              <th scope="row">{names[propertyId] ?? "A property that is gone"}</th>
              <td className="number">
                {formatChangeOfShare(range.median)}
                <span className={styles.where}>
                  {formatChangeOfShare(range.lower)} to {formatChangeOfShare(range.upper)}
                </span>
              </td>
              <td className={styles.plot}>
                <IntervalMark
                  now={range}
                  alone={aloneEffect === null ? null : Math.expm1(aloneEffect)}
                  reference={0}
                  axis={axis}
                />
              </td>
              <td className="number">
                {aloneEffect === null
                  ? "says little"
                  : formatChangeOfShare(Math.expm1(aloneEffect))}
              </td>
              <td className="number">{formatShare(ownWeight, 0)}</td>
              <td className="number">{formatNumber(records)}</td>
              <td className="number">{formatNumber(failures)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
  return (
    <>
      <p>
        A property may wear its heaters faster or slower than water, care and age explain. Its own
        record (open mark) is drawn towards the fleet’s (the rule in the middle), the more so the
        less is on it. Two properties in three differ by less than{" "}
        {formatShare(Math.expm1(spread), 0)}, as far as the record tells.
      </p>
      {table(rows.slice(0, SHOWN), "Properties' own effects, the largest first")}
      {rows.length > SHOWN && (
        <details>
          <summary>
            {rows.length > MOST_SHOWN
              ? `The next ${formatNumber(MOST_SHOWN - SHOWN)} of ${formatNumber(rows.length)} properties`
              : `The other ${formatNumber(rows.length - SHOWN)} properties`}
          </summary>
          {table(rows.slice(SHOWN, MOST_SHOWN), "Properties' own effects, the smaller ones")}
        </details>
      )}
    </>
  );
}

function rangeOf({ effect, standardDeviation }: PropertyLearning): Range {
  return {
    lower: Math.expm1(effect - Z * standardDeviation),
    median: Math.expm1(effect),
    upper: Math.expm1(effect + Z * standardDeviation),
  };
}
