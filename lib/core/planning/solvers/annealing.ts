import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";
import type { RandomSource } from "@/lib/core/stats/random";
import type { BuildingOracle, OracleAnswer } from "./building-oracle";
import { type CouplingRows, newUse, pricesOf, type RowPrices } from "./coupling";
import type { StopCheck } from "./local-search";
import { type OverusePrices, PlanState } from "./plan-state";

/** Moves between two looks at the clock and two temperatures. */
const MOVES_A_STAGE = 2_000;
/** Last temperature as a share of the first. */
const COOLING = 1 / 50;
/** What going over a row costs at first, as a multiple of its price. */
const FIRST_OVERUSE = 1.5;
/** Choices of a heater that are tried: those that would be dearer by least at the prices. */
const CHOICES_A_HEATER = 12;

/** What annealing needs besides the plan it begins from. */
export type AnnealingTerms = {
  readonly rows: CouplingRows;
  readonly multipliers: Float64Array;
  readonly oracle: BuildingOracle;
  readonly random: RandomSource;
  readonly moves: number;
  /** First temperature, as a share of what a change typically adds. */
  readonly heat: number;
  /** What going over a row costs at last, as a multiple of its price. */
  readonly lastOveruse: number;
  readonly stop: StopCheck;
  /** Told of every plan that keeps the rules and is cheaper than those before. */
  readonly onPlan: (state: PlanState) => void;
};

/**
 * Simulated annealing (Kirkpatrick, Gelatt and Vecchi, "Optimization by simulated annealing", Science
 * 220, 1983; from memory) over plans that may be over their limits at a price: one heater changes, two
 * heaters of different periods change places, a visit moves with all its swaps, an upgrade moves, or a
 * building is planned anew at prices a little off. The number of moves is fixed, so that the same seed
 * gives the same plan.
 *
 * @returns the last plan, which may be over its limits
 */
export function anneal(
  arrays: ProblemArrays,
  start: ChosenArrays,
  terms: AnnealingTerms,
): PlanState {
  return new Annealing(arrays, start, terms).run();
}

class Annealing {
  readonly #arrays: ProblemArrays;
  readonly #terms: AnnealingTerms;
  readonly #state: PlanState;
  /** Prices of the rows, and what going over them costs at present. */
  readonly #unit: OverusePrices;
  readonly #overuse: OverusePrices;
  readonly #prices: RowPrices;
  /** Choices tried of each heater, `CHOICES_A_HEATER` places each; -1 is never, -2 an empty place. */
  readonly #tried: Int32Array;
  readonly #position: Int16Array;
  readonly #upgrade: Int16Array;
  readonly #tied: Int32Array;
  #temperature = 0;
  #bestCost: number;

