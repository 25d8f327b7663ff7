import type { Cents } from "@/lib/core/shared/money";
import type { Problem } from "@/lib/core/shared/outcome";
import type { TeamFor } from "./solvers/building-team";

/**
 * The replacement plan as data: what may be chosen, what it costs, and what limits it. Nothing here
 * knows a solver. docs/methods/planning.md states the model in formulas.
 */
export type PlanProblem = {
  /** In time order. */
  readonly periods: readonly PlanPeriod[];
  /** By budget year. A year without an entry has no limit. */
  readonly budgets: Readonly<Record<string, YearBudget>>;
  /** Crew hours by period id. A period without an entry has no limit. */
  readonly crewHours: Readonly<Record<string, number>>;
  readonly buildings: readonly PlanBuilding[];
  readonly heaters: readonly PlanHeater[];
  readonly emissionCap: EmissionCap | null;
  /** Heaters that are dealt with together; none when absent. */
  readonly stacks?: readonly PlanStack[];
};

/**
 * Heaters of one building that must go together: all are left, or all get options of one family in one
 * period. A riser whose piping is done at once, or single heaters that give way to one central plant.
 */
export type PlanStack = { readonly id: string; readonly heaters: readonly string[] };

export type PlanPeriod = {
  readonly id: string;
  /** The budget that pays for this period; periods of one year are next to each other. */
  readonly budgetYear: string;
  /** Present value of one cent spent in this period, above 0. */
  readonly discount: number;
};

export type YearBudget = {
  /** May be negative when commitments already exceed it; then no plan exists and the solver says so. */
  readonly cents: Cents;
  /** Share (0 to 1) of what is left of this year, carry-over included, that moves to the next year. */
  readonly carryOver: number;
};

export type PlanBuilding = {
  readonly id: string;
  /** Electrical load that the service still carries before an upgrade; null when not limited. */
  readonly headroom: number | null;
  /** The one upgrade that is possible: undiscounted cents, and the load it adds. Null when none is. */
  readonly upgrade: { readonly cents: Cents; readonly adds: number } | null;
  /** Undiscounted cents of one visit by the crew, due in every period in which a swap is done here. */
  readonly mobilisationCents: Cents;
};

export type PlanHeater = {
  readonly id: string;
  readonly building: string;
  /** Leaving the heater for the whole horizon; null when that is not allowed (age limit, policy). */
  readonly never: { readonly costCents: number; readonly kg: number } | null;
  readonly choices: readonly PlanChoice[];
  /** A line that is already committed: the only choice left. */
  readonly lock: PlanLock | null;
};

export type PlanLock = "never" | { readonly option: string; readonly period: string };

/** One way to treat one heater: an option in a period. */
export type PlanChoice = {
  readonly option: string;
  /** Options of one family may stand side by side in a stack; the option's own name when absent. */
  readonly family?: string;
  readonly period: string;
  /** Present value of everything this choice brings, in cents; any finite number. */
  readonly costCents: number;
  /** What the period's budget pays, undiscounted. */
  readonly capitalCents: Cents;
  readonly hours: number;
  /** Load that it puts on the building's headroom from its period on, in the unit of the headroom. */
  readonly circuit: number;
  /** Emissions counted against the cap. */
  readonly kg: number;
};

export type EmissionCap = {
  readonly kg: number;
  /** Price of each kilogram above the cap, in present-value cents; null when none may be above. */
  readonly excessCentsPerKg: number | null;
};

/** One line of a plan. */
export type PlanAssignment =
  | { readonly heater: string; readonly option: string; readonly period: string }
  | { readonly heater: string; readonly never: true };

export type BuildingEvent = { readonly building: string; readonly period: string };

/** What a schedule consists of, without any claim about its worth. */
export type PlanSchedule = {
  /** One line a heater, in the order of the problem's heaters. */
  readonly assignments: readonly PlanAssignment[];
  readonly upgrades: readonly BuildingEvent[];
  readonly mobilisations: readonly BuildingEvent[];
};

/**
 * - `optimal`: no plan is better by more than {@link OPTIMAL_GAP};
 * - `feasible`: the plan keeps every rule; `gap` says how much better another could be at most;
 * - `infeasible`: proven that no plan keeps every rule; `infeasibility` says why;
 * - `not-found`: a limit was reached before a plan was found or the absence of one was proven.
 */
export type PlanStatus = "optimal" | "feasible" | "infeasible" | "not-found";

/** A gap at or below this counts as none: it is the arithmetic of the solver, not of the plan. */
export const OPTIMAL_GAP = 1e-6;

