import { Chart } from "@/app/_components/chart";
import { formatNumber } from "@/app/_lib/format";
import type { PlanSummary } from "@/lib/services/plan-summary";

/** Spend by year in its parts, and expected emergencies by year against the ways not taken. */
export function YearCharts({ summary }: { readonly summary: PlanSummary }) {
  const { ledger, circuitCentsByYear, outcomes, replaceAtAgeYears } = summary;
  const years = ledger.map(({ year }) => year);
  const dollars = (pick: (year: (typeof ledger)[number], circuits: number) => number | null) =>
    ledger.map((year, index) =>
      Math.round((pick(year, circuitCentsByYear[index] ?? 0) ?? 0) / 100),
    );
  const emergencies = (strategy: string) =>
    outcomes.find((outcome) => outcome.strategy === strategy)?.emergenciesByYear ?? [];
  const plan = emergencies("plan");
  const left = emergencies("run-to-failure");
  return (
    <section className="section">
      <h2>Year by year</h2>
      <div className="columns">
        <Chart
          title="Spend by year"
          summary="What each year pays for swaps with crew visits, for electrical work (circuits, panels, services), and what it keeps for emergencies."
          labelsName="Year"
          labels={years}
          unit="today’s dollars"
          format="money"
          series={[
            {
              label: "Swaps and visits",
              values: dollars(
                (year, circuits) => year.swapCents - circuits + year.mobilisationCents,
              ),
              ink: "tide",
              stack: "spend",
            },
            {
              label: "Electrical work",
              values: dollars((year, circuits) => circuits + year.upgradeCents),
              ink: "ink",
              stack: "spend",
            },
            {
              label: "Kept for emergencies",
              values: dollars((year) => year.contingencyCents),
              ink: "ochre-mark",
              stack: "spend",
            },
          ]}
        />
        <Chart
          title="Expected emergencies by year"
          summary={`In the last year the plan expects ${formatNumber(plan[plan.length - 1] ?? 0, 1)} emergencies, run to failure ${formatNumber(left[left.length - 1] ?? 0, 1)}.`}
          labelsName="Year"
          labels={years}
          unit="heaters that fail before a planned swap"
          format="decimal"
          series={[
            { label: "The plan", values: plan, ink: "tide", kind: "line" },
            { label: "Run to failure", values: left, ink: "copper", kind: "line", isDashed: true },
            {
              label: `Replace at ${replaceAtAgeYears} years`,
              values: emergencies("replace-at-age"),
              ink: "series-grey",
              kind: "line",
              isDashed: true,
            },
          ]}
        />
      </div>
    </section>
  );
}