  constructor(arrays: ProblemArrays, start: ChosenArrays, terms: AnnealingTerms) {
    this.#arrays = arrays;
    this.#terms = terms;
    this.#state = new PlanState(arrays, start);
    this.#prices = pricesOf(arrays, terms.rows, terms.multipliers);
    this.#unit = overusePrices(arrays, terms.rows, terms.multipliers);
    this.#overuse = {
      budget: this.#unit.budget.slice(),
      crew: this.#unit.crew.slice(),
      cap: this.#unit.cap,
    };
    this.#tried = promisingChoices(arrays, this.#prices);
    this.#position = new Int16Array(arrays.heaterCount);
    this.#upgrade = new Int16Array(arrays.buildingCount);
    this.#tied = Int32Array.from(
      Array.from({ length: arrays.buildingCount }, (_, b) => b).filter(
        (b) => !terms.oracle.isLoose(b) && arrays.heaterStart[b + 1] > arrays.heaterStart[b],
      ),
    );
    this.#bestCost = this.#state.isFeasible() ? this.#state.totalCost() : Number.POSITIVE_INFINITY;
  }

  run(): PlanState {
    const { moves, stop, random, heat, lastOveruse } = this.#terms;
    const stages = Math.max(1, Math.ceil(moves / MOVES_A_STAGE));
    const first = heat * this.#typicalRise();
    const rebuilds = this.#tied.length > 0 ? 3 : 0;
    for (let stage = 0; stage < stages && !stop(); stage++) {
      const progress = stage / stages;
      this.#temperature = first * COOLING ** progress;
      this.#setOveruse(FIRST_OVERUSE * (lastOveruse / FIRST_OVERUSE) ** progress);
      for (let n = 0; n < MOVES_A_STAGE; n++) {
        const kind = random.nextUniform();
        if (kind < 0.7) this.#changeOne();
        else if (kind < 0.9) this.#changePlaces();
        else if (kind < 0.97 || this.#tied.length === 0) this.#moveVisit();
        else this.#moveUpgrade();
        this.#notice();
      }
      for (let n = 0; n < rebuilds; n++) {
        this.#planAnew();
        this.#notice();
      }
    }
    return this.#state;
  }

  #setOveruse(factor: number): void {
    const { budget, crew, cap } = this.#unit;
    for (let k = 0; k < budget.length; k++) this.#overuse.budget[k] = factor * budget[k];
    for (let t = 0; t < crew.length; t++) this.#overuse.crew[t] = factor * crew[t];
    this.#overuse.cap = factor * cap;
  }

  /** The median of what a change adds, where it adds anything. */
  #typicalRise(): number {
    const rises: number[] = [];
    for (let n = 0; n < 400; n++) {
      const i = this.#someHeater();
      const j = this.#someChoice(i);
      if (j < -1 || j === this.#state.choice[i] || !this.#state.weigh(i, j)) continue;
      const rise = this.#state.moveCost + this.#state.moveOveruse(this.#overuse);
      if (rise > 0) rises.push(rise);
    }
    if (rises.length === 0) return 1;
    rises.sort((a, b) => a - b);
    return rises[Math.floor(rises.length / 2)];
  }

  #someHeater(): number {
    return Math.floor(this.#terms.random.nextUniform() * this.#arrays.heaterCount);
  }

  #someChoice(i: number): number {
    const place = Math.floor(this.#terms.random.nextUniform() * CHOICES_A_HEATER);
    return this.#tried[i * CHOICES_A_HEATER + place];
  }

  #accepts(rise: number): boolean {
    return rise <= 0 || this.#terms.random.nextUniform() < Math.exp(-rise / this.#temperature);
  }

  #notice(): void {
    const cost = this.#state.totalCost();
    if (cost >= this.#bestCost - 1e-3 || !this.#state.isFeasible()) return;
    this.#bestCost = cost;
    this.#terms.onPlan(this.#state);
  }

  #changeOne(): void {
    const state = this.#state;
    const i = this.#someHeater();
    const j = this.#someChoice(i);
    if (j < -1 || j === state.choice[i] || !state.weigh(i, j)) return;
    if (this.#accepts(state.moveCost + state.moveOveruse(this.#overuse))) state.make();
  }

  /** One heater changes into a period from which another leaves into the first one's. */
  #changePlaces(): void {
    const a = this.#arrays;
    const state = this.#state;
    const i = this.#someHeater();
    const j = this.#someChoice(i);
    const old = state.choice[i];
    if (j < -1 || j === old || !state.weigh(i, j)) return;
    const rise = state.moveCost + state.moveOveruse(this.#overuse);
    const to = j < 0 ? -1 : a.period[j];
    const from = old < 0 ? -1 : a.period[old];
    // A few others are looked at; the first in the period entered that has a choice in the one left.
    let other = -1;
    for (let n = 0; n < 30 && other < 0; n++) {
      const k = this.#someHeater();
      const now = state.choice[k];
      if (k !== i && (now < 0 ? -1 : a.period[now]) === to) other = k;
    }
    if (other < 0) return;
    const kept = state.choice[other];
    const target = this.#choiceIn(other, from);
    if (target < -1 || target === kept) return;
    state.make();
    if (state.weigh(other, target)) {
      const both = rise + state.moveCost + state.moveOveruse(this.#overuse);
      if (this.#accepts(both)) {
        state.make();
        return;
      }
    }
    state.weigh(i, old);
    state.make();
  }

  /** A choice of a heater in a period (-1: never) among those tried; -2 when it has none. */
  #choiceIn(i: number, period: number): number {
    const a = this.#arrays;
    const offset = Math.floor(this.#terms.random.nextUniform() * CHOICES_A_HEATER);
    for (let n = 0; n < CHOICES_A_HEATER; n++) {
      const j = this.#tried[i * CHOICES_A_HEATER + ((offset + n) % CHOICES_A_HEATER)];
      if (j < -1) continue;
      if (j < 0 ? period === -1 : a.period[j] === period) return j;
    }
    return -2;
  }

  /** All swaps of a building in one period move to another, each with the same options where it has them. */
  #moveVisit(): void {
    const a = this.#arrays;
    const state = this.#state;
    const i = this.#someHeater();
    const now = state.choice[i];
    if (now < 0) return;
    const b = state.buildingOf(i);
    const from = a.period[now];
    const to = Math.floor(this.#terms.random.nextUniform() * a.periodCount);
    if (to === from) return;
    const before = this.#energy();
    const moved: number[] = [];
    const kept: number[] = [];
    for (let h = a.heaterStart[b]; h < a.heaterStart[b + 1]; h++) {
      const old = state.choice[h];
      if (old < 0 || a.period[old] !== from) continue;
      const target = alike(a, h, old, to);
      if (target < 0 || !state.weigh(h, target)) continue;
      moved.push(h);
      kept.push(old);
      state.make();
    }
    if (moved.length === 0 || this.#accepts(this.#energy() - before)) return;
    this.#takeBack(moved, kept);
  }

  #takeBack(moved: readonly number[], kept: readonly number[]): void {
    for (let n = moved.length - 1; n >= 0; n--) {
      this.#state.weigh(moved[n], kept[n]);
      this.#state.make();
    }
  }

  #moveUpgrade(): void {
    const a = this.#arrays;
    const state = this.#state;
    const b = this.#someTied();
    if (!Number.isFinite(a.upgradeCents[b])) return;
    const old = state.upgrade[b];
    const u = Math.floor(this.#terms.random.nextUniform() * (a.periodCount + 1)) - 1;
    if (u === old) return;
    const before = this.#energy();
    if (state.moveUpgrade(b, u) === null) return;
    if (!this.#accepts(this.#energy() - before)) state.moveUpgrade(b, old);
  }

  #someTied(): number {
    return this.#tied[Math.floor(this.#terms.random.nextUniform() * this.#tied.length)];
  }

  /** A building decides anew at prices up to a third off. */
  #planAnew(): void {
    const a = this.#arrays;
    const state = this.#state;
    const { random, oracle } = this.#terms;
    const b = this.#someTied();
    const off = () => 1 + 0.6 * (random.nextUniform() - 0.5);
    const prices: RowPrices = {
      capital: this.#prices.capital.map((each) => each * off()),
      hours: this.#prices.hours.map((each) => each * off()),
      kg: this.#prices.kg * off(),
    };
    const answer: OracleAnswer = { ...newUse(a), bound: 0, value: 0 };
    oracle.evaluate(b, b + 1, prices, answer, this.#position, 0, this.#upgrade, 0);
    const before = this.#energy();
    const oldUpgrade = state.upgrade[b];
    const moved: number[] = [];
    const kept: number[] = [];
    for (let h = a.heaterStart[b]; h < a.heaterStart[b + 1]; h++) {
      const target = this.#position[h] < 0 ? -1 : a.choiceStart[h] + this.#position[h];
      if (target === state.choice[h]) continue;
      moved.push(h);
      kept.push(state.choice[h]);
      // On the way the service may be over its load; it is not when all have moved.
      state.weigh(h, target);
      state.make();
    }
    const upgrade = this.#upgrade[b];
    const carries = upgrade === oldUpgrade || state.moveUpgrade(b, upgrade) !== null;
    if (carries && this.#accepts(this.#energy() - before)) return;
    this.#takeBack(moved, kept);
    if (carries && upgrade !== oldUpgrade) state.moveUpgrade(b, oldUpgrade);
  }

  #energy(): number {
    return this.#state.totalCost() + this.#state.overuse(this.#overuse);
  }
}

