import { buildPlanProblem } from "@/lib/core/planning/build-problem";
import {
  type CostingContext,
  type CostingInput,
  type PricedHeater,
  prepareCosting,
  priceHeater,
} from "@/lib/core/planning/costing";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";
import type { PlanBuilding, PlanProblem } from "@/lib/core/planning/problem";
import { defaultScenario, type ScenarioTerms } from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";

export type CostedPortfolio = {
  readonly context: CostingContext;
  readonly inputs: readonly CostingInput[];
  readonly priced: readonly PricedHeater[];
  readonly problem: PlanProblem;
};

/** An invented portfolio of gas heaters priced with the default catalogue, seeded. */
export function aCostedPortfolio({
  heaters,
  heatersPerBuilding = 12,
  seed = 1,
  terms = {},
}: {
  readonly heaters: number;
  readonly heatersPerBuilding?: number;
  readonly seed?: number;
  readonly terms?: Partial<ScenarioTerms>;
}): CostedPortfolio {
  const random = createRandom(seed);
  const between = (low: number, high: number) => low + (high - low) * random.nextUniform();
  const context = prepareCosting(
    { ...defaultScenario(calendarDay("2026-11-20")), ...terms },
    DEFAULT_OPTIONS,
  );
  const answer = () => {
    const draw = random.nextUniform();
    return draw < 0.5 ? "yes" : draw < 0.8 ? "no" : "unknown";
  };
  const shape = 3;
  const buildingCount = Math.max(1, Math.round(heaters / heatersPerBuilding));
  const inputs = Array.from({ length: heaters }, (_, i): CostingInput => {
    const ageYears = between(0, 16);
    const scaleYears = between(11, 17);
    const hazard = (age: number) => (age / scaleYears) ** shape;
    const gasUse = between(0.7, 1.4);
    const energy = (
      fuel: "natural-gas" | "electricity",
      centsPerYear: number,
      kgPerYear: number,
    ) => ({
      energy: [{ fuel, centsPerYear, kgPerYear, paidBy: "owner" as const }],
      refrigerantKgPerYear: 0,
      maintenanceCentsPerYear: 3_000,
    });
    const heatPump = energy("electricity", 18_500 * gasUse, 181 * gasUse);
    return {
      id: `H${i + 1}`,
      building: `B${(i % buildingCount) + 1}`,
      technology: "gas-storage",
      ageYears,
      conditionalFailure: context.periods.map(({ startsAfterYears, years }) => {
        const age = ageYears + startsAfterYears;
        return -Math.expm1(hazard(age) - hazard(age + years));
      }),
      now: energy("natural-gas", 34_000 * gasUse, 1_000 * gasUse),
      after: {
        "hp240-50": heatPump,
        "hp240-65": heatPump,
        "hp240-80": heatPump,
        "hp120-65": energy("electricity", 21_000 * gasUse, 200 * gasUse),
        "gas-40": energy("natural-gas", 32_200 * gasUse, 950 * gasUse),
        "electric-50": energy("electricity", 70_000 * gasUse, 690 * gasUse),
      },
      readiness: {
        "circuit-240v": answer(),
        "circuit-120v": answer(),
        "panel-space": answer(),
        "air-volume": answer(),
        "condensate-route": answer(),
        "drain-pan": answer(),
        clearance: "yes",
      },
      expansionControlled: answer(),
      mixingValve: answer(),
      consequenceCents: between(80_000, 500_000),
    };
  });
  const priced = inputs.map((input) => priceHeater(context, input));
  const buildings = Array.from(
    { length: buildingCount },
    (_, b): PlanBuilding => ({
      id: `B${b + 1}`,
      headroom: Math.floor(between(0, heatersPerBuilding / 2)),
      upgrade: { cents: Math.round(between(8_000, 40_000)) * 100, adds: heatersPerBuilding },
      mobilisationCents: 40_000,
    }),
  );
  return { context, inputs, priced, problem: buildPlanProblem(context, priced, buildings) };
}
