import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";

/** Sums of hours, loads and kilograms are forgiven this share; the checker forgives ten times as much. */
const FORGIVEN = 1e-10;

/** Prices of going over limits, for searches that may: present-value cents per unit over. */
export type OverusePrices = {
  readonly budget: Float64Array;
  readonly crew: Float64Array;
  cap: number;
};

/**
 * A plan that can be changed heater by heater, with what it costs and uses kept up to date. A move is
 * first weighed (`weigh`), then perhaps made (`make`).
 */
export class PlanState {
  readonly choice: Int32Array;
  readonly upgrade: Int16Array;
  cost = 0;
  kg = 0;
  readonly spent: Float64Array;
  readonly hours: Float64Array;
  /** Use of each budget row: its own year and what earlier years could have passed on. */
  readonly budgetUse: Float64Array;

  // The move weighed last.
  moveCost = 0;
  moveKg = 0;
  #moveHeater = -1;
  #moveChoice = -1;
  #leaveYear = -1;
  #leaveCents = 0;
  #enterYear = -1;
  #enterCents = 0;
  #leavePeriod = -1;
  #enterPeriod = -1;
  #leaveHours = 0;
  #enterHours = 0;

  readonly #arrays: ProblemArrays;
  readonly #buildingOf: Int32Array;
  readonly #swaps: Int32Array;
  readonly #load: Float64Array;
  readonly #limited: Uint8Array;
  readonly #carries: boolean;
  /** What a hard cap may be, forgiveness included; Infinity without one. */
  readonly #capKg: number;

  constructor(arrays: ProblemArrays, chosen: ChosenArrays) {
    this.#arrays = arrays;
    const T = arrays.periodCount;
    const K = arrays.yearCount;
    this.choice = chosen.choice.slice();
    this.upgrade = chosen.upgrade.slice();
    this.spent = new Float64Array(K);
    this.hours = new Float64Array(T);
    this.budgetUse = new Float64Array(K);
    this.#buildingOf = new Int32Array(arrays.heaterCount);
    this.#swaps = new Int32Array(arrays.buildingCount * T);
    this.#load = new Float64Array(arrays.buildingCount * T);
    this.#limited = new Uint8Array(arrays.buildingCount);
    this.#capKg =
      arrays.excessCentsPerKg === Number.POSITIVE_INFINITY ? arrays.emissionCapKg : Infinity;
    let carries = false;
    for (let k = 0; k < K; k++) {
      for (let y = 0; y < k; y++) if (arrays.budgetWeight[k * K + y] !== 0) carries = true;
    }
    this.#carries = carries;

    for (let b = 0; b < arrays.buildingCount; b++) {
      this.#limited[b] = Number.isFinite(arrays.headroom[b]) ? 1 : 0;
      for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
        this.#buildingOf[i] = b;
        const j = this.choice[i];
        if (j < 0) {
          this.cost += arrays.neverCost[i];
          this.kg += arrays.neverKg[i];
          continue;
        }
        const t = arrays.period[j];
        this.cost += arrays.cost[j];
        this.kg += arrays.kg[j];
        this.spent[arrays.yearOfPeriod[t]] += arrays.capital[j];
        this.hours[t] += arrays.hours[j];
        this.#swaps[b * T + t]++;
        this.#load[b * T + t] += arrays.circuit[j];
      }
      const u = this.upgrade[b];
      if (u >= 0) {
        this.cost += arrays.upgradeCents[b] * arrays.discount[u];
        this.spent[arrays.yearOfPeriod[u]] += arrays.upgradeCents[b];
      }
      const visit = arrays.mobilisationCents[b];
      if (visit > 0) {
        for (let t = 0; t < T; t++) {
          if (this.#swaps[b * T + t] === 0) continue;
          this.cost += visit * arrays.discount[t];
          this.spent[arrays.yearOfPeriod[t]] += visit;
        }
      }
    }
    this.#sumBudgetUse();
  }

  /** What the plan costs with the priced excess over a soft cap. */
  totalCost(): number {
    return this.cost + this.#excessCost(this.kg);
  }

  chosen(): ChosenArrays {
    return { choice: this.choice.slice(), upgrade: this.upgrade.slice() };
  }

  /** How far a row is over its limit, in its own unit; negative is room. */
  overBudget(k: number): number {
    return this.budgetUse[k] - this.#arrays.budgetLimit[k];
  }

