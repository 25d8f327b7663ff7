import { checkPlan } from "./check-plan";
import type { CostingContext, CostingInput } from "./costing";
import { type ExpectedPeriod, expectOutcome } from "./expected-outcome";
import type { PlanAssignment, PlanChoice, PlanProblem, PlanSchedule } from "./problem";

/** Ways to decide that need no solver, for the plan to be measured against. */
export const STRATEGIES = [
  "run-to-failure",
  "replace-at-age",
  "oldest-first",
  "riskiest-first",
] as const;
export type Strategy = (typeof STRATEGIES)[number];

export const STRATEGY_LABELS: Readonly<Record<Strategy | "plan", string>> = {
  "run-to-failure": "Run to failure",
  "replace-at-age": "Replace at a set age",
  "oldest-first": "Oldest first, within the budget",
  "riskiest-first": "Riskiest first, within the budget",
  plan: "The plan",
};

/** From about this age a replacement is worth considering: rule of thumb, common practice, no source. */
export const CUSTOMARY_REPLACEMENT_AGE_YEARS = 10;

export type StrategyOptions = {
  /** Options in order of preference; the first that is offered in the period is taken. */
  readonly preference: readonly string[];
  readonly replaceAtAgeYears?: number;
};

/** Expected course of one strategy. */
export type StrategyOutcome = {
  readonly strategy: Strategy | "plan";
  readonly schedule: PlanSchedule;
  readonly periods: readonly ExpectedPeriod[];
  /** Present value of everything, as the plan's objective counts it. */
  readonly objectiveCents: number;
  /** Rules of the plan that the strategy breaks: replacing at an age asks no budget. */
  readonly violations: readonly string[];
};

/**
 * The schedule of a strategy. Oldest and riskiest first keep every budget, crew and electrical limit,
 * buy an upgrade when the next heater needs one and the year can pay it, and pass over what does not
 * fit. Replacing at an age follows its rule whatever it costs. Committed
 * lines are not looked at: these are the ways not taken.
 */
export function scheduleByStrategy(
  strategy: Strategy,
  problem: PlanProblem,
  inputs: readonly CostingInput[],
  context: CostingContext,
  options: StrategyOptions,
): PlanSchedule {
  const book = new Book(problem);
  if (strategy === "run-to-failure") return book.schedule();

  const choicesOf = new Map(problem.heaters.map(({ id, choices }) => [id, choices]));
  const choiceIn = (id: string, period: string): PlanChoice | null => {
    const here = choicesOf.get(id)?.filter((choice) => choice.period === period) ?? [];
    for (const code of options.preference) {
      const found = here.find(({ option }) => option === code);
      if (found) return found;
    }
    return null;
  };

  if (strategy === "replace-at-age") {
    const limit = options.replaceAtAgeYears ?? CUSTOMARY_REPLACEMENT_AGE_YEARS;
    for (const input of inputs) {
      if (input.ageYears === null) continue;
      for (const { id, startsAfterYears, years } of context.periods) {
        if (input.ageYears + startsAfterYears + years <= limit) continue;
        const choice = choiceIn(input.id, id);
        if (choice === null) continue;
        book.enter(input.id, choice, { force: true });
        break;
      }
    }
    return book.schedule();
  }

  const waiting = new Set(inputs);
  context.periods.forEach((period, t) => {
    const urgency = (input: CostingInput) =>
      strategy === "oldest-first"
        ? (input.ageYears ?? -1)
        : (input.conditionalFailure[t] / period.years) * input.consequenceCents;
    const order = [...waiting].sort(
      (a, b) => urgency(b) - urgency(a) || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0),
    );
    for (const input of order) {
      const choice = choiceIn(input.id, period.id);
      if (choice === null) continue;
      if (book.enter(input.id, choice, { force: false })) waiting.delete(input);
    }
  });
  return book.schedule();
}

/** The expected course of any schedule, beside the plan's own objective and the rules it breaks. */
export function outcomeOfSchedule(
  strategy: Strategy | "plan",
  schedule: PlanSchedule,
  problem: PlanProblem,
  inputs: readonly CostingInput[],
  context: CostingContext,
): StrategyOutcome {
  const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
  const check = checkPlan(problem, schedule);
  return {
    strategy,
    schedule,
    periods: expectOutcome(context, inputs, heaters, schedule.assignments),
    objectiveCents: check.objectiveCents,
    violations: check.violations,
  };
}

