import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber } from "@/app/_lib/format";
import { formatChangeOfShare } from "@/app/(desk)/risk/_lib/risk-words";
import { TECHNOLOGY_LABELS, type Technology } from "@/lib/core/heaters/vocabulary";
import { COVARIATE_LABELS, type Covariate } from "@/lib/core/survival/covariates";
import type { LearntQuantity } from "@/lib/core/survival/learning";
import { axisOf, IntervalMark, type Range } from "./interval-mark";
import styles from "./risk.module.css";

/** What was learnt, number by number: before, now, a plot of both and a plain sentence. */
export function LearningSection({ learning }: { readonly learning: readonly LearntQuantity[] }) {
  const of = (quantity: LearntQuantity["quantity"]) =>
    learning.filter((one) => one.quantity === quantity);
  const untouched = learning.filter(({ learnt }) => !learnt).length;
  return (
    <>
      <p>
        The thin line is what was believed before the record was read, the bar what is believed now;
        both hold nine chances in ten.{" "}
        {untouched === 0
          ? "The record has something to say about every number."
          : `On ${formatNumber(untouched)} of ${formatNumber(learning.length)} numbers it says too little: there the published or assumed range stands.`}
      </p>
      <QuantityTable
        label="Mean life by kind, before and now"
        unit="Mean life of an ordinary one, years"
        quantities={of("mean-life")}
        write={(value) => formatNumber(value, 1)}
      />
      <QuantityTable
        label="What speeds wear up or slows it down, before and now"
        unit="Change of the rate of wear"
        quantities={of("wear")}
        write={formatChangeOfShare}
        reference={0}
      />
      <QuantityTable
        label="Shape of the lifetime law by kind, before and now"
        unit="Shape: the higher, the closer failures bunch around one age"
        quantities={of("shape")}
        write={(value) => formatNumber(value, 1)}
      />
    </>
  );
}

function QuantityTable({
  label,
  unit,
  quantities,
  write,
  reference,
}: {
  readonly label: string;
  readonly unit: string;
  readonly quantities: readonly LearntQuantity[];
  readonly write: (value: number) => string;
  readonly reference?: number;
}) {
  if (quantities.length === 0) return null;
  const axis = axisOf(
    quantities.flatMap(({ prior, posterior }) => [prior, posterior]),
    reference === undefined ? [] : [reference],
  );
  return (
    <LedgerFrame label={label}>
      <table className={`ledger ${styles.learning}`}>
        <thead>
          <tr>
            <th scope="col">{unit}</th>
            <th scope="col" className={`number ${styles.range}`}>
              Now
            </th>
            <th scope="col" className={styles.plot}>
              {write(axis[0])} to {write(axis[1])}
            </th>
            <th scope="col" className={`number ${styles.range}`}>
              Before
            </th>
            <th scope="col">In words</th>
          </tr>
        </thead>
        <tbody>
          {quantities.map((one) => (
            <tr key={one.subject}>
              <th scope="row">{nameOf(one)}</th>
              <td className="number">
                <RangeText range={one.posterior} write={write} />
              </td>
              <td className={styles.plot}>
                <IntervalMark
                  now={one.posterior}
                  before={one.prior}
                  reference={reference}
                  axis={axis}
                />
              </td>
              <td className="number">
                <RangeText range={one.prior} write={write} />
              </td>
              <td>{one.learnt ? one.sentence : <span className="mark">{one.sentence}</span>}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}

function RangeText({
  range: { lower, median, upper },
  write,
}: {
  readonly range: Range;
  readonly write: (value: number) => string;
}) {
  return (
    <>
      {write(median)}
      <span className={styles.where}>
        {write(lower)} to {write(upper)}
      </span>
    </>
  );
}

export function nameOf({ quantity, subject }: LearntQuantity): string {
  return quantity === "wear"
    ? COVARIATE_LABELS[subject as Covariate]
    : TECHNOLOGY_LABELS[subject as Technology];
}
