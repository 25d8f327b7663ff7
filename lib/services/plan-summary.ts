import type { CostingContext, CostingInput } from "@/lib/core/planning/costing";
import { type LedgerYear, ledgerByYear } from "@/lib/core/planning/ledger";
import type { PlanPrices, PlanProblem, PlanSchedule } from "@/lib/core/planning/problem";
import {
  outcomeOfSchedule,
  STRATEGIES,
  type Strategy,
  scheduleByStrategy,
} from "@/lib/core/planning/strategies";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { AssumptionNote } from "./plan-assumptions";
import type { SimulationSummary } from "./plan-simulation";

/** The expected course of one way to decide, by budget year. Money is undiscounted cents. */
export type OutcomeSummary = {
  readonly strategy: Strategy | "plan";
  /** Present value of everything, as the plan's objective counts it. */
  readonly objectiveCents: number;
  readonly swaps: number;
  /** What its planned lines, electrical work and visits cost if all of them are done. */
  readonly spendCents: number;
  readonly emergencies: number;
  readonly emergencyCents: number;
  readonly kg: number;
  readonly emergenciesByYear: readonly number[];
  readonly spendByYear: readonly number[];
  readonly kgByYear: readonly number[];
  /** Rules of the plan that it breaks, counted; replacing at an age asks no budget. */
  readonly brokenRules: number;
};

/** The few figures that the list of scenarios shows. */
export type PlanHeadline = {
  readonly swaps: number;
  readonly heaters: number;
  readonly spendCents: number;
  readonly emergencies: number;
  readonly emergenciesRunToFailure: number;
  readonly kg: number;
  readonly kgRunToFailure: number;
};

/** What the pages of a finished run show without computing it again. */
export type PlanSummary = {
  readonly headline: PlanHeadline;
  /** The day as of which the record was read. */
  readonly asOf: CalendarDay;
  readonly buildings: number;
  readonly solver: string;
  readonly solveSeconds: number;
  readonly survivalMethod: string;
  readonly optionNames: Readonly<Record<string, string>>;
  readonly ledger: readonly LedgerYear[];
  /** Circuits and panel work within each ledger year's swaps, cents. */
  readonly circuitCentsByYear: readonly number[];
  /** Run to failure, the three rules, and the plan last. */
  readonly outcomes: readonly OutcomeSummary[];
  readonly replaceAtAgeYears: number;
  readonly prices: PlanPrices;
  /** Kilograms above a cap that may be exceeded at a price. */
  readonly excessKg: number;
  /** The horizon's emissions that the cap counts; null without a cap. */
  readonly countedKg: number | null;
  readonly assumptions: readonly AssumptionNote[];
  /** Absent in runs from before plans were simulated. */
  readonly simulation?: SimulationSummary;
  /** Present in a plan that was made around an earlier one. */
  readonly replan?: {
    /** What moved lines were charged in the search: no real money, in no other figure. */
    readonly penaltiesCents: number;
  };
};

export type StrategySchedule = {
  readonly strategy: Strategy | "plan";
  readonly schedule: PlanSchedule;
};

/** The plan measured against the ways not taken, and its ledger. */
export function compareStrategies(
  problem: PlanProblem,
  schedule: PlanSchedule,
  inputs: readonly CostingInput[],
  context: CostingContext,
  replaceAtAgeYears: number,
): {
  readonly outcomes: readonly OutcomeSummary[];
  readonly ledger: readonly LedgerYear[];
  /** What each way to decide does, in the order of the outcomes. */
  readonly schedules: readonly StrategySchedule[];
} {
  const preference = optionsByUse(schedule, context.terms.options);
  const { budgets } = context.terms;
  const measured = ([...STRATEGIES, "plan"] as const).map((strategy) => {
    const taken =
      strategy === "plan"
        ? schedule
        : scheduleByStrategy(strategy, problem, inputs, context, { preference, replaceAtAgeYears });
    const outcome = outcomeOfSchedule(strategy, taken, problem, inputs, context);
    const ledger = ledgerByYear(problem, taken, { budgets, expected: outcome.periods });
    return { schedule: { strategy, schedule: taken }, outcome, ledger };
  });
  const plan = measured[measured.length - 1];
  return {
    outcomes: measured.map(({ outcome, ledger }) => summarise(outcome, ledger)),
    ledger: plan?.ledger ?? [],
    schedules: measured.map(({ schedule }) => schedule),
  };
}

function summarise(
  outcome: ReturnType<typeof outcomeOfSchedule>,
  ledger: readonly LedgerYear[],
): OutcomeSummary {
  const spendByYear = ledger.map(
    (year) => year.swapCents + year.upgradeCents + year.mobilisationCents,
  );
  return {
    strategy: outcome.strategy,
    objectiveCents: outcome.objectiveCents,
    swaps: sum(ledger.map((year) => year.swaps)),
    spendCents: sum(spendByYear),
    emergencies: sum(ledger.map((year) => year.expectedEmergencies)),
    emergencyCents: sum(ledger.map((year) => year.expectedEmergencyCents)),
    kg: sum(ledger.map((year) => year.expectedKg)),
    emergenciesByYear: ledger.map((year) => year.expectedEmergencies),
    spendByYear,
    kgByYear: ledger.map((year) => year.expectedKg),
    brokenRules: outcome.violations.length,
  };
}

/** The plan's own options, the most used first, so that the rules buy what the plan buys. */
function optionsByUse(schedule: PlanSchedule, offered: readonly string[]): readonly string[] {
  const uses = new Map<string, number>();
  for (const line of schedule.assignments) {
    if (!("never" in line)) uses.set(line.option, (uses.get(line.option) ?? 0) + 1);
  }
  return [...offered].sort((a, b) => (uses.get(b) ?? 0) - (uses.get(a) ?? 0));
}

export function headlineOf(outcomes: readonly OutcomeSummary[], heaters: number): PlanHeadline {
  const plan = outcomes.find(({ strategy }) => strategy === "plan");
  const runToFailure = outcomes.find(({ strategy }) => strategy === "run-to-failure");
  if (!plan || !runToFailure)
    throw new RangeError("outcomes must hold the plan and run to failure");
  return {
    swaps: plan.swaps,
    heaters,
    spendCents: plan.spendCents,
    emergencies: plan.emergencies,
    emergenciesRunToFailure: runToFailure.emergencies,
    kg: plan.kg,
    kgRunToFailure: runToFailure.kg,
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