export type PlanSolution = PlanSchedule & {
  readonly status: PlanStatus;
  /** Present-value cents; null without a plan. */
  readonly objectiveCents: number | null;
  /** Proven: no plan costs less. Null when nothing was proven. */
  readonly lowerBoundCents: number | null;
  /** {@link relativeGap} of the two; null when one is missing. */
  readonly gap: number | null;
  /** Which method the plan came from. */
  readonly solver: string;
  readonly prices: PlanPrices;
  /** In words; empty unless the status is `infeasible` or `not-found`. */
  readonly infeasibility: readonly string[];
};

/**
 * What one more unit of each limit is worth at the margin: the slopes of the lower bound. Zero where
 * a limit does not bind. They are estimates for the plan itself, which moves in whole heaters.
 */
export type PlanPrices = {
  /** Present-value cents saved for one more cent in the budget year. */
  readonly budget: Readonly<Record<string, number>>;
  /** Present-value cents saved for one more crew hour in the period. */
  readonly crew: Readonly<Record<string, number>>;
  /** Present-value cents saved for one more kilogram allowed; null without a cap. */
  readonly emission: number | null;
};

export const NO_PRICES: PlanPrices = { budget: {}, crew: {}, emission: null };

/**
 * How much better than `objective` another plan could be at most, as a share of it:
 * (objective − bound) / max(1 cent, |objective|), never below 0.
 */
export function relativeGap(objectiveCents: number, lowerBoundCents: number): number {
  return Math.max(0, objectiveCents - lowerBoundCents) / Math.max(1, Math.abs(objectiveCents));
}

/** How a solver is run. A solver must not read a clock: the caller says when it has had enough. */
export type SolveOptions = {
  /** Stop when the gap is at or below this. */
  readonly gap: number;
  /** Stop after this many seconds, with what is found. */
  readonly seconds: number;
  readonly seed: number;
  /** Seconds since the solve began, from the caller's clock. */
  readonly elapsedSeconds: () => number;
  /** Asked now and then; true ends the solve with what is found. */
  readonly shouldStop?: () => boolean;
  readonly onProgress?: (progress: SolveProgress) => void;
  /** A plan to start from. Lines that are not possible (any more) are ignored. */
  readonly start?: readonly PlanAssignment[];
  /** Who answers for the buildings of large problems; this thread alone when absent. */
  readonly teamFor?: TeamFor;
};

export type SolveProgress = {
  readonly stage: string;
  readonly objectiveCents: number | null;
  readonly lowerBoundCents: number | null;
};

/** Every solver has this form, so that they can replace and judge each other. */
export type PlanSolver = (problem: PlanProblem, options: SolveOptions) => Promise<PlanSolution>;

/** Budget years in the order in which the periods name them. */
export function budgetYearsOf(problem: Pick<PlanProblem, "periods">): readonly string[] {
  return [...new Set(problem.periods.map((period) => period.budgetYear))];
}

/**
 * Everything that makes the problem meaningless rather than infeasible: names that point nowhere,
 * doubled ids, numbers that are not numbers. Empty when there is nothing.
 */
