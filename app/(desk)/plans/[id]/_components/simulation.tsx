import { Chart, type Series } from "@/app/_components/chart";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatKilograms, formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { STRATEGY_LABELS } from "@/lib/core/planning/strategies";
import type { SimulationSummary } from "@/lib/services/plan-simulation";
import type { PlanSummary } from "@/lib/services/plan-summary";

type Outcome = SimulationSummary["outcomes"][number];
type Measure = "spendCents" | "emergencies";
type Band = Outcome["total"][Measure];

/** What luck and the doubt of the risk model make of the plan: bands from thousands of trials. */
export function Simulation({ summary }: { readonly summary: PlanSummary }) {
  const { simulation, replaceAtAgeYears } = summary;
  const plan = simulation?.outcomes.find(({ strategy }) => strategy === "plan");
  if (!simulation || !plan) {
    return (
      <section className="section">
        <h2>When heaters fail at random</h2>
        <p className="empty">
          This run is from before plans were simulated. Compute it again to see how far spend and
          emergencies may stray from what is expected.
        </p>
      </section>
    );
  }
  const labels = plan.years.map(({ year }) => year);
  const label = (outcome: Outcome) =>
    outcome.strategy === "replace-at-age"
      ? `Replace at ${replaceAtAgeYears} years`
      : STRATEGY_LABELS[outcome.strategy];
  const series = (measure: Measure, unit: number): Series[] =>
    INKS.flatMap(({ strategy, ink, isDashed }) => {
      const outcome = simulation.outcomes.find((each) => each.strategy === strategy);
      if (!outcome) return [];
      const values = (key: keyof Band) =>
        outcome.years.map((year) => round(year[measure][key] / unit));
      return [
        {
          label: label(outcome),
          values: values("p50"),
          ink,
          kind: "line" as const,
          isDashed,
          band: { low: values("p10"), high: values("p90") },
        },
      ];
    });
  const worst = plan.years.reduce((most, year) =>
    year.emergencies.p90 > most.emergencies.p90 ? year : most,
  );
  const { total } = plan;
  const trials = formatNumber(simulation.trials);
  return (
    <section className="section">
      <h2>When heaters fail at random</h2>
      <p className="soft small">
        {trials} trials, the same failures for every way to decide; the trials are spread over{" "}
        {formatNumber(simulation.draws)} draws of the risk model, so that what it does not know is
        in the bands. New heaters can fail too, a failed heater’s planned line falls away, and when
        a year is short of money or crews its least valuable lines wait.
      </p>
      <p>
        P90 is the value that nine trials in ten stay at or below: in nine trials of ten the plan
        brings {formatNumber(total.emergencies.p90)} emergencies or fewer over all years, and in
        nine of ten it costs {formatMoney(total.spendCents.p90)} or less with them; one in ten is
        worse. The hardest year is {worst.year}: {formatNumber(worst.emergencies.p50)} emergencies
        in the middle trial, {formatNumber(worst.emergencies.p90)} at P90.
        {plan.linesPutOff >= 1 &&
          ` On average ${formatNumber(plan.linesPutOff)} of the ${formatNumber(summary.headline.swaps)} planned lines have to wait, because emergencies take money or crews first. This, and new heaters that fail, is why more emergencies are simulated than are expected above.`}
      </p>
      <div className="columns">
        <Chart
          title="Emergencies by year, simulated"
          summary="Line: the middle trial (P50). Band: from P10 to P90, eight trials in ten."
          labelsName="Year"
          labels={labels}
          unit="heaters that fail, new ones included"
          format="decimal"
          series={series("emergencies", 1)}
        />
        <Chart
          title="Spend by year, simulated"
          summary="Planned swaps, visits, electrical work and emergencies. Line: P50. Band: P10 to P90."
          labelsName="Year"
          labels={labels}
          unit="today’s dollars"
          format="money"
          series={series("spendCents", 100)}
        />
      </div>
      <LedgerFrame label="Simulated outcomes over all years, by way to decide">
        <table className={`ledger ${styles.wide}`}>
          <caption>Over all years: middle trial (P50), and P10 to P90</caption>
          <thead>
            <tr>
              <th scope="col">Way to decide</th>
              <th scope="col" className="number">
                Emergencies
              </th>
              <th scope="col" className="number">
                Spend, emergencies included
              </th>
              <th scope="col" className="number">
                Days without hot water, homes × days
              </th>
              <th scope="col" className="number">
                Emissions, CO2e
              </th>
              <th scope="col" className="number">
                Lines that had to wait
              </th>
            </tr>
          </thead>
          <tbody>
            {simulation.outcomes.map((outcome) => (
              <tr key={outcome.strategy}>
                <th scope="row">
                  {outcome.strategy === "plan" ? <strong>{label(outcome)}</strong> : label(outcome)}
                </th>
                <Cell band={outcome.total.emergencies} write={formatNumber} />
                <Cell band={outcome.total.spendCents} write={formatMoney} />
                <Cell band={outcome.total.daysWithoutHotWater} write={formatNumber} />
                <Cell band={outcome.total.kg} write={formatKilograms} />
                <td className="number">{formatNumber(outcome.linesPutOff, 1)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <Contingency contingency={simulation.contingency} />
    </section>
  );
}

const INKS: readonly {
  readonly strategy: Outcome["strategy"];
  readonly ink: Series["ink"];
  readonly isDashed: boolean;
}[] = [
  { strategy: "plan", ink: "tide", isDashed: false },
  { strategy: "run-to-failure", ink: "copper", isDashed: true },
  { strategy: "replace-at-age", ink: "series-grey", isDashed: true },
];

function Cell({ band, write }: { readonly band: Band; readonly write: (value: number) => string }) {
  return (
    <td className="number">
      {write(band.p50)}{" "}
      <span className="soft small">
        {write(band.p10)} to {write(band.p90)}
      </span>
    </td>
  );
}

function Contingency({
  contingency: { quantile, neededShare, keptShare },
}: Pick<SimulationSummary, "contingency">) {
  if (neededShare === null) return null;
  const percent = (share: number) => `${formatNumber(share * 100)} %`;
  const isEnough = keptShare >= neededShare;
  return (
    <p className={isEnough ? "notice" : "notice notice--attention"}>
      The scenario keeps {percent(keptShare)} of each budget for emergencies. To cover the
      emergencies of {formatNumber(quantile * 100)} simulated years in a hundred{" "}
      {neededShare >= 1 ? "not even the whole budget suffices" : `takes ${percent(neededShare)}`}.
      {!isEnough &&
        " Where it falls short, planned lines wait: keep more in the scenario, or raise the budgets."}
    </p>
  );
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