  overCrew(t: number): number {
    return this.hours[t] - this.#arrays.crewLimit[t];
  }

  /** Above 0 only where the cap is hard. */
  overCap(): number {
    return this.kg - this.#capKg;
  }

  /** True when every coupling row is kept. Buildings keep their own rules at all times. */
  isFeasible(): boolean {
    const a = this.#arrays;
    for (let k = 0; k < a.yearCount; k++) {
      if (this.overBudget(k) > forgiven(a.budgetLimit[k])) return false;
    }
    for (let t = 0; t < a.periodCount; t++) {
      if (this.overCrew(t) > forgiven(a.crewLimit[t])) return false;
    }
    return this.overCap() <= forgiven(this.#capKg);
  }

  buildingOf(heater: number): number {
    return this.#buildingOf[heater];
  }

  /**
   * Weighs giving heater i the choice j (-1 for never).
   * @returns false when its building does not allow it
   */
  weigh(i: number, j: number): boolean {
    const a = this.#arrays;
    const T = a.periodCount;
    const b = this.#buildingOf[i];
    const old = this.choice[i];
    const visit = a.mobilisationCents[b];
    let cost = 0;
    let kg = 0;
    this.#moveHeater = i;
    this.#moveChoice = j;
    const from = old >= 0 ? a.period[old] : -1;
    const to = j >= 0 ? a.period[j] : -1;
    if (old >= 0) {
      cost -= a.cost[old];
      kg -= a.kg[old];
      this.#leaveYear = a.yearOfPeriod[from];
      this.#leaveCents = a.capital[old];
      this.#leaveHours = a.hours[old];
      if (visit > 0 && from !== to && this.#swaps[b * T + from] === 1) {
        this.#leaveCents += visit;
        cost -= visit * a.discount[from];
      }
    } else {
      cost -= a.neverCost[i];
      kg -= a.neverKg[i];
      this.#leaveYear = -1;
      this.#leaveCents = 0;
      this.#leaveHours = 0;
    }
    if (j >= 0) {
      cost += a.cost[j];
      kg += a.kg[j];
      this.#enterYear = a.yearOfPeriod[to];
      this.#enterCents = a.capital[j];
      this.#enterHours = a.hours[j];
      if (visit > 0 && from !== to && this.#swaps[b * T + to] === 0) {
        this.#enterCents += visit;
        cost += visit * a.discount[to];
      }
    } else {
      if (a.neverCost[i] === Number.POSITIVE_INFINITY) return false;
      cost += a.neverCost[i];
      kg += a.neverKg[i];
      this.#enterYear = -1;
      this.#enterCents = 0;
      this.#enterHours = 0;
    }
    this.#leavePeriod = from;
    this.#enterPeriod = to;
    this.moveKg = kg;
    this.moveCost = cost + this.#excessCost(this.kg + kg) - this.#excessCost(this.kg);
    return j < 0 || a.circuit[j] === 0 || this.#limited[b] === 0 || this.#serviceCarries(b, old, j);
  }

  /** What the weighed move adds to the use of a budget row, a crew row. */
  moveBudget(k: number): number {
    const K = this.#arrays.yearCount;
    const weight = this.#arrays.budgetWeight;
    let change = 0;
    if (this.#leaveYear >= 0) change -= weight[k * K + this.#leaveYear] * this.#leaveCents;
    if (this.#enterYear >= 0) change += weight[k * K + this.#enterYear] * this.#enterCents;
    return change;
  }

  moveHours(t: number): number {
    let change = 0;
    if (t === this.#leavePeriod) change -= this.#leaveHours;
    if (t === this.#enterPeriod) change += this.#enterHours;
    return change;
  }

  /** What the weighed move changes at the given prices of the rows, its own cost included. */
  movePriced(capitalPrice: Float64Array, hoursPrice: Float64Array, kgPrice: number): number {
    let change = this.moveCost + kgPrice * this.moveKg;
    if (this.#leavePeriod >= 0) {
      change -=
        capitalPrice[this.#leavePeriod] * this.#leaveCents +
        hoursPrice[this.#leavePeriod] * this.#leaveHours;
    }
    if (this.#enterPeriod >= 0) {
      change +=
        capitalPrice[this.#enterPeriod] * this.#enterCents +
        hoursPrice[this.#enterPeriod] * this.#enterHours;
    }
    return change;
  }

  /** True when the weighed move makes no row worse than it may be; the cap may be left out. */
  fits(withCap = true): boolean {
    const a = this.#arrays;
    if (this.#enterYear >= 0) {
      const first = this.#enterYear;
      const end = this.#carries ? a.yearCount : first + 1;
      for (let k = first; k < end; k++) {
        const change = this.moveBudget(k);
        if (
          change > 0 &&
          this.budgetUse[k] + change > a.budgetLimit[k] + forgiven(a.budgetLimit[k])
        ) {
          return false;
        }
      }
      const t = this.#enterPeriod;
      const change = this.moveHours(t);
      if (change > 0 && this.hours[t] + change > a.crewLimit[t] + forgiven(a.crewLimit[t])) {
        return false;
      }
    }
    if (!withCap || this.moveKg <= 0) return true;
    return this.kg + this.moveKg <= this.#capKg + forgiven(this.#capKg);
  }

  /** What the weighed move changes of the overuse of all rows, at a price for each unit of it. */
  moveOveruse(prices: OverusePrices): number {
    const a = this.#arrays;
    let change = 0;
    if (this.#carries) {
      for (let k = 0; k < a.yearCount; k++) {
        const moved = this.moveBudget(k);
        if (moved !== 0) {
          change += prices.budget[k] * overuseChange(this.overBudget(k), moved);
        }
      }
    } else {
      const leave = this.#leaveYear;
      const enter = this.#enterYear;
      if (leave === enter) {
        if (leave >= 0) {
          const moved = this.#enterCents - this.#leaveCents;
          change += prices.budget[leave] * overuseChange(this.overBudget(leave), moved);
        }
      } else {
        if (leave >= 0) {
          change += prices.budget[leave] * overuseChange(this.overBudget(leave), -this.#leaveCents);
        }
        if (enter >= 0) {
          change += prices.budget[enter] * overuseChange(this.overBudget(enter), this.#enterCents);
        }
      }
    }
    const from = this.#leavePeriod;
    const to = this.#enterPeriod;
    if (from === to) {
      if (from >= 0) {
        const moved = this.#enterHours - this.#leaveHours;
        change += prices.crew[from] * overuseChange(this.overCrew(from), moved);
      }
    } else {
      if (from >= 0) {
        change += prices.crew[from] * overuseChange(this.overCrew(from), -this.#leaveHours);
      }
      if (to >= 0) {
        change += prices.crew[to] * overuseChange(this.overCrew(to), this.#enterHours);
      }
    }
    return change + prices.cap * overuseChange(this.overCap(), this.moveKg);
  }

  /** Number of swaps of a building in a period. */
  swapsIn(b: number, t: number): number {
    return this.#swaps[b * this.#arrays.periodCount + t];
  }

  /**
   * Moves a building's upgrade to period u (-1: none), without a look at the budgets.
   * @returns what it adds to the cost, or null when the loads do not allow it; nothing is moved then
   */
  moveUpgrade(b: number, u: number): number | null {
    const a = this.#arrays;
    const T = a.periodCount;
    const old = this.upgrade[b];
    let carried = 0;
    for (let t = 0; t < T; t++) {
      carried += this.#load[b * T + t];
      const room = a.headroom[b] + (u >= 0 && t >= u ? a.upgradeAdds[b] : 0);
      if (carried > room + forgiven(room)) return null;
    }
    const cents = a.upgradeCents[b];
    let change = 0;
    if (old >= 0) {
      change -= cents * a.discount[old];
      this.spent[a.yearOfPeriod[old]] -= cents;
    }
    if (u >= 0) {
      change += cents * a.discount[u];
      this.spent[a.yearOfPeriod[u]] += cents;
    }
    this.upgrade[b] = u;
    this.cost += change;
    this.#sumBudgetUse();
    return change;
  }

  /** Overuse of all rows at a price for each unit. */
  overuse(prices: OverusePrices): number {
    const a = this.#arrays;
    let sum = 0;
    for (let k = 0; k < a.yearCount; k++) {
      sum += prices.budget[k] * Math.max(0, this.overBudget(k));
    }
    for (let t = 0; t < a.periodCount; t++) sum += prices.crew[t] * Math.max(0, this.overCrew(t));
    return sum + prices.cap * Math.max(0, this.overCap());
  }

  /** Makes the weighed move. */
  make(): void {
    const a = this.#arrays;
    const T = a.periodCount;
    const i = this.#moveHeater;
    const b = this.#buildingOf[i];
    const old = this.choice[i];
    const j = this.#moveChoice;
    // The excess is not part of `cost`.
    this.cost +=
      this.moveCost - this.#excessCost(this.kg + this.moveKg) + this.#excessCost(this.kg);
    this.kg += this.moveKg;
    if (old >= 0) {
      this.#swaps[b * T + this.#leavePeriod]--;
      this.#load[b * T + this.#leavePeriod] -= a.circuit[old];
      this.spent[this.#leaveYear] -= this.#leaveCents;
      this.hours[this.#leavePeriod] -= this.#leaveHours;
    }
    if (j >= 0) {
      this.#swaps[b * T + this.#enterPeriod]++;
      this.#load[b * T + this.#enterPeriod] += a.circuit[j];
      this.spent[this.#enterYear] += this.#enterCents;
      this.hours[this.#enterPeriod] += this.#enterHours;
    }
    this.choice[i] = j;
    if (this.#carries) this.#sumBudgetUse();
    else {
      if (old >= 0) this.budgetUse[this.#leaveYear] = this.spent[this.#leaveYear];
      if (j >= 0) this.budgetUse[this.#enterYear] = this.spent[this.#enterYear];
    }
  }

  /**
   * Puts a building's upgrade off to the first period that needs it, or drops it, where the budgets
   * allow that. Loads may have left since it was set.
   */
  settleUpgrade(b: number): void {
    const a = this.#arrays;
    const T = a.periodCount;
    const u = this.upgrade[b];
    if (u < 0) return;
    let carried = 0;
    let needed = -1;
    for (let t = 0; t < T && needed < 0; t++) {
      carried += this.#load[b * T + t];
      if (carried > a.headroom[b] + forgiven(a.headroom[b])) needed = t;
    }
    if (needed === u) return;
    const cents = a.upgradeCents[b];
    const before = this.spent.slice();
    this.spent[a.yearOfPeriod[u]] -= cents;
    if (needed >= 0) this.spent[a.yearOfPeriod[needed]] += cents;
    const change = cents * ((needed >= 0 ? a.discount[needed] : 0) - a.discount[u]);
    this.#sumBudgetUse();
    let keeps = change <= 0;
    for (let k = 0; k < a.yearCount && keeps && needed >= 0; k++) {
      keeps = this.overBudget(k) <= forgiven(a.budgetLimit[k]);
    }
    if (keeps) {
      this.cost += change;
      this.upgrade[b] = needed;
    } else {
      this.spent.set(before);
      this.#sumBudgetUse();
    }
  }

  #serviceCarries(b: number, old: number, j: number): boolean {
    const a = this.#arrays;
    const T = a.periodCount;
    const upgraded = this.upgrade[b];
    let carried = 0;
    for (let t = 0; t < T; t++) {
      carried += this.#load[b * T + t];
      if (old >= 0 && a.period[old] === t) carried -= a.circuit[old];
      if (a.period[j] === t) carried += a.circuit[j];
      const room = a.headroom[b] + (upgraded >= 0 && t >= upgraded ? a.upgradeAdds[b] : 0);
      if (carried > room + forgiven(room)) return false;
    }
    return true;
  }

  #excessCost(kg: number): number {
    const a = this.#arrays;
    if (a.excessCentsPerKg === Number.POSITIVE_INFINITY || kg <= a.emissionCapKg) return 0;
    return (kg - a.emissionCapKg) * a.excessCentsPerKg;
  }

  #sumBudgetUse(): void {
    const K = this.#arrays.yearCount;
    if (!this.#carries) {
      this.budgetUse.set(this.spent);
      return;
    }
    for (let k = 0; k < K; k++) {
      let use = 0;
      for (let y = 0; y <= k; y++) use += this.#arrays.budgetWeight[k * K + y] * this.spent[y];
      this.budgetUse[k] = use;
    }
  }
}

/** How the part above the limit changes when use that is `over` it changes. */
function overuseChange(over: number, change: number): number {
  return Math.max(0, over + change) - Math.max(0, over);
}

function forgiven(limit: number): number {
  return limit === Number.POSITIVE_INFINITY ? 0 : FORGIVEN * Math.max(1, Math.abs(limit));
}
