import { checkPlan } from "@/lib/core/planning/check-plan";
import {
  budgetYearsOf,
  NO_PRICES,
  OPTIMAL_GAP,
  type PlanAssignment,
  type PlanPrices,
  type PlanProblem,
  type PlanSolution,
  relativeGap,
} from "@/lib/core/planning/problem";
import {
  type ChosenArrays,
  fromAssignments,
  type IndexedProblem,
  type ProblemArrays,
  toSchedule,
} from "@/lib/core/planning/problem-arrays";
import { type CouplingRows, pricesOf } from "./coupling";

/**
 * The answer of a solver in the names of the problem. The plan is costed by the independent check, and
 * one that breaks a rule is not handed on.
 */
export function solutionOf(
  problem: PlanProblem,
  indexed: IndexedProblem,
  found: {
    readonly chosen: ChosenArrays | null;
    readonly lowerBoundCents: number | null;
    readonly prices: PlanPrices;
    readonly solver: string;
  },
): PlanSolution {
  const { chosen, lowerBoundCents, prices, solver } = found;
  if (chosen === null) {
    return {
      ...solutionWithoutPlan("not-found", solver, [
        "No plan was found within the limits of the search, and none was proven impossible.",
      ]),
      lowerBoundCents,
      prices,
    };
  }
  const schedule = toSchedule(problem, indexed, chosen);
  const check = checkPlan(problem, schedule);
  if (check.violations.length > 0) {
    return {
      ...solutionWithoutPlan("not-found", solver, [
        "The plan that was found did not pass the check of the rules:",
        ...check.violations,
      ]),
      lowerBoundCents,
      prices,
    };
  }
  const objectiveCents = check.objectiveCents;
  const bound = lowerBoundCents === null ? null : Math.min(lowerBoundCents, objectiveCents);
  const gap = bound === null ? null : relativeGap(objectiveCents, bound);
  return {
    status: gap !== null && gap <= OPTIMAL_GAP ? "optimal" : "feasible",
    objectiveCents,
    lowerBoundCents: bound,
    gap,
    solver,
    ...schedule,
    prices,
    infeasibility: [],
  };
}

export function solutionWithoutPlan(
  status: "infeasible" | "not-found",
  solver: string,
  infeasibility: readonly string[],
): PlanSolution {
  return {
    status,
    objectiveCents: null,
    lowerBoundCents: null,
    gap: null,
    solver,
    assignments: [],
    upgrades: [],
    mobilisations: [],
    prices: NO_PRICES,
    infeasibility,
  };
}

/** The plan of a portfolio without heaters. */
export function emptySolution(solver: string): PlanSolution {
  return {
    ...solutionWithoutPlan("infeasible", solver, []),
    status: "optimal",
    objectiveCents: 0,
    lowerBoundCents: 0,
    gap: 0,
  };
}

/** Prices of the limits from scaled multipliers, in the names of the problem. */
export function namedPrices(
  problem: PlanProblem,
  arrays: ProblemArrays,
  rows: CouplingRows,
  multipliers: Float64Array,
): PlanPrices {
  const prices = pricesOf(arrays, rows, multipliers);
  const years = budgetYearsOf(problem);
  const budget: Record<string, number> = {};
  const crew: Record<string, number> = {};
  problem.periods.forEach(({ id, budgetYear }, t) => {
    if (rows.budgetRow[years.indexOf(budgetYear)] >= 0) budget[budgetYear] = prices.capital[t];
    if (rows.crewRow[t] >= 0) crew[id] = prices.hours[t];
  });
  return { budget, crew, emission: rows.emissionRow >= 0 ? prices.kg : null };
}

/** The way back: scaled multipliers from prices in the names of the problem. Missing prices are none. */
export function multipliersFromPrices(
  problem: PlanProblem,
  rows: CouplingRows,
  prices: PlanPrices,
): Float64Array {
  const multipliers = new Float64Array(rows.count);
  const set = (row: number, price: number) => {
    if (row < 0) return;
    multipliers[row] = Math.min(rows.ceiling[row], Math.max(0, price) * rows.scale[row]);
  };
  const years = budgetYearsOf(problem);
  years.forEach((year, k) => {
    // A cent of a year is also worth what its share that carries over is worth in the next.
    const next = k + 1 < years.length ? (prices.budget[years[k + 1]] ?? 0) : 0;
    const carried = (problem.budgets[year]?.carryOver ?? 0) * next;
    set(rows.budgetRow[k], (prices.budget[year] ?? 0) - carried);
  });
  problem.periods.forEach(({ id }, t) => {
    set(rows.crewRow[t], prices.crew[id] ?? 0);
  });
  set(rows.emissionRow, prices.emission ?? 0);
  return multipliers;
}

/**
 * A plan to start from, made whole: lines that are not possible any more are left out where that is
 * allowed, and take the first choice otherwise; upgrades come when the loads first need them.
 */
export function completeStart(
  problem: PlanProblem,
  indexed: IndexedProblem,
  start: readonly PlanAssignment[],
): ChosenArrays {
  const { arrays } = indexed;
  const choice = fromAssignments(problem, indexed, start);
  for (let i = 0; i < arrays.heaterCount; i++) {
    if (choice[i] !== -2) continue;
    choice[i] = arrays.neverCost[i] < Number.POSITIVE_INFINITY ? -1 : arrays.choiceStart[i];
  }
  return { choice, upgrade: neededUpgrades(arrays, choice) };
}

/** The period in which each building's loads first need its upgrade; -1 where none is needed. */
export function neededUpgrades(arrays: ProblemArrays, choice: Int32Array): Int16Array {
  const upgrade = new Int16Array(arrays.buildingCount).fill(-1);
  for (let b = 0; b < arrays.buildingCount; b++) {
    if (!Number.isFinite(arrays.upgradeCents[b])) continue;
    const added = new Float64Array(arrays.periodCount);
    for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
      if (choice[i] >= 0) added[arrays.period[choice[i]]] += arrays.circuit[choice[i]];
    }
    let carried = 0;
    for (let t = 0; t < arrays.periodCount && upgrade[b] < 0; t++) {
      carried += added[t];
      if (carried > arrays.headroom[b] * (1 + 1e-10)) upgrade[b] = t;
    }
  }
  return upgrade;
}
