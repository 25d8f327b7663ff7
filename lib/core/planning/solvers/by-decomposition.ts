import {
  explainConflict,
  explainInfeasibility,
  explainUnreachableCap,
} from "@/lib/core/planning/explain-infeasibility";
import type {
  PlanProblem,
  PlanSolution,
  PlanSolver,
  SolveOptions,
} from "@/lib/core/planning/problem";
import { type ProblemArrays, toArrays } from "@/lib/core/planning/problem-arrays";
import { type DecompositionResult, decompose } from "./decomposition";
import { keepingStacks } from "./merge-stacks";
import {
  completeStart,
  emptySolution,
  namedPrices,
  solutionOf,
  solutionWithoutPlan,
} from "./solution";

/**
 * The plan by Lagrangian decomposition: for portfolios of any size. Proven bound, any-time, deterministic
 * for a seed while no limit of time is reached. Blocks its thread; `elapsedSeconds` and `shouldStop` are
 * asked many times a second.
 *
 * @throws {RangeError} for a problem that `findProblemFaults` finds fault with.
 */
export const solveByDecomposition: PlanSolver = keepingStacks(solveUnstacked, "decomposition");

async function solveUnstacked(problem: PlanProblem, options: SolveOptions): Promise<PlanSolution> {
  const stated = explainInfeasibility(problem);
  if (stated.length > 0) return solutionWithoutPlan("infeasible", "decomposition", stated);
  if (problem.heaters.length === 0) return emptySolution("decomposition");
  const indexed = toArrays(problem);
  const result = await decomposeArrays(indexed.arrays, options, {
    start: options.start ? completeStart(problem, indexed, options.start) : undefined,
  });
  if (result.lowerBoundCents === Number.POSITIVE_INFINITY) {
    return solutionWithoutPlan(
      "infeasible",
      "decomposition",
      await explainByPrices(problem, indexed.arrays, result, options),
    );
  }
  return solutionOf(problem, indexed, {
    chosen: result.chosen,
    lowerBoundCents: Number.isFinite(result.lowerBoundCents) ? result.lowerBoundCents : null,
    prices: namedPrices(problem, indexed.arrays, result.rows, result.multipliers),
    solver: "decomposition",
  });
}

/** Runs the decomposition under the options of a solve. */
export function decomposeArrays(
  arrays: ProblemArrays,
  options: SolveOptions,
  {
    start,
    refines = true,
  }: { readonly start?: DecompositionResult["chosen"]; readonly refines?: boolean },
): Promise<DecompositionResult> {
  return decompose(arrays, {
    gap: options.gap,
    seed: options.seed,
    refines,
    shouldStop: () =>
      options.elapsedSeconds() >= options.seconds || (options.shouldStop?.() ?? false),
    onProgress: (stage, objectiveCents, lowerBoundCents) =>
      options.onProgress?.({ stage, objectiveCents, lowerBoundCents }),
    ...(start ? { start } : {}),
    ...(options.teamFor ? { teamFor: options.teamFor } : {}),
  });
}

/**
 * Why there is no plan, where the prices proved it: a cap that the other limits do not allow, or the
 * limits whose prices rose without end.
 */
export async function explainByPrices(
  problem: PlanProblem,
  arrays: ProblemArrays,
  { rows, multipliers }: DecompositionResult,
  options: SolveOptions,
): Promise<readonly string[]> {
  const cap = problem.emissionCap;
  if (cap !== null && cap.excessCentsPerKg === null) {
    const leastKg = await leastEmissions(arrays, options);
    if (leastKg > cap.kg) return [explainUnreachableCap(problem, leastKg)];
  }
  let most = 0;
  for (const each of multipliers) most = Math.max(most, each);
  const binds = (row: number) => row >= 0 && multipliers[row] > 0.01 * most;
  const positions = (rowOf: Int32Array) =>
    Array.from(rowOf, (row, index) => (binds(row) ? index : -1)).filter((index) => index >= 0);
  return explainConflict(problem, {
    budgetYears: positions(rows.budgetRow),
    crewPeriods: positions(rows.crewRow),
    buildings: [],
    heaters: [],
    emissions: binds(rows.emissionRow),
  });
}

/** A lower bound for what any plan emits that keeps the other limits. */
async function leastEmissions(arrays: ProblemArrays, options: SolveOptions): Promise<number> {
  const never = arrays.neverCost.map((cost, i) =>
    cost === Number.POSITIVE_INFINITY ? cost : arrays.neverKg[i],
  );
  const { lowerBoundCents } = await decompose(
    {
      ...arrays,
      cost: arrays.kg,
      neverCost: never,
      emissionCapKg: Number.POSITIVE_INFINITY,
      discount: new Float64Array(arrays.periodCount),
    },
    {
      gap: 1e-3,
      seed: options.seed,
      // The bound alone is asked for.
      refines: false,
      shouldStop: () => options.shouldStop?.() ?? false,
    },
  );
  return lowerBoundCents;
}
