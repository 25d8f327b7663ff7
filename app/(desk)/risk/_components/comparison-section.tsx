import Link from "next/link";
import { Chart } from "@/app/_components/chart";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { formatChangeOfShare } from "@/app/(desk)/risk/_lib/risk-words";
import type { ModelComparison } from "@/lib/core/survival/compare-models";
import type { LearntQuantity } from "@/lib/core/survival/learning";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import type { FitDetail } from "@/lib/services/risk-fits";
import { nameOf } from "./learning-section";
import styles from "./risk.module.css";

/** What changes when this fit takes the place of the model that was in use when it was made. */
export function ComparisonSection({
  comparison,
  learning,
  learntBefore,
  heaterNames,
}: {
  readonly comparison: ModelComparison;
  readonly learning: readonly LearntQuantity[];
  /** Numbers of the other model; null when it was published lifetimes. */
  readonly learntBefore: readonly LearntQuantity[] | null;
  readonly heaterNames: FitDetail["heaterNames"];
}) {
  const { years, top, rankCorrelation, heaters, movers } = comparison;
  const other = otherName(comparison.against);
  const [next] = years;
  if (heaters === 0 || !next) {
    return <p className="soft">No heater is in service, so no ranking changes.</p>;
  }
  return (
    <>
      <Figures>
        <Figure
          label="Failures expected, next 12 months"
          value={`${formatNumber(next.other.expected)} → ${formatNumber(next.model.expected)}`}
        >
          <p>
            By {other} {formatNumber(next.other.expected, 1)}, nine times in ten{" "}
            {formatNumber(next.other.countBand.lower)} to {formatNumber(next.other.countBand.upper)}
            ; by this fit {formatNumber(next.model.expected, 1)},{" "}
            {formatNumber(next.model.countBand.lower)} to {formatNumber(next.model.countBand.upper)}
            . The model’s doubt and luck together.
          </p>
        </Figure>
        <Figure
          label="Stay in the first tenth"
          value={`${formatNumber(top.stay)} of ${formatNumber(top.size)}`}
        >
          <p>
            Of the {formatNumber(top.size)} heaters likeliest to fail by {other}, so many still are
            by this fit.
          </p>
        </Figure>
        <Figure
          label="Rankings agree"
          value={rankCorrelation === null ? "–" : rankCorrelation.toFixed(2)}
        >
          <p>
            Spearman’s rank correlation over {formatNumber(heaters)} heaters in service: 1 is the
            same order, 0 none.
          </p>
        </Figure>
      </Figures>
      <div className="columns">
        <Chart
          title="First failures if nothing is replaced ahead"
          summary={`In the first year ${formatNumber(next.model.expected)} by this fit, ${formatNumber(next.other.expected)} by ${other}. The band holds nine counts in ten, luck and the model's own doubt together.`}
          labelsName="Year ahead"
          labels={years.map((_, k) => String(k + 1))}
          unit="failures a year"
          format="decimal"
          series={[
            {
              label: "This fit",
              values: years.map(({ model }) => model.expected),
              ink: "copper",
              kind: "line",
              band: {
                low: years.map(({ model }) => model.countBand.lower),
                high: years.map(({ model }) => model.countBand.upper),
              },
            },
            {
              label: other,
              values: years.map((year) => year.other.expected),
              ink: "ink",
              kind: "line",
              isDashed: true,
            },
          ]}
        />
        <Movers movers={movers} other={other} heaterNames={heaterNames} />
      </div>
      {learntBefore && <ParameterChanges before={learntBefore} now={learning} other={other} />}
    </>
  );
}

/** Changes of a chance smaller than this do not show. */
const SHOWS = 0.0005;

function Movers({
  movers,
  other,
  heaterNames,
}: {
  readonly movers: ModelComparison["movers"];
  readonly other: string;
  readonly heaterNames: FitDetail["heaterNames"];
}) {
  const moved = movers.filter(({ before, after }) => Math.abs(after - before) >= SHOWS);
  if (moved.length === 0) {
    return <p className="soft">No heater’s chance changes by as much as a tenth of a point.</p>;
  }
  return (
    <LedgerFrame label="Heaters whose chance in 12 months changes most">
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Most changed</th>
            <th scope="col" className="number">
              By {other}
            </th>
            <th scope="col" className="number">
              By this fit
            </th>
            <th scope="col" className="number">
              Rank
            </th>
          </tr>
        </thead>
        <tbody>
          {moved.map(({ heaterId, before, after, rankBefore, rankAfter }) => (
            <tr key={heaterId}>
              <th scope="row">
                <Link className={styles.tag} href={`/heaters/${heaterId}`}>
                  {heaterNames[heaterId]?.tag ?? "A heater"}
                </Link>
                <span className={styles.where}>{heaterNames[heaterId]?.propertyName}</span>
              </th>
              <td className="number">{formatShare(before)}</td>
              <td className="number">{formatShare(after)}</td>
              <td className="number">
                {formatNumber(rankBefore)} → {formatNumber(rankAfter)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function ParameterChanges({
  before,
  now,
  other,
}: {
  readonly before: readonly LearntQuantity[];
  readonly now: readonly LearntQuantity[];
  readonly other: string;
}) {
  const key = ({ quantity, subject }: LearntQuantity) => `${quantity} ${subject}`;
  const beforeOf = new Map(before.map((one) => [key(one), one]));
  const write = ({ quantity }: LearntQuantity, value: number) =>
    quantity === "wear" ? formatChangeOfShare(value) : formatNumber(value, 1);
  const range = (one: LearntQuantity) => {
    const { lower, median, upper } = one.posterior;
    return `${write(one, median)} (${write(one, lower)} to ${write(one, upper)})`;
  };
  return (
    <LedgerFrame label={`Numbers of this fit beside those of ${other}`}>
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Number, with its 90 % band</th>
            <th scope="col" className="number">
              {other}
            </th>
            <th scope="col" className="number">
              This fit
            </th>
          </tr>
        </thead>
        <tbody>
          {now.map((one) => {
            const earlier = beforeOf.get(key(one));
            return (
              <tr key={key(one)}>
                <th scope="row">
                  {QUANTITY_LABELS[one.quantity]}: {nameOf(one)}
                </th>
                <td className="number">{earlier ? range(earlier) : "not on record"}</td>
                <td className="number">{range(one)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

const QUANTITY_LABELS: Readonly<Record<LearntQuantity["quantity"], string>> = {
  "mean-life": "Mean life, years",
  shape: "Shape",
  wear: "Wear",
};

/** A model's method as a person reads it. */
export function otherName(method: string): string {
  return method === PRIOR_MODEL.method ? "published lifetimes" : method;
}