/** Keeps what is spent, worked and loaded while lines are entered one by one. */
class Book {
  readonly #problem: PlanProblem;
  readonly #lines = new Map<string, PlanChoice>();
  readonly #visits = new Map<string, { building: string; period: string }>();
  readonly #upgrades = new Map<string, string>();
  readonly #spent = new Map<string, number>();
  readonly #hours = new Map<string, number>();
  readonly #load = new Map<string, number[]>();
  readonly #periodIndex: ReadonlyMap<string, number>;
  readonly #buildings: ReadonlyMap<string, PlanProblem["buildings"][number]>;
  readonly #buildingOf: ReadonlyMap<string, string>;

  constructor(problem: PlanProblem) {
    this.#problem = problem;
    this.#periodIndex = new Map(problem.periods.map(({ id }, index) => [id, index]));
    this.#buildings = new Map(problem.buildings.map((building) => [building.id, building]));
    this.#buildingOf = new Map(problem.heaters.map(({ id, building }) => [id, building]));
  }

  enter(heater: string, choice: PlanChoice, { force }: { readonly force: boolean }): boolean {
    const building = this.#buildings.get(this.#buildingOf.get(heater) ?? "");
    if (!building) throw new RangeError(`there is no heater "${heater}"`);
    const t = this.#periodIndex.get(choice.period) ?? -1;
    const year = this.#problem.periods[t].budgetYear;
    const visit = `${building.id}\n${choice.period}`;
    const newVisit = building.mobilisationCents > 0 && !this.#visits.has(visit);

    const load = this.#load.get(building.id) ?? this.#problem.periods.map(() => 0);
    // Lines may be entered in any order of periods, so that the load at the end is what must fit.
    const carried = load.reduce((sum, each) => sum + each, 0) + choice.circuit;
    const hasUpgrade = this.#upgrades.has(building.id);
    const needsUpgrade =
      choice.circuit > 0 &&
      building.headroom !== null &&
      !hasUpgrade &&
      carried > building.headroom;
    const room =
      (building.headroom ?? Number.POSITIVE_INFINITY) +
      (hasUpgrade || needsUpgrade ? (building.upgrade?.adds ?? 0) : 0);
    if (choice.circuit > 0 && carried > room && !force) return false;

    const cents =
      choice.capitalCents +
      (newVisit ? building.mobilisationCents : 0) +
      (needsUpgrade ? (building.upgrade?.cents ?? 0) : 0);
    if (!force && cents > this.#available(year)) return false;
    const hours = (this.#hours.get(choice.period) ?? 0) + choice.hours;
    const limit = this.#problem.crewHours[choice.period] ?? Number.POSITIVE_INFINITY;
    if (!force && hours > limit) return false;

    this.#lines.set(heater, choice);
    this.#spent.set(year, (this.#spent.get(year) ?? 0) + cents);
    this.#hours.set(choice.period, hours);
    load[t] += choice.circuit;
    this.#load.set(building.id, load);
    if (newVisit) this.#visits.set(visit, { building: building.id, period: choice.period });
    if (needsUpgrade && building.upgrade) this.#upgrades.set(building.id, choice.period);
    return true;
  }

  schedule(): PlanSchedule {
    this.#moveUpgradesToFirstNeed();
    return {
      assignments: this.#problem.heaters.map(({ id }): PlanAssignment => {
        const choice = this.#lines.get(id);
        return choice
          ? { heater: id, option: choice.option, period: choice.period }
          : { heater: id, never: true };
      }),
      upgrades: [...this.#upgrades].map(([building, period]) => ({ building, period })),
      mobilisations: [...this.#visits.values()],
    };
  }

  /** Where lines were entered out of order, the upgrade is due when the load first needs it. */
  #moveUpgradesToFirstNeed(): void {
    for (const building of this.#upgrades.keys()) {
      const headroom = this.#buildings.get(building)?.headroom ?? Number.POSITIVE_INFINITY;
      let carried = 0;
      const first = (this.#load.get(building) ?? []).findIndex((added) => {
        carried += added;
        return carried > headroom;
      });
      if (first >= 0) this.#upgrades.set(building, this.#problem.periods[first].id);
    }
  }

  #available(year: string): number {
    let carriedOver = 0;
    const years = new Set(this.#problem.periods.map(({ budgetYear }) => budgetYear));
    for (const each of years) {
      const budget = this.#problem.budgets[each];
      if (!budget) {
        if (each === year) return Number.POSITIVE_INFINITY;
        carriedOver = 0;
        continue;
      }
      const room = budget.cents + carriedOver - (this.#spent.get(each) ?? 0);
      if (each === year) return room;
      carriedOver = budget.carryOver * room;
    }
    return 0;
  }
}
