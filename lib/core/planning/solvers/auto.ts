import { explainInfeasibility } from "@/lib/core/planning/explain-infeasibility";
import {
  OPTIMAL_GAP,
  type PlanProblem,
  type PlanSolution,
  relativeGap,
  type SolveOptions,
} from "@/lib/core/planning/problem";
import { type ProblemArrays, toArrays } from "@/lib/core/planning/problem-arrays";
import { BuildingOracle } from "./building-oracle";
import { decomposeArrays, explainByPrices } from "./by-decomposition";
import { pricesOf } from "./coupling";
import type { DecompositionResult } from "./decomposition";
import { solveArraysExactly, solveExactly } from "./exact";
import { PlanState } from "./plan-state";
import {
  completeStart,
  emptySolution,
  namedPrices,
  solutionOf,
  solutionWithoutPlan,
} from "./solution";

/** More binary columns than this are not given to the exact solver: its memory and time run out. */
const MOST_EXACT_COLUMNS = 60_000;
/** Up to this many columns the exact solver goes on to the end, whatever gap was asked for. */
const FEW_COLUMNS = 4_000;

/**
 * The decomposition, and where its gap is too wide and the portfolio small enough the exact solver on
 * what it leaves open: the better plan with the better bound of both.
 *
 * What must be said about threads and deadlines is said at `solveExactly`.
 *
 * @throws {RangeError} for a problem that `findProblemFaults` finds fault with.
 */
export async function solveAutomatically(
  problem: PlanProblem,
  options: SolveOptions,
): Promise<PlanSolution> {
  const stated = explainInfeasibility(problem);
  if (stated.length > 0) return solutionWithoutPlan("infeasible", "auto", stated);
  if (problem.heaters.length === 0) return emptySolution("auto");
  const indexed = toArrays(problem);
  const { arrays } = indexed;
  const first = decomposeArrays(problem, arrays, options, {
    start: options.start ? completeStart(problem, indexed, options.start) : undefined,
  });
  if (first.lowerBoundCents === Number.POSITIVE_INFINITY) {
    return solutionWithoutPlan(
      "infeasible",
      "auto",
      explainByPrices(problem, arrays, first, options),
    );
  }
  const columns = arrays.cost.length + arrays.heaterCount;
  if (first.chosen === null && columns <= MOST_EXACT_COLUMNS) {
    return { ...(await solveExactly(problem, options)), solver: "auto" };
  }
  const better = first.chosen === null ? first : await polish(arrays, first, options);
  return solutionOf(problem, indexed, {
    chosen: better.chosen,
    lowerBoundCents: Number.isFinite(better.lowerBoundCents) ? better.lowerBoundCents : null,
    prices: namedPrices(problem, arrays, first.rows, first.multipliers),
    solver: "auto",
  });
}

type Bracket = Pick<DecompositionResult, "chosen" | "objectiveCents" | "lowerBoundCents">;

/** What remains open after the decomposition's bracket, given to the exact solver. */
async function polish(
  arrays: ProblemArrays,
  first: DecompositionResult,
  options: SolveOptions,
): Promise<Bracket> {
  const gap = relativeGap(first.objectiveCents, first.lowerBoundCents);
  const columns = arrays.cost.length + arrays.heaterCount;
  if (gap <= OPTIMAL_GAP || (gap <= options.gap && columns > FEW_COLUMNS)) return first;
  const { keep, neverCost, count } = withoutHopelessChoices(arrays, first);
  if (count > MOST_EXACT_COLUMNS || options.elapsedSeconds() >= options.seconds) return first;
  const result = await solveArraysExactly({ ...arrays, neverCost }, keep, first.chosen, options);
  // What was left out costs more than the plan at hand, so that plan is the bound of that part.
  if (result.kind === "infeasible") {
    return { ...first, lowerBoundCents: first.objectiveCents };
  }
  const objectiveCents = result.chosen ? costOf(arrays, result.chosen) : Number.POSITIVE_INFINITY;
  return {
    chosen: objectiveCents < first.objectiveCents ? result.chosen : first.chosen,
    objectiveCents: Math.min(objectiveCents, first.objectiveCents),
    lowerBoundCents: Math.max(
      first.lowerBoundCents,
      Math.min(result.boundCents ?? Number.NEGATIVE_INFINITY, first.objectiveCents),
    ),
  };
}

/**
 * Leaves out every choice with which no plan can be cheaper than the one at hand: the bound, with the
 * choice forced, is above its cost.
 */
function withoutHopelessChoices(
  arrays: ProblemArrays,
  { rows, multipliers, objectiveCents, lowerBoundCents }: DecompositionResult,
): { readonly keep: Uint8Array; readonly neverCost: Float64Array; readonly count: number } {
  const oracle = new BuildingOracle(arrays);
  const prices = pricesOf(arrays, rows, multipliers);
  const choiceSlack = new Float64Array(arrays.cost.length);
  const neverSlack = new Float64Array(arrays.heaterCount);
  oracle.forcedSlack(prices, choiceSlack, neverSlack);
  const room = objectiveCents - lowerBoundCents + 1e-7 * Math.abs(objectiveCents) + 1;
  const keep = Uint8Array.from(choiceSlack, (slack) => (slack <= room ? 1 : 0));
  const neverCost = arrays.neverCost.map((cost, i) =>
    neverSlack[i] <= room ? cost : Number.POSITIVE_INFINITY,
  );
  let count = 0;
  for (const each of keep) count += each;
  for (const each of neverCost) if (each < Number.POSITIVE_INFINITY) count++;
  return { keep, neverCost, count };
}

function costOf(arrays: ProblemArrays, chosen: NonNullable<Bracket["chosen"]>): number {
  const state = new PlanState(arrays, chosen);
  return state.isFeasible() ? state.totalCost() : Number.POSITIVE_INFINITY;
}
