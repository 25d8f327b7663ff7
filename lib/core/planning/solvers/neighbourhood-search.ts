import type { SolveOptions } from "@/lib/core/planning/problem";
import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { createRandom, type RandomSource } from "@/lib/core/stats/random";
import { solveArraysExactly } from "./exact";
import { partOfProblem } from "./part-of-problem";
import { PlanState } from "./plan-state";

/** How much the bound rises at least when a choice, or leaving a heater, is forced. */
export type ChoiceSlack = { readonly choice: Float64Array; readonly never: Float64Array };

/** Heaters that may change at once, at first, and the least and most it adapts to. */
const FIRST_SIZE = 30;
const LEAST_SIZE = 10;
const MOST_SIZE = 120;
/** Branch-and-bound nodes and choices allowed to one neighbourhood. */
const NODES = 50;
const MOST_CHOICES = 600;

/**
 * Large neighbourhood search: the exact solver plans some heaters of a few buildings anew while all
 * others stay; again and again, with more of them as long as that is quick and fewer when it is not.
 *
 * @param until seconds on the caller's clock
 * @param tries neighbourhoods at most
 */
export async function searchNeighbourhoods(
  arrays: ProblemArrays,
  start: ChosenArrays,
  slack: ChoiceSlack,
  room: number,
  options: SolveOptions,
  { until, tries }: { readonly until: number; readonly tries: number },
): Promise<ChosenArrays> {
  const random = createRandom(options.seed);
  let best = start;
  let bestCost = new PlanState(arrays, start).totalCost();
  let size = FIRST_SIZE;
  for (let count = 0; count < tries; count++) {
    if (options.elapsedSeconds() >= until || options.shouldStop?.()) break;
    const { buildings, free } = pickNeighbourhood(arrays, random, Math.round(size));
    const limit = Math.min(room, slackLimit(arrays, slack, buildings, free));
    const part = partOfProblem(
      arrays,
      best,
      buildings,
      (i, j) => free.has(i) && (j < 0 ? slack.never[i] : slack.choice[j]) <= limit,
    );
    const result = await solveArraysExactly(
      part.arrays,
      new Uint8Array(part.arrays.cost.length).fill(1),
      part.start,
      { ...options, gap: 1e-5, seconds: until, onProgress: undefined },
      NODES,
    );
    if (result.kind === "infeasible") continue;
    size = Math.min(MOST_SIZE, Math.max(LEAST_SIZE, size * (result.finished ? 1.1 : 0.8)));
    if (result.chosen === null) continue;
    const merged = part.merge(result.chosen);
    const state = new PlanState(arrays, merged);
    if (state.totalCost() < bestCost - 1e-3 && state.isFeasible()) {
      best = merged;
      bestCost = state.totalCost();
      options.onProgress?.({ stage: "plan", objectiveCents: bestCost, lowerBoundCents: null });
    }
  }
  return best;
}

/** A few whole buildings, and of a last one a part. */
function pickNeighbourhood(
  arrays: ProblemArrays,
  random: RandomSource,
  size: number,
): { readonly buildings: readonly number[]; readonly free: ReadonlySet<number> } {
  const buildings = new Set<number>();
  const free = new Set<number>();
  const wanted = Math.min(size, arrays.heaterCount);
  // Halves of the size from different buildings, so that money can move between them.
  while (free.size < wanted) {
    const some = Math.floor(random.nextUniform() * arrays.heaterCount);
    const b = buildingOf(arrays, some);
    buildings.add(b);
    const first = arrays.heaterStart[b];
    const count = arrays.heaterStart[b + 1] - first;
    const take = Math.min(count, Math.max(1, Math.ceil(wanted / 2)), wanted - free.size);
    const offset = Math.floor(random.nextUniform() * count);
    for (let n = 0; n < take; n++) free.add(first + ((offset + n) % count));
  }
  return { buildings: [...buildings].sort((a, b) => a - b), free };
}

function buildingOf(arrays: ProblemArrays, heater: number): number {
  let low = 0;
  let high = arrays.buildingCount;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (arrays.heaterStart[middle] <= heater) low = middle;
    else high = middle;
  }
  return low;
}

/** The slack up to which there are not too many choices. */
function slackLimit(
  arrays: ProblemArrays,
  slack: ChoiceSlack,
  buildings: readonly number[],
  free: ReadonlySet<number>,
): number {
  const all: number[] = [];
  for (const b of buildings) {
    for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
      if (!free.has(i)) continue;
      for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
        all.push(slack.choice[j]);
      }
    }
  }
  if (all.length <= MOST_CHOICES) return Number.POSITIVE_INFINITY;
  all.sort((a, b) => a - b);
  return all[MOST_CHOICES - 1];
}
