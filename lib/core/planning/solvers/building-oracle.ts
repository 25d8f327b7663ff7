import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";
import type { RowPrices, RowUse } from "./coupling";

/** Stands for "not possible" where sums of infinities would not be numbers. Above any plan's cost. */
const IMPOSSIBLE = 1e17;
/** Upgrade periods of a building that are worked out in full before the bounds of the rest must do. */
const MOST_UPGRADES_WORKED_OUT = 4;
const MOST_ASCENT_PASSES = 60;
/** A building whose plan is this near to its bound is not worked on further. */
const CLOSE_ENOUGH = 2e-5;
/** Distances of the shell sort, ascending. */
const SHELL_STEPS = [1, 4, 10, 23, 57, 132, 301, 701];

/** What buildings answer to prices: bounds, values and what their plans use add up. */
export type OracleAnswer = RowUse & {
  /** No plan of these buildings has a lower priced cost. */
  bound: number;
  /** Priced cost of the plan found, at least the bound. */
  value: number;
};

/**
 * The decision of one building when money, crew hours and kilograms have prices: which heaters get
 * what and when, in which periods the crew comes (a charge each), and in which period, if any, the
 * electrical service is upgraded.
 *
 * - Upgrade: every period is tried. Before it, the headroom gives slots to the heaters that gain most
 *   by one (a fractional knapsack: exact for equal loads, a bound otherwise).
 * - Visits: a facility location problem with periods as sites. Dual ascent (Erlenkotter, "A dual-based
 *   procedure for uncapacitated facility location", Operations Research 26, 1978) gives a bound; sites
 *   it fills, dropped and added while that pays, give a plan.
 *
 * One instance holds the scratch memory; evaluations do not depend on each other.
 */
export class BuildingOracle {
  readonly #arrays: ProblemArrays;
  readonly #T: number;
  /** Least load of each heater's circuit choices: what a slot costs it at least. */
  readonly #leastLoad: Float64Array;
  readonly #kind: Uint8Array;
  /** Headroom that can be used: a multiple of the load where all loads are equal. */
  readonly #slots: Float64Array;
  /** The same after the upgrade. */
  readonly #slotsAfter: Float64Array;

  // Scratch, by heater of the building · period: priced cost of the best choice without and with a new
  // circuit, where it is, and what being served in the period costs at the present slot prices.
  #plain = new Float64Array(0);
  #circuit = new Float64Array(0);
  #plainAt = new Int32Array(0);
  #circuitAt = new Int32Array(0);
  #service = new Float64Array(0);
  /** What each heater pays towards the visit of each period, from the last dual ascent. */
  #share = new Float64Array(0);
  /** Best with a circuit before each period (one more than the periods). */
  #early = new Float64Array(0);
  // By heater of the building.
  #leave = new Float64Array(0);
  #plainBest = new Float64Array(0);
  #level = new Float64Array(0);
  #late = new Float64Array(0);
  #ratio = new Float64Array(0);
  #cost = new Float64Array(0);
  #order = new Int32Array(0);
  #earlyPick = new Int32Array(0);
  #laterPick = new Int32Array(0);
  #pick = new Int32Array(0);
  #bestPick = new Int32Array(0);
  // By period.
  readonly #slack: Float64Array;
  readonly #fee: Float64Array;
  readonly #visit: Float64Array;
  readonly #open: Uint8Array;
  readonly #uBound: Float64Array;
  readonly #uDone: Uint8Array;
  #slotPrice = 0;
  #totalPrice = 0;
  /** How often slot prices and visits are fitted to each other before the bound must do. */
  #rounds = 3;

  constructor(arrays: ProblemArrays) {
    this.#arrays = arrays;
    const T = arrays.periodCount;
    this.#T = T;
    this.#slack = new Float64Array(T);
    this.#fee = new Float64Array(T + 1);
    this.#visit = new Float64Array(T);
    this.#open = new Uint8Array(T);
    this.#uBound = new Float64Array(T + 1);
    this.#uDone = new Uint8Array(T + 1);
    this.#leastLoad = new Float64Array(arrays.heaterCount);
    this.#kind = new Uint8Array(arrays.buildingCount);
    this.#slots = new Float64Array(arrays.buildingCount);
    this.#slotsAfter = new Float64Array(arrays.buildingCount);
    for (let b = 0; b < arrays.buildingCount; b++) this.#describe(b);
  }

