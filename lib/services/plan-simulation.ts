import { setImmediate } from "node:timers/promises";
import type { Heater } from "@/lib/core/heaters/heater";
import type { CostingContext, CostingInput, PricedHeater } from "@/lib/core/planning/costing";
import type { PlanProblem } from "@/lib/core/planning/problem";
import { CONTINGENCY_QUANTILE, contingencyShare } from "@/lib/core/planning/simulation/contingency";
import type { OutcomeBand } from "@/lib/core/planning/simulation/outcome-bands";
import {
  prepareStrategy,
  type SimulatedFigures,
  type SimulatedOutcome,
  simulatePlans,
} from "@/lib/core/planning/simulation/simulate-plans";
import { prepareSimulation } from "@/lib/core/planning/simulation/simulation-fleet";
import type { Strategy } from "@/lib/core/planning/strategies";
import { type CalendarDay, yearsBetween } from "@/lib/core/shared/calendar-day";
import { drawModels } from "@/lib/core/survival/draws";
import { conditionalFailures } from "@/lib/core/survival/predict";
import type { PlanModels } from "./plan-inputs";
import type { StrategySchedule } from "./plan-summary";

/** Trials of a portfolio small enough for them; larger ones get fewer, so that the work is bounded. */
const MOST_TRIALS = 10_000;
const FEWEST_TRIALS = 1_000;
const HEATER_TRIALS = 3e7;

/** Draws of the survival model that the trials are spread over, bounded in the same way. */
const MOST_DRAWS = 40;
const FEWEST_DRAWS = 10;
const HEATER_DRAWS = 4e5;

/** What happened in the trials, as it is stored with a run. */
export type SimulationSummary = {
  readonly trials: number;
  /** Draws of the survival model that the trials are spread over. */
  readonly draws: number;
  /** Run to failure, the three rules, and the plan last. */
  readonly outcomes: readonly {
    readonly strategy: Strategy | "plan";
    /** Mean number of planned lines that had to wait for money or crews. */
    readonly linesPutOff: number;
    readonly years: readonly (SimulatedFigures & { readonly year: string })[];
    readonly total: SimulatedFigures;
  }[];
  readonly contingency: {
    readonly quantile: number;
    /** Share of the budget that covers the plan's emergencies in that part of the years; null without budgets. */
    readonly neededShare: number | null;
    readonly keptShare: number;
  };
};

/**
 * Simulates the plan and the ways not taken on the same failures. The amount of work depends on the
 * number of heaters alone, so that the same run gives the same bits; the thread breathes between draws.
 */
export async function simulateRun({
  context,
  inputs,
  priced,
  problem,
  schedules,
  heaters,
  models,
  asOf,
  seed,
  signal,
  onProgress,
}: {
  readonly context: CostingContext;
  readonly inputs: readonly CostingInput[];
  readonly priced: readonly PricedHeater[];
  readonly problem: PlanProblem;
  readonly schedules: readonly StrategySchedule[];
  /** In the order of `inputs`. */
  readonly heaters: readonly Heater[];
  readonly models: PlanModels;
  readonly asOf: CalendarDay;
  readonly seed: number;
  readonly signal: AbortSignal;
  readonly onProgress: (share: number, trials: number) => void;
}): Promise<SimulationSummary> {
  const { budgets, contingencyShare: keptShare } = context.terms;
  const fleet = prepareSimulation(context, inputs, problem, {
    budgets,
    daysWithoutHotWater: models.consequences.daysWithoutHotWater.value,
  });
  const leftCents = new Map(priced.map(({ id, left }) => [id, left.costCents]));
  const strategies = schedules.map(({ strategy, schedule }) =>
    prepareStrategy(strategy, schedule, fleet, problem, {
      // The rule of an age asks neither budget nor crews.
      isLimited: strategy !== "replace-at-age",
      worthOf: (heater, costCents, capitalCents) =>
        ((leftCents.get(heater) ?? costCents) - costCents) / Math.max(1, capitalCents),
    }),
  );

  const size = Math.max(1, heaters.length);
  const trials = between(FEWEST_TRIALS, HEATER_TRIALS / size, MOST_TRIALS);
  const draws = drawModels(models.survival, {
    count: between(FEWEST_DRAWS, HEATER_DRAWS / size, MOST_DRAWS),
    seed,
    propertyIds: heaters.map(({ propertyId }) => propertyId),
  });
  const waitYears = yearsBetween(asOf, context.periods[0].start);
  const ends = context.periods.map(
    ({ startsAfterYears, years }) => waitYears + startsAfterYears + years,
  );
  const skipped = waitYears > 0 ? 1 : 0;
  const T = context.periods.length;
  const steps = simulatePlans(
    fleet,
    strategies,
    {
      sets: draws.length,
      read: (set) => {
        const conditional = new Float64Array(heaters.length * T);
        heaters.forEach((heater, i) => {
          const chances = conditionalFailures(
            draws[set],
            heater,
            asOf,
            skipped === 1 ? [waitYears, ...ends] : ends,
          );
          conditional.set(chances.subarray(skipped), i * T);
        });
        const newLifetimes = fleet.technologies.map(
          (technology) => draws[set].lifetimes[technology],
        );
        return { conditional, newLifetimes };
      },
    },
    { trials, seed },
  );
  for (;;) {
    signal.throwIfAborted();
    const step = steps.next();
    if (!step.done) {
      onProgress(step.value, trials);
      await setImmediate();
      continue;
    }
    const outcomes = step.value;
    const plan = outcomes.find(({ strategy }) => strategy === "plan");
    return {
      trials,
      draws: draws.length,
      outcomes: outcomes.map(summarise),
      contingency: {
        quantile: CONTINGENCY_QUANTILE,
        neededShare: plan ? contingencyShare(plan.emergencyCents, fleet.budgetCents) : null,
        keptShare,
      },
    };
  }
}

function between(least: number, wanted: number, most: number): number {
  return Math.max(least, Math.min(most, Math.floor(wanted)));
}

function summarise({ strategy, linesPutOff, years, total }: SimulatedOutcome) {
  return {
    strategy,
    linesPutOff: rounded(linesPutOff, 100),
    years: years.map(({ year, ...figures }) => ({ year, ...roundFigures(figures) })),
    total: roundFigures(total),
  };
}

function roundFigures(figures: SimulatedFigures): SimulatedFigures {
  return {
    spendCents: roundBand(figures.spendCents, 1),
    emergencies: roundBand(figures.emergencies, 100),
    daysWithoutHotWater: roundBand(figures.daysWithoutHotWater, 10),
    kg: roundBand(figures.kg, 1),
  };
}

function roundBand({ mean, p10, p50, p90 }: OutcomeBand, parts: number): OutcomeBand {
  return {
    mean: rounded(mean, parts),
    p10: rounded(p10, parts),
    p50: rounded(p50, parts),
    p90: rounded(p90, parts),
  };
}

function rounded(value: number, parts: number): number {
  return Math.round(value * parts) / parts;
}
