import { Figure, Figures } from "@/app/_components/figure";
import { formatKilograms, formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import type { PlanPage } from "@/lib/services/plan-pages";
import type { OutcomeSummary, PlanSummary } from "@/lib/services/plan-summary";

/** The plan in a few numbers, each open to what it is made of. */
export function PlanFigures({
  run,
  summary,
}: {
  readonly run: PlanPage["run"];
  readonly summary: PlanSummary;
}) {
  const { headline, ledger } = summary;
  const total = (pick: (year: (typeof ledger)[number]) => number | null) =>
    ledger.reduce((sum, year) => sum + (pick(year) ?? 0), 0);
  const circuits = summary.circuitCentsByYear.reduce((sum, cents) => sum + cents, 0);
  const byOption = new Map<string, number>();
  for (const { swapsByOption } of ledger) {
    for (const [code, swaps] of Object.entries(swapsByOption)) {
      byOption.set(code, (byOption.get(code) ?? 0) + swaps);
    }
  }
  const plan = outcomeOf(summary, "plan");
  const left = outcomeOf(summary, "run-to-failure");
  return (
    <Figures>
      <Figure label="Planned spend over the horizon" value={formatMoney(headline.spendCents)}>
        <Parts
          rows={[
            ["Swaps", formatMoney(total((year) => year.swapCents) - circuits)],
            ["Circuits and panels in the homes", formatMoney(circuits)],
            ["Upgrades of buildings’ services", formatMoney(total((year) => year.upgradeCents))],
            ["Crew visits to buildings", formatMoney(total((year) => year.mobilisationCents))],
          ]}
          note={`In today’s dollars, if every line is carried out. Kept for emergencies on top: ${formatMoney(total((year) => year.contingencyCents))}.`}
        />
      </Figure>
      <Figure
        label="Planned swaps"
        value={`${formatNumber(headline.swaps)} of ${formatNumber(headline.heaters)}`}
      >
        <Parts
          rows={[...byOption].map(([code, swaps]) => [
            summary.optionNames[code] ?? code,
            formatNumber(swaps),
          ])}
          note="Heaters without a swap stay: planning them costs more than waiting, at the prices given."
        />
      </Figure>
      {plan && left && (
        <>
          <Figure
            label="Emergencies avoided against run to failure"
            value={`${formatNumber(left.emergencies - plan.emergencies)} of ${formatNumber(left.emergencies)}`}
          >
            <Parts
              rows={[
                ["Expected, run to failure", formatNumber(left.emergencies)],
                ["Expected, with the plan", formatNumber(plan.emergencies)],
                ["Their cost, run to failure", formatMoney(left.emergencyCents)],
                ["Their cost, with the plan", formatMoney(plan.emergencyCents)],
              ]}
              note="First failures of the heaters there now, as the risk model expects them. Failures of new heaters are not counted."
            />
          </Figure>
          <Figure
            label="Saved against run to failure, present value"
            value={formatMoney(left.objectiveCents - (run.objectiveCents ?? 0))}
          >
            <Parts
              rows={[
                ["Total cost, run to failure", formatMoney(left.objectiveCents)],
                ["Total cost, with the plan", formatMoney(run.objectiveCents ?? 0)],
              ]}
              note="Swaps, emergencies, energy, upkeep, carbon price, and the value left at the end of the horizon."
            />
          </Figure>
          <Figure
            label="Emissions avoided against run to failure"
            value={formatKilograms(left.kg - plan.kg)}
          >
            <Parts
              rows={[
                ["Run to failure", formatKilograms(left.kg)],
                ["With the plan", formatKilograms(plan.kg)],
              ]}
              note="CO2e over the horizon, location-based, refrigerant included. Fuel and grid factors are listed with the assumptions."
            />
          </Figure>
        </>
      )}
    </Figures>
  );
}

function outcomeOf(
  { outcomes }: PlanSummary,
  strategy: OutcomeSummary["strategy"],
): OutcomeSummary | undefined {
  return outcomes.find((outcome) => outcome.strategy === strategy);
}

function Parts({
  rows,
  note,
}: {
  readonly rows: readonly (readonly [string, string])[];
  readonly note: string;
}) {
  return (
    <>
      <dl className={`facts ${styles.parts}`}>
        {rows.map(([name, value]) => (
          <div key={name} style={{ display: "contents" }}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      <p>{note}</p>
    </>
  );
}
