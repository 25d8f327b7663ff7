import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import type { RandomSource } from "@/lib/core/stats/random";
import type { RowPrices } from "./coupling";
import type { PlanState } from "./plan-state";

/** True when the solve must end. */
export type StopCheck = () => boolean;

/**
 * Moves heaters out of rows that are over their limit, each time those that give way most cheaply for
 * the relief, and only to where nothing else goes over. Cheapness counts the prices of the other rows,
 * so that their room is not wasted.
 *
 * @returns true when every row is kept
 */
export function repairPlan(
  arrays: ProblemArrays,
  state: PlanState,
  prices: RowPrices,
  stop: StopCheck,
): boolean {
  let before = Number.POSITIVE_INFINITY;
  for (let round = 0; round < 6; round++) {
    for (let k = 0; k < arrays.yearCount; k++) {
      if (state.overBudget(k) <= 0) continue;
      relieve(arrays, state, prices, stop, {
        over: () => state.overBudget(k),
        change: () => state.moveBudget(k),
        uses: (j) => j >= 0 && budgetTouches(arrays, k, arrays.period[j]),
        mayRelieve: () => true,
        withCap: false,
      });
    }
    for (let t = 0; t < arrays.periodCount; t++) {
      if (state.overCrew(t) <= 0) continue;
      relieve(arrays, state, prices, stop, {
        over: () => state.overCrew(t),
        change: () => state.moveHours(t),
        uses: (j) => j >= 0 && arrays.period[j] === t,
        mayRelieve: () => true,
        withCap: false,
      });
    }
    if (state.overCap() > 0) {
      relieve(arrays, state, prices, stop, {
        over: () => state.overCap(),
        change: () => state.moveKg,
        uses: () => true,
        mayRelieve: (i, j) =>
          (j < 0 ? arrays.neverKg[i] : arrays.kg[j]) <
          (state.choice[i] < 0 ? arrays.neverKg[i] : arrays.kg[state.choice[i]]),
        withCap: true,
      });
    }
    for (let b = 0; b < arrays.buildingCount; b++) state.settleUpgrade(b);
    if (state.isFeasible()) return true;
    const excess = totalExcess(arrays, state);
    if (stop() || excess > 0.7 * before) return false;
    before = excess;
  }
  return false;
}

/** How far all rows together are over their limits, each as a share of its limit. */
function totalExcess(arrays: ProblemArrays, state: PlanState): number {
  let excess = 0;
  const share = (over: number, limit: number) =>
    over > 0 ? over / Math.max(1, Math.abs(limit)) : 0;
  for (let k = 0; k < arrays.yearCount; k++) {
    excess += share(state.overBudget(k), arrays.budgetLimit[k]);
  }
  for (let t = 0; t < arrays.periodCount; t++) {
    excess += share(state.overCrew(t), arrays.crewLimit[t]);
  }
  return excess + share(state.overCap(), arrays.emissionCapKg);
}

type Row = {
  readonly over: () => number;
  /** What the weighed move adds to the row. */
  readonly change: () => number;
  readonly uses: (choice: number) => boolean;
  /** A quick no to choices that cannot relieve it. */
  readonly mayRelieve: (heater: number, choice: number) => boolean;
  /** Whether moves that relieve it must keep the emission cap, which is relieved last. */
  readonly withCap: boolean;
};

function relieve(
  arrays: ProblemArrays,
  state: PlanState,
  prices: RowPrices,
  stop: StopCheck,
  row: Row,
): void {
  let before = Number.POSITIVE_INFINITY;
  while (row.over() > 0 && row.over() < 0.95 * before) {
    before = row.over();
    const heaters: number[] = [];
    const targets: number[] = [];
    const scores: number[] = [];
    for (let i = 0; i < arrays.heaterCount; i++) {
      if (!row.uses(state.choice[i])) continue;
      let best = Number.POSITIVE_INFINITY;
      let bestChoice = -2;
      for (let j = arrays.choiceStart[i] - 1; j < arrays.choiceStart[i + 1]; j++) {
        const choice = j < arrays.choiceStart[i] ? -1 : j;
        if (choice === state.choice[i] || !row.mayRelieve(i, choice)) continue;
        if (!state.weigh(i, choice)) continue;
        const relief = -row.change();
        if (relief <= 0) continue;
        const score =
          state.movePriced(prices.capital, prices.hours, prices.kg) / Math.min(relief, row.over());
        if (score < best && state.fits(row.withCap)) {
          best = score;
          bestChoice = choice;
        }
      }
      if (bestChoice === -2) continue;
      heaters.push(i);
      targets.push(bestChoice);
      scores.push(best);
    }
    if (heaters.length === 0 || stop()) return;
    const order = Int32Array.from(heaters.keys()).sort(
      (x, y) => scores[x] - scores[y] || heaters[x] - heaters[y],
    );
    for (const at of order) {
      if (row.over() <= 0) break;
      if (state.weigh(heaters[at], targets[at]) && row.change() < 0 && state.fits(row.withCap))
        state.make();
    }
  }
}

function budgetTouches(arrays: ProblemArrays, k: number, period: number): boolean {
  return arrays.budgetWeight[k * arrays.yearCount + arrays.yearOfPeriod[period]] > 0;
}

/**
 * Gives every heater the cheapest choice that the rows and its building leave room for, again and
 * again, until no single change pays.
 */
export function improveSingly(
  arrays: ProblemArrays,
  state: PlanState,
  random: RandomSource,
  passes: number,
  stop: StopCheck,
): void {
  const order = shuffled(arrays.heaterCount, random);
  for (let pass = 0; pass < passes; pass++) {
    let moved = 0;
    for (let n = 0; n < order.length; n++) {
      if ((n & 1023) === 0 && stop()) return;
      const i = order[n];
      const b = state.buildingOf(i);
      const saving = arrays.mobilisationCents[b];
      const old = state.choice[i];
      const now = old < 0 ? arrays.neverCost[i] : arrays.cost[old];
      let best = -1e-6;
      let bestChoice = -2;
      for (let j = arrays.choiceStart[i] - 1; j < arrays.choiceStart[i + 1]; j++) {
        const choice = j < arrays.choiceStart[i] ? -1 : j;
        const cost = choice < 0 ? arrays.neverCost[i] : arrays.cost[choice];
        // Without the excess over a soft cap a move saves at most a visit besides its own cost.
        if (cost - saving >= now + best && arrays.excessCentsPerKg === Number.POSITIVE_INFINITY) {
          continue;
        }
        if (choice === old || !state.weigh(i, choice)) continue;
        if (state.moveCost < best && state.fits()) {
          best = state.moveCost;
          bestChoice = choice;
        }
      }
      if (bestChoice !== -2) {
        state.weigh(i, bestChoice);
        state.make();
        moved++;
      }
    }
    for (let b = 0; b < arrays.buildingCount; b++) state.settleUpgrade(b);
    if (moved === 0) return;
  }
}

export function shuffled(count: number, random: RandomSource): Int32Array {
  const order = Int32Array.from({ length: count }, (_, n) => n);
  for (let n = count - 1; n > 0; n--) {
    const other = Math.floor(random.nextUniform() * (n + 1));
    const kept = order[n];
    order[n] = order[other];
    order[other] = kept;
  }
  return order;
}