  /** True when nothing ties the heaters of a building together but the coupling rows. */
  isLoose(building: number): boolean {
    return this.#kind[building] === 0;
  }

  /**
   * Adds the answers of buildings [from, to) to `answer` and writes their plan: for each heater the
   * position of its choice among its own, or -1 for never; for each building the upgrade, or -1.
   */
  evaluate(
    from: number,
    to: number,
    prices: RowPrices,
    answer: OracleAnswer,
    choice: Int16Array,
    choiceOffset: number,
    upgrade: Int16Array,
    upgradeOffset: number,
  ): void {
    for (let b = from; b < to; b++) {
      if (this.#kind[b] === 0) {
        upgrade[upgradeOffset + b] = -1;
        this.#evaluateLoose(b, prices, answer, choice, choiceOffset);
      } else {
        upgrade[upgradeOffset + b] = this.#evaluateTied(b, prices, answer, choice, choiceOffset);
      }
    }
  }

  /**
   * For every choice, how much more than its bound the building would cost at least if that choice were
   * forced; the same for leaving each heater.
   */
  forcedSlack(prices: RowPrices, choiceSlack: Float64Array, neverSlack: Float64Array): void {
    const a = this.#arrays;
    const position = new Int16Array(a.heaterCount);
    const upgrade = new Int16Array(a.buildingCount);
    for (let b = 0; b < a.buildingCount; b++) {
      const answer: OracleAnswer = {
        bound: 0,
        value: 0,
        spent: new Float64Array(a.yearCount),
        hours: new Float64Array(this.#T),
        kg: 0,
      };
      this.evaluate(b, b + 1, prices, answer, position, 0, upgrade, 0);
      const n = a.heaterStart[b + 1] - a.heaterStart[b];
      this.#load(b, prices);
      this.#share.fill(0, 0, n * this.#T);
      const last = upgrade[b] < 0 ? this.#T : upgrade[b];
      if ((this.#kind[b] & 2) === 2) {
        this.#setServicePrices(b, n, last, false);
        this.#ascendVisits(n);
        this.#keepShares(n);
      }
      for (let i = a.heaterStart[b]; i < a.heaterStart[b + 1]; i++) {
        neverSlack[i] = IMPOSSIBLE;
        choiceSlack.fill(IMPOSSIBLE, a.choiceStart[i], a.choiceStart[i + 1]);
      }
      const canUpgrade = (this.#kind[b] & 1) === 1 && this.#fee[0] < IMPOSSIBLE;
      for (let u = canUpgrade ? 0 : this.#T; u <= this.#T; u++) {
        this.#lowerSlackWithUpgrade(b, n, u, prices, answer.bound, choiceSlack, neverSlack);
      }
    }
  }

  #lowerSlackWithUpgrade(
    b: number,
    n: number,
    u: number,
    prices: RowPrices,
    bound: number,
    choiceSlack: Float64Array,
    neverSlack: Float64Array,
  ): void {
    const a = this.#arrays;
    const T = this.#T;
    const first = a.heaterStart[b];
    const level = this.#level;
    this.#setServicePrices(b, n, u, false);
    for (let h = 0; h < n; h++) {
      let best = this.#leave[h];
      const end = (h + 1) * T;
      for (let at = h * T; at < end; at++) {
        const cost = this.#service[at] + this.#share[at];
        if (cost < best) best = cost;
      }
      level[h] = best;
    }
    const whole = this.#levelBound(b, n, u);
    if (whole >= IMPOSSIBLE) return;
    for (let h = 0; h < n; h++) {
      const i = first + h;
      const others = whole - level[h] - bound;
      if (this.#leave[h] < IMPOSSIBLE) {
        neverSlack[i] = Math.min(neverSlack[i], others + this.#leave[h]);
      }
      for (let j = a.choiceStart[i]; j < a.choiceStart[i + 1]; j++) {
        const t = a.period[j];
        const load = a.circuit[j] > 0 ? this.#leastLoad[i] : 0;
        const priced =
          a.cost[j] +
          prices.capital[t] * a.capital[j] +
          prices.hours[t] * a.hours[j] +
          prices.kg * a.kg[j] +
          load * (this.#totalPrice + (t < u ? this.#slotPrice : 0)) +
          this.#share[h * T + t];
        choiceSlack[j] = Math.min(choiceSlack[j], others + priced);
      }
    }
  }

  /** Which constraints of its own a building has: 0 none, 1 electrical, 2 visits, 3 both. */
  #describe(b: number): void {
    const a = this.#arrays;
    let most = 0;
    let equal = 0;
    let allEqual = true;
    for (let i = a.heaterStart[b]; i < a.heaterStart[b + 1]; i++) {
      let least = Number.POSITIVE_INFINITY;
      let heaviest = 0;
      for (let j = a.choiceStart[i]; j < a.choiceStart[i + 1]; j++) {
        const load = a.circuit[j];
        if (load <= 0) continue;
        if (load < least) least = load;
        if (load > heaviest) heaviest = load;
        if (equal === 0) equal = load;
        else if (load !== equal) allEqual = false;
      }
      this.#leastLoad[i] = least === Number.POSITIVE_INFINITY ? 0 : least;
      most += heaviest;
    }
    const whole = (room: number) =>
      allEqual && equal > 0 ? Math.floor(room / equal + 1e-9) * equal : room;
    const electrical = most > a.headroom[b] * (1 + 1e-12);
    this.#slots[b] = electrical ? whole(a.headroom[b]) : Number.POSITIVE_INFINITY;
    const after = a.headroom[b] + (Number.isFinite(a.upgradeCents[b]) ? a.upgradeAdds[b] : 0);
    this.#slotsAfter[b] = most > after * (1 + 1e-12) ? whole(after) : Number.POSITIVE_INFINITY;
    this.#kind[b] = (electrical ? 1 : 0) + (a.mobilisationCents[b] > 0 ? 2 : 0);
  }

  #evaluateLoose(
    b: number,
    prices: RowPrices,
    answer: OracleAnswer,
    choice: Int16Array,
    choiceOffset: number,
  ): void {
    const a = this.#arrays;
    const { capital: capitalPrice, hours: hoursPrice, kg: kgPrice } = prices;
    let sum = 0;
    for (let i = a.heaterStart[b]; i < a.heaterStart[b + 1]; i++) {
      const first = a.choiceStart[i];
      let best = a.neverCost[i] + kgPrice * a.neverKg[i];
      let at = -1;
      for (let j = first; j < a.choiceStart[i + 1]; j++) {
        const t = a.period[j];
        const priced =
          a.cost[j] +
          capitalPrice[t] * a.capital[j] +
          hoursPrice[t] * a.hours[j] +
          kgPrice * a.kg[j];
        if (priced < best) {
          best = priced;
          at = j;
        }
      }
      sum += best;
      this.#record(i, at, answer, choice, choiceOffset);
    }
    answer.bound += sum;
    answer.value += sum;
  }

  #record(
    i: number,
    at: number,
    answer: OracleAnswer,
    choice: Int16Array,
    choiceOffset: number,
  ): void {
    const a = this.#arrays;
    if (at < 0) {
      choice[choiceOffset + i] = -1;
      answer.kg += a.neverKg[i];
      return;
    }
    choice[choiceOffset + i] = at - a.choiceStart[i];
    const t = a.period[at];
    answer.spent[a.yearOfPeriod[t]] += a.capital[at];
    answer.hours[t] += a.hours[at];
    answer.kg += a.kg[at];
  }

  /** @returns the upgrade's period, or -1 */
  #evaluateTied(
    b: number,
    prices: RowPrices,
    answer: OracleAnswer,
    choice: Int16Array,
    choiceOffset: number,
  ): number {
    const a = this.#arrays;
    const T = this.#T;
    const first = a.heaterStart[b];
    const n = a.heaterStart[b + 1] - first;
    if (n === 0) return -1;
    this.#load(b, prices);

    // Bounds for every upgrade period, then the most promising are worked out until no other can be
    // better. Period T stands for no upgrade.
    const uBound = this.#uBound;
    const uDone = this.#uDone;
    const visits = (this.#kind[b] & 2) === 2;
    uDone.fill(0);
    this.#boundAllUpgrades(b, n, false);
    let bestValue = IMPOSSIBLE;
    let bestUpgrade = T;
    let bound = IMPOSSIBLE;
    for (let workedOut = 0; ; workedOut++) {
      let u = -1;
      let least = IMPOSSIBLE;
      bound = IMPOSSIBLE;
      for (let each = 0; each <= T; each++) {
        if (uBound[each] < bound) bound = uBound[each];
        if (uDone[each] === 0 && uBound[each] < least) {
          least = uBound[each];
          u = each;
        }
      }
      if (u < 0 || least >= bestValue - 1e-7 * Math.abs(bestValue)) break;
      if (workedOut >= MOST_UPGRADES_WORKED_OUT) break;
      uDone[u] = 1;
      for (let round = 0; round < this.#rounds; round++) {
        if (!this.#setServicePrices(b, n, u, round > 0)) break;
        if (visits) this.#ascendVisits(n);
        else this.#levelWithoutVisits(n);
        uBound[u] = Math.max(uBound[u], this.#levelBound(b, n, u));
        if (visits && workedOut === 0 && round === 0) {
          this.#keepShares(n);
          this.#boundAllUpgrades(b, n, true);
        }
        if (visits) this.#chooseVisits(n);
        else this.#open.fill(1);
        const value = this.#planWithUpgrade(b, n, u, visits);
        if (value < bestValue) {
          bestValue = value;
          bestUpgrade = u;
          this.#bestPick.set(this.#pick.subarray(0, n));
        }
        if (bestValue - uBound[u] <= CLOSE_ENOUGH * Math.abs(bestValue)) break;
      }
    }

    answer.bound += Math.min(bound, bestValue);
    answer.value += bestValue;
    if (bestValue >= IMPOSSIBLE) return -1;
    const visited = this.#open;
    visited.fill(0);
    for (let h = 0; h < n; h++) {
      const at = this.#bestPick[h];
      this.#record(first + h, at, answer, choice, choiceOffset);
      if (at >= 0) visited[a.period[at]] = 1;
    }
    if (visits) {
      for (let t = 0; t < T; t++) {
        if (visited[t] === 1) answer.spent[a.yearOfPeriod[t]] += a.mobilisationCents[b];
      }
    }
    if (bestUpgrade >= T) return -1;
    answer.spent[a.yearOfPeriod[bestUpgrade]] += a.upgradeCents[b];
    return bestUpgrade;
  }

  /** Priced costs of a building's heaters, fees and visits. */
  #load(b: number, prices: RowPrices): void {
    const a = this.#arrays;
    const T = this.#T;
    const first = a.heaterStart[b];
    const n = a.heaterStart[b + 1] - first;
    this.#reserve(n);
    const { capital: capitalPrice, hours: hoursPrice, kg: kgPrice } = prices;
    const canUpgrade = (this.#kind[b] & 1) === 1 && Number.isFinite(a.upgradeCents[b]);
    for (let t = 0; t < T; t++) {
      const price = a.discount[t] + capitalPrice[t];
      this.#fee[t] = canUpgrade ? a.upgradeCents[b] * price : IMPOSSIBLE;
      this.#visit[t] = a.mobilisationCents[b] * price;
    }
    this.#fee[T] = 0;
    const plain = this.#plain;
    const circuit = this.#circuit;
    const plainAt = this.#plainAt;
    const circuitAt = this.#circuitAt;
    plain.fill(IMPOSSIBLE, 0, n * T);
    circuit.fill(IMPOSSIBLE, 0, n * T);
    for (let h = 0, i = first; h < n; h++, i++) {
      const never = a.neverCost[i];
      const leave = never < IMPOSSIBLE ? never + kgPrice * a.neverKg[i] : IMPOSSIBLE;
      let plainBest = leave;
      const row = h * T;
      const end = a.choiceStart[i + 1];
      for (let j = a.choiceStart[i]; j < end; j++) {
        const t = a.period[j];
        const priced =
          a.cost[j] +
          capitalPrice[t] * a.capital[j] +
          hoursPrice[t] * a.hours[j] +
          kgPrice * a.kg[j];
        if (a.circuit[j] > 0) {
          if (priced < circuit[row + t]) {
            circuit[row + t] = priced;
            circuitAt[row + t] = j;
          }
        } else if (priced < plain[row + t]) {
          plain[row + t] = priced;
          plainAt[row + t] = j;
          if (priced < plainBest) plainBest = priced;
        }
      }
      this.#leave[h] = leave;
      this.#plainBest[h] = plainBest;
    }
  }

  #reserve(n: number): void {
    if (this.#leave.length >= n) return;
    const size = Math.max(64, 2 * n);
    const T = this.#T;
    this.#plain = new Float64Array(size * T);
    this.#circuit = new Float64Array(size * T);
    this.#plainAt = new Int32Array(size * T);
    this.#circuitAt = new Int32Array(size * T);
    this.#service = new Float64Array(size * T);
    this.#share = new Float64Array(size * T);
    this.#early = new Float64Array(size * (T + 1));
    this.#leave = new Float64Array(size);
    this.#plainBest = new Float64Array(size);
    this.#level = new Float64Array(size);
    this.#late = new Float64Array(size);
    this.#ratio = new Float64Array(size);
    this.#cost = new Float64Array(size);
    this.#order = new Int32Array(size);
    this.#earlyPick = new Int32Array(size);
    this.#laterPick = new Int32Array(size);
    this.#pick = new Int32Array(size);
    this.#bestPick = new Int32Array(size);
  }

  /**
   * A bound for each upgrade period. With `shares`, each heater also pays its share of the visits, as
   * the last ascent left them: the shares of a period sum to at most its visit, so that the bound stays
   * one, whatever the upgrade. The limit on the total after the upgrade is left out.
   */
  #boundAllUpgrades(b: number, n: number, shares: boolean): void {
    const T = this.#T;
    const uBound = this.#uBound;
    const circuit = this.#circuit;
    const share = this.#share;
    if ((this.#kind[b] & 1) === 0) {
      if (shares) return;
      uBound.fill(IMPOSSIBLE);
      let sum = 0;
      for (let h = 0; h < n; h++) {
        let best = this.#plainBest[h];
        const end = (h + 1) * T;
        for (let at = h * T; at < end; at++) if (circuit[at] < best) best = circuit[at];
        sum += best;
      }
      uBound[T] = sum;
      return;
    }

    const late = this.#late;
    const early = this.#early;
    const canUpgrade = this.#fee[0] < IMPOSSIBLE;
    for (let h = 0; h < n; h++) {
      const row = h * T;
      let best = this.#plainBest[h];
      if (shares) {
        best = this.#leave[h];
        for (let t = 0; t < T; t++) {
          const cost = this.#plain[row + t] + share[row + t];
          if (cost < best) best = cost;
        }
      }
      late[h] = best;
      let before = IMPOSSIBLE;
      const column = h * (T + 1);
      for (let t = 0; t < T; t++) {
        early[column + t] = before;
        const cost = shares ? circuit[row + t] + share[row + t] : circuit[row + t];
        if (cost < before) before = cost;
      }
      early[column + T] = before;
    }
    // As u falls, the best circuit at or after it is a running minimum.
    for (let u = T; u >= 0; u--) {
      if (u < T) {
        if (!canUpgrade) {
          if (!shares) uBound[u] = IMPOSSIBLE;
          continue;
        }
        for (let h = 0; h < n; h++) {
          const at = h * T + u;
          const cost = shares ? circuit[at] + share[at] : circuit[at];
          if (cost < late[h]) late[h] = cost;
        }
      }
      const value = Math.min(IMPOSSIBLE, this.#fee[u] + this.#slotBound(b, n, u));
      if (!shares || value > uBound[u]) uBound[u] = value;
    }
  }

  /** Cost of the heaters with the upgrade in u: the best late or plain, less what slots before u gain. */
  #slotBound(b: number, n: number, u: number): number {
    const T = this.#T;
    const first = this.#arrays.heaterStart[b];
    const late = this.#late;
    const early = this.#early;
    const load = this.#leastLoad;
    let room = this.#slots[b];
    let base = 0;
    let count = 0;
    let wanted = 0;
    let gains = 0;
    for (let h = 0; h < n; h++) {
      const before = early[h * (T + 1) + u];
      if (late[h] >= IMPOSSIBLE) {
        // Nothing but a slot is left for it.
        if (before >= IMPOSSIBLE) return IMPOSSIBLE;
        base += before;
        room -= load[first + h];
        continue;
      }
      base += late[h];
      const gain = late[h] - before;
      if (gain <= 0) continue;
      this.#ratio[h] = gain / load[first + h];
      this.#order[count++] = h;
      wanted += load[first + h];
      gains += gain;
    }
    if (room < -1e-9) return IMPOSSIBLE;
    if (wanted <= room) return base - gains;
    if (room <= 0) return base;
    this.#sortByRatio(count);
    let left = room;
    for (let k = 0; k < count && left > 0; k++) {
      const h = this.#order[k];
      const part = Math.min(left, load[first + h]);
      base -= part * this.#ratio[h];
      left -= part;
    }
    return base;
  }

  /** Sorts the first `count` of `#order` by falling ratio; equal ratios keep the order of the heaters. */
  #sortByRatio(count: number): void {
    const order = this.#order;
    const ratio = this.#ratio;
    for (let step = SHELL_STEPS.length - 1; step >= 0; step--) {
      const distance = SHELL_STEPS[step];
      for (let k = distance; k < count; k++) {
        const h = order[k];
        const key = ratio[h];
        let at = k;
        while (at >= distance) {
          const other = order[at - distance];
          if (ratio[other] > key || (ratio[other] === key && other < h)) break;
          order[at] = other;
          at -= distance;
        }
        order[at] = h;
      }
    }
  }

  /**
   * Prices for a unit of load before the upgrade in u and for one in total, at which the heaters that
   * still want a circuit fit, and with them what serving each heater in each period costs. `inOpen`
   * looks only at the visits chosen last.
   * @returns false when that changes nothing
   */
  #setServicePrices(b: number, n: number, u: number, inOpen: boolean): boolean {
    const T = this.#T;
    const first = this.#arrays.heaterStart[b];
    const slotPrice = this.#slotPrice;
    const totalPrice = this.#totalPrice;
    this.#slotPrice = 0;
    this.#totalPrice = 0;
    if ((this.#kind[b] & 1) === 1) {
      if (u > 0) this.#slotPrice = this.#fittingPrice(b, n, u, u, this.#slots[b], inOpen);
      if (u < T && this.#slotsAfter[b] < Number.POSITIVE_INFINITY) {
        this.#totalPrice = this.#fittingPrice(b, n, u, T, this.#slotsAfter[b], inOpen);
      }
    }
    if (inOpen && slotPrice === this.#slotPrice && totalPrice === this.#totalPrice) return false;
    const service = this.#service;
    for (let h = 0; h < n; h++) {
      const row = h * T;
      const later = this.#leastLoad[first + h] * this.#totalPrice;
      const before = later + this.#leastLoad[first + h] * this.#slotPrice;
      for (let t = 0; t < T; t++) {
        const withCircuit = this.#circuit[row + t] + (t < u ? before : later);
        const plain = this.#plain[row + t];
        service[row + t] = Math.min(withCircuit, plain);
      }
    }
    return true;
  }

  /**
   * The price per unit of load at which the circuits wanted in periods before `end` fit in the room:
   * halfway between what the last that fits and the first that does not would gain. The present slot
   * price holds before u.
   */
  #fittingPrice(
    b: number,
    n: number,
    u: number,
    end: number,
    room: number,
    inOpen: boolean,
  ): number {
    const T = this.#T;
    const first = this.#arrays.heaterStart[b];
    const load = this.#leastLoad;
    const open = this.#open;
    let count = 0;
    let wanted = 0;
    for (let h = 0; h < n; h++) {
      const row = h * T;
      const slot = load[first + h] * this.#slotPrice;
      let inside = IMPOSSIBLE;
      let outside = inOpen ? this.#leave[h] : this.#plainBest[h];
      for (let t = 0; t < T; t++) {
        if (inOpen) {
          if (open[t] === 0) continue;
          if (this.#plain[row + t] < outside) outside = this.#plain[row + t];
        }
        const cost = this.#circuit[row + t];
        if (t >= end) {
          if (cost < outside) outside = cost;
        } else if (cost + (t < u ? slot : 0) < inside) inside = cost + (t < u ? slot : 0);
      }
      if (inside >= outside) continue;
      // One that has no other way comes first, at no price of its own.
      this.#ratio[h] = (outside - inside) / load[first + h];
      this.#order[count++] = h;
      wanted += load[first + h];
    }
    if (wanted <= room) return 0;
    this.#sortByRatio(count);
    let left = room;
    for (let k = 0; k < count; k++) {
      const h = this.#order[k];
      left -= load[first + h];
      if (left >= -1e-9) continue;
      const ratio = this.#ratio[h];
      const before = k > 0 ? this.#ratio[this.#order[k - 1]] : ratio;
      if (ratio > IMPOSSIBLE / 1e6) return 0;
      return before > IMPOSSIBLE / 1e6 ? ratio : (ratio + before) / 2;
    }
    return 0;
  }

  #levelWithoutVisits(n: number): void {
    const T = this.#T;
    for (let h = 0; h < n; h++) {
      let best = this.#leave[h];
      const end = (h + 1) * T;
      for (let at = h * T; at < end; at++) {
        if (this.#service[at] < best) best = this.#service[at];
      }
      this.#level[h] = best;
    }
  }

  /**
   * Dual ascent: raises what each heater is ready to pay (`#level`), evenly, until every period that
   * would serve it is paid for. `#open` marks the periods that are.
   */
  #ascendVisits(n: number): void {
    const T = this.#T;
    const service = this.#service;
    const level = this.#level;
    const slack = this.#slack;
    const leave = this.#leave;
    this.#levelWithoutVisits(n);
    let cheapest = Number.POSITIVE_INFINITY;
    for (let t = 0; t < T; t++) {
      slack[t] = this.#visit[t];
      if (slack[t] < cheapest) cheapest = slack[t];
    }
    const tiny = 1e-9 * (1 + cheapest);
    for (let pass = 0; pass < MOST_ASCENT_PASSES; pass++) {
      let moved = false;
      for (let h = 0; h < n; h++) {
        const now = level[h];
        let next = leave[h];
        if (now >= next) continue;
        const row = h * T;
        let step = Number.POSITIVE_INFINITY;
        for (let t = 0; t < T; t++) {
          const cost = service[row + t];
          if (cost <= now) {
            if (slack[t] < step) step = slack[t];
          } else if (cost < next) next = cost;
        }
        if (next - now < step) step = next - now;
        if (!(step > tiny)) continue;
        for (let t = 0; t < T; t++) if (service[row + t] <= now) slack[t] -= step;
        level[h] = now + step;
        moved = true;
      }
      if (!moved) break;
    }
    for (let t = 0; t < T; t++) {
      this.#open[t] = slack[t] <= 1e-6 * this.#visit[t] + tiny ? 1 : 0;
    }
  }

  #keepShares(n: number): void {
    for (let h = 0, at = 0; h < n; h++) {
      const level = this.#level[h];
      for (let t = 0; t < this.#T; t++, at++) {
        this.#share[at] = Math.max(0, level - this.#service[at]);
      }
    }
  }

  /** What the levels prove for the upgrade in u. */
  #levelBound(b: number, n: number, u: number): number {
    let bound = this.#fee[u];
    for (let h = 0; h < n; h++) bound += this.#level[h];
    if (this.#slotPrice > 0) bound -= this.#slotPrice * this.#slots[b];
    if (this.#totalPrice > 0) bound -= this.#totalPrice * this.#slotsAfter[b];
    return Math.min(bound, IMPOSSIBLE);
  }

  /** Drops and adds visits to the open periods while that pays, at the present service costs. */
  #chooseVisits(n: number): void {
    const T = this.#T;
    const open = this.#open;
    const service = this.#service;
    const best = this.#level;
    const saved = this.#slack;
    for (let round = 0; round < 4 * T; round++) {
      for (let t = 0; t < T; t++) saved[t] = open[t] === 1 ? this.#visit[t] : -this.#visit[t];
      for (let h = 0; h < n; h++) {
        const row = h * T;
        let first = this.#leave[h];
        let second = IMPOSSIBLE;
        let at = -1;
        for (let t = 0; t < T; t++) {
          if (open[t] === 0) continue;
          const cost = service[row + t];
          if (cost < first) {
            second = first;
            first = cost;
            at = t;
          } else if (cost < second) second = cost;
        }
        best[h] = first;
        if (at >= 0) saved[at] -= second - first;
        for (let t = 0; t < T; t++) {
          if (open[t] === 0 && service[row + t] < first) saved[t] += first - service[row + t];
        }
      }
      let most = 1e-9 * this.#visit[0];
      let change = -1;
      for (let t = 0; t < T; t++) {
        if (saved[t] > most) {
          most = saved[t];
          change = t;
        }
      }
      if (change < 0) return;
      open[change] = 1 - open[change];
    }
  }

  /**
   * A plan of the building with the upgrade in u and visits in the open periods only; slots go to the
   * greatest gains for their load.
   * @returns its priced cost, IMPOSSIBLE when there is none; `#pick` holds the choices
   */
  #planWithUpgrade(b: number, n: number, u: number, visits: boolean): number {
    const a = this.#arrays;
    const T = this.#T;
    const first = a.heaterStart[b];
    const open = this.#open;
    const pick = this.#pick;
    const cost = this.#cost;
    const limited = (this.#kind[b] & 1) === 1;
    const totalLimited = u < T && this.#slotsAfter[b] < Number.POSITIVE_INFINITY;
    let count = 0;
    for (let h = 0; h < n; h++) {
      const row = h * T;
      let plain = this.#leave[h];
      let plainPick = -1;
      let later = IMPOSSIBLE;
      let laterPick = -1;
      let before = IMPOSSIBLE;
      let beforePick = -1;
      for (let t = 0; t < T; t++) {
        if (open[t] === 0) continue;
        const at = row + t;
        if (this.#plain[at] < plain) {
          plain = this.#plain[at];
          plainPick = this.#plainAt[at];
        }
        const withCircuit = this.#circuit[at];
        if (limited && t < u) {
          if (withCircuit < before) {
            before = withCircuit;
            beforePick = this.#circuitAt[at];
          }
        } else if (withCircuit < later) {
          later = withCircuit;
          laterPick = this.#circuitAt[at];
        }
      }
      if (!totalLimited && later < plain) {
        plain = later;
        plainPick = laterPick;
      }
      cost[h] = plain;
      pick[h] = plainPick;
      if (!totalLimited || later >= plain) laterPick = -1;
      if (before >= plain) beforePick = -1;
      if (laterPick < 0 && beforePick < 0) continue;
      this.#earlyPick[h] = beforePick;
      this.#laterPick[h] = laterPick;
      this.#level[h] = before;
      this.#late[h] = later;
      const gain =
        plain - Math.min(beforePick >= 0 ? before : plain, laterPick >= 0 ? later : plain);
      this.#ratio[h] = gain / this.#leastLoad[first + h];
      this.#order[count++] = h;
    }
    if (count > 0) {
      this.#sortByRatio(count);
      let slots = a.headroom[b];
      let total = u < T ? a.headroom[b] + a.upgradeAdds[b] : a.headroom[b];
      const forgiven = 1e-9 * (1 + total);
      for (let k = 0; k < count; k++) {
        const h = this.#order[k];
        const beforePick = this.#earlyPick[h];
        const laterPick = this.#laterPick[h];
        const beforeLoad = beforePick >= 0 ? a.circuit[beforePick] : Number.POSITIVE_INFINITY;
        const laterLoad = laterPick >= 0 ? a.circuit[laterPick] : Number.POSITIVE_INFINITY;
        const beforeFits = beforeLoad <= slots + forgiven && beforeLoad <= total + forgiven;
        const laterFits = laterLoad <= total + forgiven;
        if (beforeFits && (!laterFits || this.#level[h] <= this.#late[h])) {
          pick[h] = beforePick;
          cost[h] = this.#level[h];
          slots -= beforeLoad;
          total -= beforeLoad;
        } else if (laterFits) {
          pick[h] = laterPick;
          cost[h] = this.#late[h];
          total -= laterLoad;
        }
      }
    }
    let value = this.#fee[u];
    for (let h = 0; h < n; h++) value += cost[h];
    if (value >= IMPOSSIBLE) return IMPOSSIBLE;
    if (visits) {
      const visited = this.#slack;
      visited.fill(0);
      for (let h = 0; h < n; h++) if (pick[h] >= 0) visited[a.period[pick[h]]] = 1;
      for (let t = 0; t < T; t++) if (visited[t] === 1) value += this.#visit[t];
    }
    return value;
  }
}
