import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import type { RandomSource } from "@/lib/core/stats/random";
import { type StopCheck, shuffled } from "./local-search";
import type { PlanState } from "./plan-state";

/** Ways out of a row that are remembered for each heater, and tried for each wish. */
const EXITS_PER_HEATER = 3;
const EXITS_TRIED = 40;

/**
 * Exchanges: a heater takes a cheaper choice for which a row has no room, and another heater gives way
 * in that row for less than the first saves. Ends when a pass finds none.
 *
 * @param wishers heaters that may look for something cheaper; all when absent
 */
export function improveByExchange(
  arrays: ProblemArrays,
  state: PlanState,
  random: RandomSource,
  passes: number,
  stop: StopCheck,
  wishers?: Int32Array,
): void {
  for (let pass = 0; pass < passes && !stop(); pass++) {
    const order = wishers ?? shuffled(arrays.heaterCount, random);
    if (!exchangeOnce(arrays, state, order, stop)) return;
  }
}

type Exit = { readonly heater: number; readonly choice: number; readonly loss: number };

function exchangeOnce(
  arrays: ProblemArrays,
  state: PlanState,
  order: Int32Array,
  stop: StopCheck,
): boolean {
  const exits = exitsByPeriod(arrays, state);
  const budgetExits = exitsByYear(arrays, exits);
  const cleaner = cleanerMoves(arrays, state);
  let improved = false;
  for (let n = 0; n < order.length; n++) {
    if ((n & 63) === 0 && stop()) return false;
    const i = order[n];
    const first = arrays.choiceStart[i];
    const wishes: { choice: number; gain: number }[] = [];
    for (let j = first - 1; j < arrays.choiceStart[i + 1]; j++) {
      const choice = j < first ? -1 : j;
      if (choice === state.choice[i] || !state.weigh(i, choice)) continue;
      if (state.moveCost < -1) wishes.push({ choice, gain: -state.moveCost });
    }
    wishes.sort((a, b) => b.gain - a.gain);
    for (const { choice } of wishes.slice(0, 8)) {
      if (!state.weigh(i, choice)) continue;
      if (state.moveCost >= -1) continue;
      if (state.fits()) {
        state.make();
        improved = true;
        break;
      }
      const list =
        choice < 0 ? cleaner : blockingExits(arrays, state, choice, exits, budgetExits, cleaner);
      if (list && tryExchange(state, i, choice, list)) {
        improved = true;
        break;
      }
    }
  }
  for (let b = 0; b < arrays.buildingCount; b++) state.settleUpgrade(b);
  return improved;
}

/** The ways out of the row that the weighed move has no room in. */
function blockingExits(
  arrays: ProblemArrays,
  state: PlanState,
  choice: number,
  byPeriod: readonly (readonly Exit[])[],
  byYear: readonly (readonly Exit[])[],
  cleaner: readonly Exit[],
): readonly Exit[] {
  const t = arrays.period[choice];
  const y = arrays.yearOfPeriod[t];
  if (state.overBudget(y) + state.moveBudget(y) > 0) return byYear[y];
  if (state.overCrew(t) + state.moveHours(t) > 0) return byPeriod[t];
  return cleaner;
}

/** Makes the move and the first exit that together keep every row and save; else leaves the plan be. */
function tryExchange(state: PlanState, i: number, choice: number, list: readonly Exit[]): boolean {
  const old = state.choice[i];
  state.weigh(i, choice);
  const before = state.totalCost();
  const gain = -state.moveCost;
  state.make();
  let tried = 0;
  for (const exit of list) {
    if (exit.loss >= gain) break;
    if (exit.heater === i || exit.choice === state.choice[exit.heater]) continue;
    if (++tried > EXITS_TRIED) break;
    const kept = state.choice[exit.heater];
    if (!state.weigh(exit.heater, exit.choice) || state.moveCost >= gain - 1) continue;
    state.make();
    if (state.totalCost() < before - 1 && state.isFeasible()) return true;
    state.weigh(exit.heater, kept);
    state.make();
  }
  state.weigh(i, old);
  state.make();
  return false;
}

/** For each period, the cheapest moves of its heaters to somewhere else, by loss. */
function exitsByPeriod(arrays: ProblemArrays, state: PlanState): Exit[][] {
  const exits: Exit[][] = Array.from({ length: arrays.periodCount }, () => []);
  for (let i = 0; i < arrays.heaterCount; i++) {
    const now = state.choice[i];
    if (now < 0) continue;
    const t = arrays.period[now];
    const own: Exit[] = [];
    const first = arrays.choiceStart[i];
    for (let j = first - 1; j < arrays.choiceStart[i + 1]; j++) {
      const choice = j < first ? -1 : j;
      if (choice === now) continue;
      const leaves =
        choice < 0 ||
        arrays.period[choice] !== t ||
        arrays.capital[choice] < arrays.capital[now] ||
        arrays.hours[choice] < arrays.hours[now];
      if (!leaves || !state.weigh(i, choice)) continue;
      if (choice >= 0 && arrays.period[choice] !== t && !state.fits(false)) continue;
      keepCheapest(own, { heater: i, choice, loss: state.moveCost });
    }
    exits[t].push(...own);
  }
  for (const list of exits) list.sort(byLoss);
  return exits;
}

function exitsByYear(arrays: ProblemArrays, byPeriod: readonly (readonly Exit[])[]): Exit[][] {
  const years: Exit[][] = Array.from({ length: arrays.yearCount }, () => []);
  byPeriod.forEach((list, t) => {
    years[arrays.yearOfPeriod[t]].push(...list);
  });
  for (const list of years) list.sort(byLoss);
  return years;
}

/** The cheapest moves that emit less, for each kilogram they save; none without a hard cap. */
function cleanerMoves(arrays: ProblemArrays, state: PlanState): Exit[] {
  if (state.overCap() === Number.NEGATIVE_INFINITY) return [];
  const moves: (Exit & { readonly rate: number })[] = [];
  for (let i = 0; i < arrays.heaterCount; i++) {
    let best: (Exit & { readonly rate: number }) | null = null;
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      if (j === state.choice[i] || !state.weigh(i, j)) continue;
      if (state.moveKg >= 0 || !state.fits()) continue;
      const rate = state.moveCost / -state.moveKg;
      if (best === null || rate < best.rate) {
        best = { heater: i, choice: j, loss: state.moveCost, rate };
      }
    }
    if (best) moves.push(best);
  }
  return moves.sort((a, b) => a.rate - b.rate || a.heater - b.heater);
}

function keepCheapest(list: Exit[], exit: Exit): void {
  if (list.length < EXITS_PER_HEATER) {
    list.push(exit);
    return;
  }
  let dearest = 0;
  for (let k = 1; k < list.length; k++) if (list[k].loss > list[dearest].loss) dearest = k;
  if (exit.loss < list[dearest].loss) list[dearest] = exit;
}

function byLoss(a: Exit, b: Exit): number {
  return a.loss - b.loss || a.heater - b.heater || a.choice - b.choice;
}
