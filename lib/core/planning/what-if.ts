import { createRandom } from "@/lib/core/stats/random";
import { type ChangePrice, type LineChange, movedLines, withChange } from "./change-plan";
import { checkPlan } from "./check-plan";
import { explainInfeasibility, explainStacks } from "./explain-infeasibility";
import { OPTIMAL_GAP, type PlanProblem, type PlanSolution, relativeGap } from "./problem";
import { type ChosenArrays, type ProblemArrays, toArrays, toSchedule } from "./problem-arrays";
import { BuildingOracle, type OracleAnswer } from "./solvers/building-oracle";
import { couplingRows, newUse, pricesOf, type RowPrices } from "./solvers/coupling";
import { improveByExchange } from "./solvers/exchange-search";
import { improveSingly, repairPlan } from "./solvers/local-search";
import { mergeStacks } from "./solvers/merge-stacks";
import { PlanState } from "./solvers/plan-state";
import {
  completeStart,
  multipliersFromPrices,
  neededUpgrades,
  solutionWithoutPlan,
} from "./solvers/solution";

/**
 * The price of a change to one line, at once: for a screen on which someone drags a line. Pin a line
 * where it is moved to, or forbid the one it has.
 *
 * What the change touches is planned anew: rows that are then over their limit are relieved where that
 * costs least, single moves take up the room that was won, and the heaters of the building and those
 * that had to give way look for exchanges. This is done with the rest of the building as it was and as
 * it decides anew at the plan's own prices of money, crews and kilograms; the cheaper is taken. The bound is that of the changed problem at
 * the plan's prices, or the plan's own where it is higher, so that
 * `leastCents` ≤ the cheapest way to make the change − the plan ≤ `costCents`. `priceChange` closes the
 * distance with a solver.
 *
 * Blocks for some tens of milliseconds at 1,000 heaters; the same change has the same price every time.
 *
 * @param problem what the plan was made for
 * @param plan with its prices; they set how tight the bound is, not whether it holds
 * @returns the plan with the change (status `feasible` or `optimal`, checked); `infeasible` with the
 * reason in words; or `not-found` when no way was found, which a solver may still find
 * @throws {RangeError} when there is no such heater or no such line to pin
 */
export function priceChangeAtOnce(
  problem: PlanProblem,
  plan: PlanSolution,
  change: LineChange,
): ChangePrice {
  const changed = withChange(problem, change);
  const stated = [...explainStacks(changed), ...explainInfeasibility(changed)];
  if (stated.length > 0) return withoutPlan(solutionWithoutPlan("infeasible", NAME, stated));

  const merged = mergeStacks(changed);
  const indexed = toArrays(merged.problem);
  const { arrays } = indexed;
  const rows = couplingRows(arrays);
  const multipliers = multipliersFromPrices(merged.problem, rows, plan.prices);
  const prices = pricesOf(arrays, rows, multipliers);
  const oracle = new BuildingOracle(arrays);
  const position = new Int16Array(arrays.heaterCount);
  const upgrade = new Int16Array(arrays.buildingCount);
  const answer: OracleAnswer = { ...newUse(arrays), bound: 0, value: 0 };
  oracle.evaluate(0, arrays.buildingCount, prices, answer, position, 0, upgrade, 0);
  let proven = answer.bound;
  for (let r = 0; r < rows.count; r++) proven -= (multipliers[r] * rows.limit[r]) / rows.scale[r];
  // A change only takes choices away, unless it lifts a commitment.
  const wasCommitted = problem.heaters.some(
    ({ id, lock }) => id === change.heater && lock !== null,
  );
  const lowerBoundCents = Math.max(
    proven,
    wasCommitted ? Number.NEGATIVE_INFINITY : (plan.lowerBoundCents ?? Number.NEGATIVE_INFINITY),
  );

  const asItWas = completeStart(merged.problem, indexed, merged.contract(plan.assignments));
  const kept = withUpgradesOf(merged.problem, arrays, asItWas, plan);
  const touched = merged.problem.buildings.findIndex(
    ({ id }) => id === changed.heaters.find((heater) => heater.id === change.heater)?.building,
  );
  // The building as it was, and as it decides anew: the cheaper when all else has settled.
  const anew = withBuilding(arrays, kept, touched, position, upgrade);
  let best: PlanState | null = null;
  for (const chosen of [kept, anew]) {
    const state = settled(arrays, chosen, prices);
    if (state !== null && (best === null || state.totalCost() < best.totalCost())) best = state;
  }
  if (best === null) {
    return withoutPlan({
      ...solutionWithoutPlan("not-found", NAME, [
        "No plan with this change was found at once; a full solve may find one.",
      ]),
      lowerBoundCents,
      prices: plan.prices,
    });
  }

  exchangeWhereTouched(arrays, best, asItWas.choice, touched);
  const schedule = toSchedule(merged.problem, indexed, best.chosen());
  const assignments = merged.expand(schedule.assignments);
  const check = checkPlan(changed, { ...schedule, assignments });
  if (check.violations.length > 0) {
    throw new RangeError(`what-if made a plan that breaks a rule: ${check.violations.join("; ")}`);
  }
  const { objectiveCents } = check;
  const bound = Math.min(lowerBoundCents, objectiveCents);
  const gap = relativeGap(objectiveCents, bound);
  const solution: PlanSolution = {
    status: gap <= OPTIMAL_GAP ? "optimal" : "feasible",
    objectiveCents,
    lowerBoundCents: bound,
    gap,
    solver: NAME,
    ...schedule,
    assignments,
    prices: plan.prices,
    infeasibility: [],
  };
  const less = plan.objectiveCents;
  return {
    solution,
    costCents: less === null ? null : objectiveCents - less,
    leastCents: less === null ? null : bound - less,
    moved: movedLines(plan.assignments, assignments),
  };
}