/** The choice of heater h in a period that is most like one it has: the same capital and load, or next. */
function alike(arrays: ProblemArrays, h: number, now: number, period: number): number {
  let best = -1;
  let least = Number.POSITIVE_INFINITY;
  for (let j = arrays.choiceStart[h]; j < arrays.choiceStart[h + 1]; j++) {
    if (arrays.period[j] !== period) continue;
    const difference =
      Math.abs(arrays.capital[j] - arrays.capital[now]) +
      (arrays.circuit[j] === arrays.circuit[now] ? 0 : 1e9);
    if (difference < least) {
      least = difference;
      best = j;
    }
  }
  return best;
}

function promisingChoices(arrays: ProblemArrays, prices: RowPrices): Int32Array {
  const tried = new Int32Array(arrays.heaterCount * CHOICES_A_HEATER).fill(-2);
  const priced = new Float64Array(arrays.cost.length);
  for (let i = 0; i < arrays.heaterCount; i++) {
    const own: number[] = [];
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      const t = arrays.period[j];
      priced[j] =
        arrays.cost[j] +
        prices.capital[t] * arrays.capital[j] +
        prices.hours[t] * arrays.hours[j] +
        prices.kg * arrays.kg[j];
      own.push(j);
    }
    own.sort((x, y) => priced[x] - priced[y] || x - y);
    const mayStay = arrays.neverCost[i] < Number.POSITIVE_INFINITY ? 1 : 0;
    if (mayStay === 1) tried[i * CHOICES_A_HEATER] = -1;
    own.slice(0, CHOICES_A_HEATER - mayStay).forEach((j, n) => {
      tried[i * CHOICES_A_HEATER + mayStay + n] = j;
    });
  }
  return tried;
}

/** A price for going over each row, above its multiplier; rows without one take the dearest of their kind. */
function overusePrices(
  arrays: ProblemArrays,
  rows: CouplingRows,
  multipliers: Float64Array,
): OverusePrices {
  const priceOf = (row: number) => (row < 0 ? 0 : multipliers[row] / rows.scale[row]);
  const withFloor = (rowOf: Int32Array): Float64Array => {
    const prices = Float64Array.from(rowOf, priceOf);
    const dearest = prices.reduce((a, b) => Math.max(a, b), 0);
    return prices.map((each, n) => (rowOf[n] < 0 ? 0 : Math.max(each, 0.3 * dearest, 1e-3)));
  };
  const soft = arrays.excessCentsPerKg < Number.POSITIVE_INFINITY;
  return {
    budget: withFloor(rows.budgetRow),
    crew: withFloor(rows.crewRow).map((each) => Math.max(each, 10)),
    cap: soft || rows.emissionRow < 0 ? 0 : Math.max(priceOf(rows.emissionRow), 1),
  };
}
