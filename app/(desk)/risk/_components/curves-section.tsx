import { Chart } from "@/app/_components/chart";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import type { CurveComparison } from "@/lib/core/survival/curve-comparison";

/** What the model expects of the heaters on record beside what the record says without a model. */
export function CurvesSection({ curves }: { readonly curves: readonly CurveComparison[] }) {
  if (curves.length === 0) {
    return (
      <p className="soft">
        No kind has ten failures with a known install day yet, too few to draw a curve from.
      </p>
    );
  }
  return (
    <>
      <div className="columns">
        {curves.map((curve) => (
          <CurveChart key={curve.technology} curve={curve} />
        ))}
      </div>
      <details>
        <summary>How the curves are made</summary>
        <div className="section">
          <p>
            On record: Kaplan and Meier’s curve, which needs no model. Planned swaps and heaters
            still in service count for as long as they were watched, heaters that came under
            observation at a later age count from that age. Its band is Greenwood’s, 90 %.
          </p>
          <p>
            Expected: at each age, the model’s rate of failure averaged over the very heaters that
            were then watched, with their water, care and property. Its band is the model’s own
            doubt. If the model is right the two follow one another.
          </p>
          <p>
            Drawn are heaters whose install day is known to within two years, over the ages at which
            at least ten were watched. The fit itself learns from all of them.
          </p>
        </div>
      </details>
    </>
  );
}

function CurveChart({ curve }: { readonly curve: CurveComparison }) {
  const { technology, ages, expected, observed, reference, records, failures, wideBrackets } =
    curve;
  // Before the first failure the record's band has no width.
  const judged = ages.filter((_, k) => observed[k].survival < 1);
  const inside = judged.filter((age) => {
    const k = ages.indexOf(age);
    return expected[k].upper >= observed[k].lower && expected[k].lower <= observed[k].upper;
  }).length;
  const middle = ages.findIndex((_, k) => observed[k].survival <= 0.5);
  const half =
    middle === -1
      ? `At ${ages.at(-1)} years ${formatShare(observed.at(-1)?.survival ?? 1, 0)} are alive on record.`
      : `Half are gone by ${ages[middle]} years on record; the model expects ${formatShare(expected[middle].median, 0)} alive then, published lifetimes ${formatShare(reference[middle], 0)}.`;
  return (
    <Chart
      title={TECHNOLOGY_LABELS[technology]}
      summary={`${half} From the first failure on the bands meet at ${inside} of ${judged.length} ages. ${formatNumber(records)} heaters, ${formatNumber(failures)} failures${wideBrackets > 0 ? `; ${formatNumber(wideBrackets)} more with a wide install bracket are not drawn` : ""}.`}
      labelsName="Age, years"
      labels={ages.map(String)}
      unit="share alive by age in years"
      format="share"
      series={[
        {
          label: "Expected",
          values: expected.map(({ median }) => median),
          ink: "ink",
          kind: "line",
          band: {
            low: expected.map(({ lower }) => lower),
            high: expected.map(({ upper }) => upper),
          },
        },
        {
          label: "On record",
          values: observed.map(({ survival }) => survival),
          ink: "copper",
          kind: "line",
          band: {
            low: observed.map(({ lower }) => lower),
            high: observed.map(({ upper }) => upper),
          },
        },
        {
          label: "Published lifetimes",
          values: reference,
          ink: "series-grey",
          kind: "line",
          isDashed: true,
        },
      ]}
    />
  );
}