const NAME = "what-if";

/** Repaired where rows are over, and improved by single moves; null when it cannot be repaired. */
function settled(arrays: ProblemArrays, chosen: ChosenArrays, prices: RowPrices): PlanState | null {
  if (!servicesCarry(arrays, chosen)) return null;
  const state = new PlanState(arrays, chosen);
  if (!repairPlan(arrays, state, prices, goOn)) return null;
  improveSingly(arrays, state, createRandom(1), 2, goOn);
  return state.isFeasible() ? state : null;
}

/** Exchanges for the heaters of the building and for those that had to give way. */
function exchangeWhereTouched(
  arrays: ProblemArrays,
  state: PlanState,
  before: Int32Array,
  touched: number,
): void {
  const wishers = Int32Array.from(before.keys()).filter(
    (i) => state.buildingOf(i) === touched || state.choice[i] !== before[i],
  );
  improveByExchange(arrays, state, createRandom(1), 1, goOn, wishers);
}

const goOn = () => false;

/** The plan's own upgrades, earlier where the loads need it. */
function withUpgradesOf(
  problem: PlanProblem,
  arrays: ProblemArrays,
  { choice }: ChosenArrays,
  plan: PlanSolution,
): ChosenArrays {
  const upgrade = neededUpgrades(arrays, choice);
  const periods = new Map(problem.periods.map(({ id }, t) => [id, t]));
  const buildings = new Map(problem.buildings.map(({ id }, b) => [id, b]));
  for (const event of plan.upgrades) {
    const b = buildings.get(event.building) ?? -1;
    const t = periods.get(event.period) ?? -1;
    if (b >= 0 && t >= 0 && (upgrade[b] < 0 || upgrade[b] > t)) upgrade[b] = t;
  }
  return { choice, upgrade };
}

/** Whether every building's service can carry its loads, once upgraded. */
function servicesCarry(arrays: ProblemArrays, { choice, upgrade }: ChosenArrays): boolean {
  for (let b = 0; b < arrays.buildingCount; b++) {
    let load = 0;
    for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
      if (choice[i] >= 0) load += arrays.circuit[choice[i]];
    }
    const room = arrays.headroom[b] + (upgrade[b] >= 0 ? arrays.upgradeAdds[b] : 0);
    if (load > room * (1 + 1e-10)) return false;
  }
  return true;
}

/** The plan with one building as it decides at the prices. */
function withBuilding(
  arrays: ProblemArrays,
  chosen: ChosenArrays,
  b: number,
  position: Int16Array,
  upgrades: Int16Array,
): ChosenArrays {
  const choice = chosen.choice.slice();
  const upgrade = chosen.upgrade.slice();
  for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
    choice[i] = position[i] < 0 ? -1 : arrays.choiceStart[i] + position[i];
  }
  upgrade[b] = upgrades[b];
  return { choice, upgrade };
}

function withoutPlan(solution: PlanSolution): ChangePrice {
  return { solution, costCents: null, leastCents: null, moved: [] };
}