export function findProblemFaults(problem: PlanProblem): readonly Problem[] {
  const faults: Problem[] = [];
  const fault = (path: string, message: string) => faults.push({ path, message });
  const atLeastZero = (path: string, value: number) => {
    if (!(Number.isFinite(value) && value >= 0)) fault(path, `must be zero or more, got ${value}`);
  };
  const finite = (path: string, value: number) => {
    if (!Number.isFinite(value)) fault(path, `must be a finite number, got ${value}`);
  };

  if (problem.periods.length === 0) fault("periods", "at least one period is needed");
  const periodIds = new Set<string>();
  const closedYears = new Set<string>();
  problem.periods.forEach((period, index) => {
    const path = `periods[${index}]`;
    if (periodIds.has(period.id)) fault(`${path}.id`, `period "${period.id}" is listed twice`);
    periodIds.add(period.id);
    if (!(Number.isFinite(period.discount) && period.discount > 0)) {
      fault(`${path}.discount`, `must be above zero, got ${period.discount}`);
    }
    const before = problem.periods[index - 1]?.budgetYear;
    if (before !== undefined && before !== period.budgetYear) closedYears.add(before);
    if (closedYears.has(period.budgetYear)) {
      fault(`${path}.budgetYear`, `the periods of "${period.budgetYear}" must follow each other`);
    }
  });

  const years = new Set(budgetYearsOf(problem));
  for (const [year, budget] of Object.entries(problem.budgets)) {
    if (!years.has(year)) fault(`budgets.${year}`, `no period has budget year "${year}"`);
    finite(`budgets.${year}.cents`, budget.cents);
    if (!(budget.carryOver >= 0 && budget.carryOver <= 1)) {
      fault(`budgets.${year}.carryOver`, `must be from 0 to 1, got ${budget.carryOver}`);
    }
  }
  for (const [period, hours] of Object.entries(problem.crewHours)) {
    if (!periodIds.has(period)) fault(`crewHours.${period}`, `there is no period "${period}"`);
    finite(`crewHours.${period}`, hours);
  }

  const buildingIds = new Set<string>();
  problem.buildings.forEach((building, index) => {
    const path = `buildings[${index}]`;
    if (buildingIds.has(building.id)) {
      fault(`${path}.id`, `building "${building.id}" is listed twice`);
    }
    buildingIds.add(building.id);
    if (building.headroom !== null) atLeastZero(`${path}.headroom`, building.headroom);
    if (building.upgrade !== null) {
      atLeastZero(`${path}.upgrade.cents`, building.upgrade.cents);
      atLeastZero(`${path}.upgrade.adds`, building.upgrade.adds);
    }
    atLeastZero(`${path}.mobilisationCents`, building.mobilisationCents);
  });

  const heaterIds = new Set<string>();
  problem.heaters.forEach((heater, index) => {
    const path = `heaters[${index}]`;
    if (heaterIds.has(heater.id)) fault(`${path}.id`, `heater "${heater.id}" is listed twice`);
    heaterIds.add(heater.id);
    if (!buildingIds.has(heater.building)) {
      fault(`${path}.building`, `there is no building "${heater.building}"`);
    }
    if (heater.never !== null) {
      finite(`${path}.never.costCents`, heater.never.costCents);
      finite(`${path}.never.kg`, heater.never.kg);
    }
    const seen = new Set<string>();
    heater.choices.forEach((choice, choiceIndex) => {
      const at = `${path}.choices[${choiceIndex}]`;
      if (!periodIds.has(choice.period)) {
        fault(`${at}.period`, `there is no period "${choice.period}"`);
      }
      const key = choiceKey(choice.option, choice.period);
      if (seen.has(key)) {
        fault(at, `option "${choice.option}" in "${choice.period}" is listed twice`);
      }
      seen.add(key);
      finite(`${at}.costCents`, choice.costCents);
      atLeastZero(`${at}.capitalCents`, choice.capitalCents);
      atLeastZero(`${at}.hours`, choice.hours);
      atLeastZero(`${at}.circuit`, choice.circuit);
      finite(`${at}.kg`, choice.kg);
    });
    const { lock } = heater;
    if (lock === "never" && heater.never === null) {
      fault(`${path}.lock`, "it is locked to never, which is not allowed for it");
    } else if (
      lock !== null &&
      lock !== "never" &&
      !seen.has(choiceKey(lock.option, lock.period))
    ) {
      fault(`${path}.lock`, `there is no choice "${lock.option}" in "${lock.period}" to lock`);
    }
  });

  faults.push(...findStackFaults(problem));

  const cap = problem.emissionCap;
  if (cap !== null) {
    finite("emissionCap.kg", cap.kg);
    if (cap.excessCentsPerKg !== null) {
      atLeastZero("emissionCap.excessCentsPerKg", cap.excessCentsPerKg);
    }
  }
  return faults;
}

function findStackFaults(problem: PlanProblem): readonly Problem[] {
  const faults: Problem[] = [];
  const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
  const stacks = new Set<string>();
  const stackOf = new Map<string, string>();
  problem.stacks?.forEach((stack, index) => {
    const path = `stacks[${index}]`;
    const fault = (at: string, message: string) => faults.push({ path: `${path}.${at}`, message });
    if (stacks.has(stack.id)) fault("id", `stack "${stack.id}" is listed twice`);
    if (heaters.has(stack.id)) fault("id", `"${stack.id}" is also the id of a heater`);
    stacks.add(stack.id);
    if (stack.heaters.length === 0) fault("heaters", "at least one heater is needed");
    const buildings = new Set<string>();
    stack.heaters.forEach((id, position) => {
      const at = `heaters[${position}]`;
      const heater = heaters.get(id);
      if (!heater) {
        fault(at, `there is no heater "${id}"`);
        return;
      }
      const other = stackOf.get(id);
      if (other !== undefined) fault(at, `heater "${id}" is already in stack "${other}"`);
      stackOf.set(id, stack.id);
      buildings.add(heater.building);
      const ways = new Set<string>();
      for (const choice of heater.choices) {
        const way = choiceKey(familyOf(choice), choice.period);
        if (ways.has(way)) {
          fault(
            at,
            `heater "${id}" has several options of family "${familyOf(choice)}" in ` +
              `"${choice.period}"; a stack needs to know which`,
          );
        }
        ways.add(way);
      }
    });
    if (buildings.size > 1) {
      fault("heaters", `a stack is in one building, got ${[...buildings].join(", ")}`);
    }
  });
  return faults;
}

/** The family of options that a choice belongs to. */
export function familyOf(choice: Pick<PlanChoice, "option" | "family">): string {
  return choice.family ?? choice.option;
}

/** One text for an option in a period; neither name can contain the separator unescaped. */
export function choiceKey(option: string, period: string): string {
  return JSON.stringify([option, period]);
}
