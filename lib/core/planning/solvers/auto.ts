import { explainInfeasibility } from "@/lib/core/planning/explain-infeasibility";
import {
  OPTIMAL_GAP,
  type PlanProblem,
  type PlanSolution,
  type PlanSolver,
  relativeGap,
  type SolveOptions,
} from "@/lib/core/planning/problem";
import { type ProblemArrays, toArrays } from "@/lib/core/planning/problem-arrays";
import { BuildingOracle } from "./building-oracle";
import { decomposeArrays, explainByPrices } from "./by-decomposition";
import { pricesOf } from "./coupling";
import type { DecompositionResult } from "./decomposition";
import { solveArraysExactly, solveExactly } from "./exact";
import { keepingStacks } from "./merge-stacks";
import { type ChoiceSlack, searchNeighbourhoods } from "./neighbourhood-search";
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
const FEW_COLUMNS = 1_200;
/** Above this the decomposition is left alone: its gap is small, and parts are too small to matter. */
const MOST_POLISHED_COLUMNS = 600_000;
/** Share of the time left for improving parts of the plan, and how many parts at most. */
const SEARCH_SHARE = 0.7;
const SEARCH_TRIES = 300;

/**
 * The decomposition, and where its gap is too wide and the portfolio small enough the exact solver on
 * what it leaves open: the better plan with the better bound of both.
 *
 * What must be said about threads and deadlines is said at `solveExactly`.
 *
 * @throws {RangeError} for a problem that `findProblemFaults` finds fault with.
 */
export const solveAutomatically: PlanSolver = keepingStacks(solveUnstacked, "auto");

async function solveUnstacked(problem: PlanProblem, options: SolveOptions): Promise<PlanSolution> {
  const stated = explainInfeasibility(problem);
  if (stated.length > 0) return solutionWithoutPlan("infeasible", "auto", stated);
  if (problem.heaters.length === 0) return emptySolution("auto");
  const indexed = toArrays(problem);
  const { arrays } = indexed;
  const columns = arrays.cost.length + arrays.heaterCount;
  const first = await decomposeArrays(arrays, options, {
    refines: columns > FEW_COLUMNS,
    start: options.start ? completeStart(problem, indexed, options.start) : undefined,
  });
  if (first.lowerBoundCents === Number.POSITIVE_INFINITY) {
    return solutionWithoutPlan(
      "infeasible",
      "auto",
      await explainByPrices(problem, arrays, first, options),
    );
  }
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

/**
 * What remains open after the decomposition's bracket. Small portfolios go to the exact solver as they
 * are; for larger ones it first improves parts of the plan, and then, with what that plan rules out
 * gone, raises the bound.
 */
async function polish(
  arrays: ProblemArrays,
  first: DecompositionResult,
  options: SolveOptions,
): Promise<Bracket> {
  const columns = arrays.cost.length + arrays.heaterCount;
  const gap = relativeGap(first.objectiveCents, first.lowerBoundCents);
  if (gap <= OPTIMAL_GAP || (gap <= options.gap && columns > FEW_COLUMNS)) return first;
  if (first.chosen === null || columns > MOST_POLISHED_COLUMNS) return first;

  const slack = slackOfChoices(arrays, first);
  let bracket: Bracket = first;
  if (columns > FEW_COLUMNS) {
    const now = options.elapsedSeconds();
    const chosen = await searchNeighbourhoods(
      arrays,
      first.chosen,
      slack,
      first.objectiveCents - first.lowerBoundCents,
      options,
      { until: now + SEARCH_SHARE * (options.seconds - now), tries: SEARCH_TRIES },
    );
    bracket = withPlan(arrays, bracket, chosen);
    if (relativeGap(bracket.objectiveCents, bracket.lowerBoundCents) <= options.gap) return bracket;
  }
  const reduced = promisingChoices(arrays, slack, bracket);
  if (reduced.count > MOST_EXACT_COLUMNS || options.elapsedSeconds() >= options.seconds) {
    return bracket;
  }
  const result = await solveArraysExactly(
    { ...arrays, neverCost: reduced.neverCost },
    reduced.keep,
    bracket.chosen,
    options,
  );
  // What was left out costs more than the plan at hand, so that plan is the bound of that part.
  const open = result.kind === "infeasible" ? Number.POSITIVE_INFINITY : result.boundCents;
  const better = result.kind === "done" ? withPlan(arrays, bracket, result.chosen) : bracket;
  return {
    ...better,
    lowerBoundCents: Math.max(
      better.lowerBoundCents,
      Math.min(open ?? Number.NEGATIVE_INFINITY, bracket.objectiveCents),
    ),
  };
}

function slackOfChoices(
  arrays: ProblemArrays,
  { rows, multipliers }: DecompositionResult,
): ChoiceSlack {
  const choice = new Float64Array(arrays.cost.length);
  const never = new Float64Array(arrays.heaterCount);
  const prices = pricesOf(arrays, rows, multipliers);
  new BuildingOracle(arrays).forcedSlack(prices, choice, never);
  return { choice, never };
}

/** The choices with which a plan could still be cheaper than the one at hand, and that plan's own. */
function promisingChoices(
  arrays: ProblemArrays,
  slack: ChoiceSlack,
  { chosen, objectiveCents, lowerBoundCents }: Bracket,
): { readonly keep: Uint8Array; readonly neverCost: Float64Array; readonly count: number } {
  const room = objectiveCents - lowerBoundCents + 1e-7 * Math.abs(objectiveCents) + 1;
  const keep = Uint8Array.from(slack.choice, (each) => (each <= room ? 1 : 0));
  const neverCost = arrays.neverCost.map((cost, i) =>
    slack.never[i] <= room ? cost : Number.POSITIVE_INFINITY,
  );
  chosen?.choice.forEach((j, i) => {
    if (j >= 0) keep[j] = 1;
    else neverCost[i] = arrays.neverCost[i];
  });
  let count = 0;
  for (const each of keep) count += each;
  for (const each of neverCost) if (each < Number.POSITIVE_INFINITY) count++;
  return { keep, neverCost, count };
}

function withPlan(arrays: ProblemArrays, bracket: Bracket, chosen: Bracket["chosen"]): Bracket {
  if (chosen === null) return bracket;
  const objectiveCents = costOf(arrays, chosen);
  return objectiveCents < bracket.objectiveCents ? { ...bracket, chosen, objectiveCents } : bracket;
}

function costOf(arrays: ProblemArrays, chosen: NonNullable<Bracket["chosen"]>): number {
  const state = new PlanState(arrays, chosen);
  return state.isFeasible() ? state.totalCost() : Number.POSITIVE_INFINITY;
}
