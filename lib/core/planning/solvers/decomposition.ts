import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";
import { createRandom, type RandomSource } from "@/lib/core/stats/random";
import { anneal } from "./annealing";
import { BuildingOracle, type OracleAnswer } from "./building-oracle";
import { type BuildingTeam, soloTeam, type TeamFor } from "./building-team";
import { ProximalBundle } from "./bundle";
import {
  type CouplingRows,
  costCeiling,
  couplingRows,
  newUse,
  pricesOf,
  type RowUse,
  rowActivity,
} from "./coupling";
import { improveByExchange } from "./exchange-search";
import { improveSingly, repairPlan, type StopCheck, shuffled } from "./local-search";
import { PlanState } from "./plan-state";
import { type BaseAnswer, PriceResponse, planInSequence } from "./sequential-plan";

export type DecompositionOptions = {
  /** Stop when the gap is at or below this. */
  readonly gap: number;
  readonly seed: number;
  readonly shouldStop: StopCheck;
  readonly onProgress?: (stage: string, objective: number | null, bound: number | null) => void;
  /** A plan to start from, feasible or not. */
  readonly start?: ChosenArrays;
  /** False leaves the plan of a small portfolio unrefined, for a caller that solves it exactly anyway. */
  readonly refines?: boolean;
  /** Who answers for the buildings; this thread alone when absent. The plan is the same whoever does. */
  readonly teamFor?: TeamFor;
};

export type DecompositionResult = {
  /** Null when no plan was found. */
  readonly chosen: ChosenArrays | null;
  /** Infinity without a plan. */
  readonly objectiveCents: number;
  /** Infinity when it is proven that there is no plan. */
  readonly lowerBoundCents: number;
  /** Scaled multipliers of the best bound. */
  readonly multipliers: Float64Array;
  readonly rows: CouplingRows;
};

/** Cuts kept beyond one for each row, from which plans are mixed. */
const SPARE_CUTS = 30;
/** Above this many heaters plans are made in sequence; below, mixed from the cuts of the bundle. */
const MANY_HEATERS = 20_000;
/** Heaters in the samples on which prices are found, and refined, first. */
const SAMPLES = [
  { size: 2_500, calls: 150, firstStep: 0.1 },
  { size: 25_000, calls: 60, firstStep: 0.001 },
];
/** Groups of buildings with cuts of their own: more make fewer calls and longer ones between them. */
const MOST_GROUPS = 12;
/** Up to this many heaters plans are annealed, by so many moves for a heater, within bounds. */
const MOST_ANNEALED = 5_000;
const ANNEALING_MOVES = { aHeater: 20_000, least: 1_600_000, most: 4_000_000 };
/**
 * The moves of a few heaters are spread over several runs, of which one may lead out of where another
 * ends: hot and cooler ones, lenient and strict about limits.
 */
const ANNEALING_RUNS = [
  { heat: 1 / 30, lastOveruse: 150 },
  { heat: 1 / 8, lastOveruse: 150 },
  { heat: 1 / 8, lastOveruse: 20 },
  { heat: 1 / 3, lastOveruse: 150 },
];
const runsOf = (heaters: number) => (heaters <= 100 ? 8 : heaters <= 400 ? 4 : 1);
/** How often plans are made anew, aimed further below the cap, when none kept it. */
const MOST_AIMS = 6;

/**
 * Lagrangian decomposition by building: prices on money, crew hours and kilograms let every building
 * decide alone; a bundle method finds the prices of the best lower bound; plans are put together from
 * what the buildings answer, repaired where rows are over their limit, and improved move by move.
 *
 * Deterministic for a seed unless it is stopped early. Stopped at any time it returns the best so far.
 */
export async function decompose(
  arrays: ProblemArrays,
  options: DecompositionOptions,
): Promise<DecompositionResult> {
  const team = (options.teamFor ?? soloTeam)(arrays);
  try {
    return await new Decomposition(arrays, options, team).run();
  } finally {
    await team.end();
  }
}

/** Multipliers with what all buildings answered to them. */
type Refined = {
  readonly multipliers: Float64Array;
  readonly base: BaseAnswer;
  readonly response: PriceResponse;
};

type Sample = {
  readonly buildings: readonly number[];
  /** Share of the heaters in them. */
  readonly share: number;
};

class Decomposition {
  readonly #arrays: ProblemArrays;
  readonly #options: DecompositionOptions;
  readonly #team: BuildingTeam;
  readonly #rows: CouplingRows;
  readonly #oracle: BuildingOracle;
  readonly #random: RandomSource;
  readonly #ceiling: number;
  /** Buildings whose answers are one function to the bundle. */
  readonly #groups: readonly (readonly number[])[];
  #best: ChosenArrays | null = null;
  #bestCost = Number.POSITIVE_INFINITY;
  /** The last plan that could not be repaired. */
  #closest: ChosenArrays | null = null;
  #bound = Number.NEGATIVE_INFINITY;
  #multipliers: Float64Array;
  /** Least kilograms above the cap of the plans that could not be repaired; Infinity without one. */
  #missedCapBy = Number.POSITIVE_INFINITY;
  /** Whether a plan of the last aim could be repaired. */
  #keptCap = false;
  #aimedBelowCap = 0;
  // Answers of the buildings by slot of the bundle.
  #columnChoice: Int16Array = new Int16Array(0);
  #columnUpgrade: Int16Array = new Int16Array(0);

  constructor(arrays: ProblemArrays, options: DecompositionOptions, team: BuildingTeam) {
    this.#team = team;
    this.#arrays = arrays;
    this.#options = options;
    this.#rows = couplingRows(arrays);
    this.#oracle = new BuildingOracle(arrays);
    this.#random = createRandom(options.seed);
    this.#ceiling = costCeiling(arrays);
    this.#groups = this.#groupsOf(Array.from({ length: arrays.buildingCount }, (_, b) => b));
    this.#multipliers = new Float64Array(this.#rows.count);
  }

  async run(): Promise<DecompositionResult> {
    const { start } = this.#options;
    const a = this.#arrays;
    this.#offer(
      new PlanState(a, {
        choice: new Int32Array(a.heaterCount).fill(-1),
        upgrade: new Int16Array(a.buildingCount).fill(-1),
      }),
    );
    if (start) this.#offer(new PlanState(a, start));

    let center = await this.#startFromSamples();
    const refined = a.heaterCount > MANY_HEATERS ? await this.#refineMany(center) : null;
    // Plans in whole heaters miss a tight cap by a little, so that they are aimed below it: further
    // while they miss it, and then half-way back as long as that finds cheaper ones.
    let missedAt = 0;
    let keptAt = Number.POSITIVE_INFINITY;
    for (let attempt = 0; attempt < MOST_AIMS && !this.#done(); attempt++) {
      const before = this.#bestCost;
      const limit = this.#aim();
      this.#missedCapBy = Number.POSITIVE_INFINITY;
      this.#keptCap = false;
      if (refined) this.#planManyInSequence(refined, limit);
      else {
        const bundle = await this.#ascend(center, limit, attempt === 0 ? 250 : 80);
        center = bundle.center;
        if (!this.#done()) this.#mixPlans(bundle);
      }
      if (this.#missedCapBy === Number.POSITIVE_INFINITY && this.#aimedBelowCap === 0) break;
      if (this.#keptCap) keptAt = this.#aimedBelowCap;
      else missedAt = this.#aimedBelowCap;
      if (keptAt === Number.POSITIVE_INFINITY) {
        const missed = Math.min(this.#missedCapBy, this.#rows.scale[this.#rows.emissionRow]);
        this.#aimedBelowCap += 1.2 * missed;
      } else if (this.#keptCap && this.#bestCost >= before * (1 - 1e-5)) break;
      else this.#aimedBelowCap = (missedAt + keptAt) / 2;
    }
    this.#anneal();
    return {
      chosen: this.#best,
      objectiveCents: this.#bestCost,
      lowerBoundCents: this.#isImpossible()
        ? Number.POSITIVE_INFINITY
        : Math.min(this.#bound, this.#bestCost),
      multipliers: this.#multipliers,
      rows: this.#rows,
    };
  }

  /** Few heaters leave rounding and exchanges far from the best plan: there the plan is annealed. */
  #anneal(): void {
    const a = this.#arrays;
    if (a.heaterCount > MOST_ANNEALED || this.#options.refines === false || this.#done()) return;
    const { aHeater, least, most } = ANNEALING_MOVES;
    const runs = runsOf(a.heaterCount);
    const moves = Math.min(most, Math.max(least, aHeater * a.heaterCount)) / runs;
    for (let run = 0; run < runs && !this.#done(); run++) {
      const start = this.#best ?? this.#closest;
      if (start === null) return;
      const before = this.#bestCost;
      const last = anneal(a, start, {
        rows: this.#rows,
        multipliers: this.#multipliers,
        oracle: this.#oracle,
        random: this.#random,
        moves,
        ...ANNEALING_RUNS[run % ANNEALING_RUNS.length],
        stop: () => this.#done(),
        onPlan: (state) => this.#offer(state),
      });
      if (!this.#done()) this.#finish(last.chosen());
      if (this.#best !== null && this.#bestCost < before && !this.#done()) {
        this.#finish(this.#best);
      }
    }
  }

  #aim(): Float64Array {
    const aim = this.#rows.limit.slice();
    if (this.#rows.emissionRow >= 0) aim[this.#rows.emissionRow] -= this.#aimedBelowCap;
    return aim;
  }

  #isImpossible(): boolean {
    return this.#best === null && this.#bound > this.#ceiling + 1e-6 * Math.abs(this.#ceiling);
  }

  #done(): boolean {
    if (this.#options.shouldStop() || this.#isImpossible()) return true;
    if (this.#best === null) return false;
    const gap = this.#bestCost - this.#bound;
    return gap <= this.#options.gap * Math.max(1, Math.abs(this.#bestCost));
  }

  /** Multipliers from samples of the buildings, with the limits in proportion; zero for small problems. */
  async #startFromSamples(): Promise<Float64Array> {
    const a = this.#arrays;
    let center = new Float64Array(this.#rows.count);
    if (a.heaterCount < 4 * SAMPLES[0].size) return center;
    const position = this.#team.newInt16Array(a.heaterCount);
    const upgrade = this.#team.newInt16Array(a.buildingCount);
    for (const { size, calls, firstStep } of SAMPLES) {
      if (a.heaterCount < 4 * size) break;
      const sample = this.#sample(size);
      const limit = this.#rows.limit.map((value) => value * sample.share);
      const groups = this.#groupsOf(sample.buildings);
      const bundle = this.#newBundle(center, firstStep, limit, groups.length);
      await this.#maximise(bundle, calls, (multipliers) =>
        this.#evaluate(multipliers, groups, position, upgrade, 0),
      );
      center = bundle.center.slice();
    }
    return center;
  }

  /** Answers of groups of buildings. */
  #evaluate(
    multipliers: Float64Array,
    groups: readonly (readonly number[])[],
    position: Int16Array,
    upgrade: Int16Array,
    slot: number,
  ): Promise<readonly OracleAnswer[]> {
    const a = this.#arrays;
    return this.#team.evaluate({
      prices: pricesOf(a, this.#rows, multipliers),
      groups,
      position,
      positionOffset: slot * a.heaterCount,
      upgrade,
      upgradeOffset: slot * a.buildingCount,
    });
  }

  /** Buildings in groups of about as many heaters each. */
  #groupsOf(buildings: readonly number[]): readonly (readonly number[])[] {
    const start = this.#arrays.heaterStart;
    const heaters = buildings.reduce((sum, b) => sum + start[b + 1] - start[b], 0);
    const count = Math.max(1, Math.min(MOST_GROUPS, buildings.length));
    const groups: number[][] = [[]];
    let done = 0;
    for (const b of buildings) {
      if (done >= (groups.length * heaters) / count && groups.length < count) groups.push([]);
      groups[groups.length - 1].push(b);
      done += start[b + 1] - start[b];
    }
    return groups;
  }

  #sample(size: number): Sample {
    const a = this.#arrays;
    const stride = Math.max(1, Math.floor(a.heaterCount / size));
    const buildings: number[] = [];
    let heaters = 0;
    for (let b = 0; b < a.buildingCount; b += stride) {
      buildings.push(b);
      heaters += a.heaterStart[b + 1] - a.heaterStart[b];
    }
    return { buildings, share: heaters / Math.max(1, a.heaterCount) };
  }

  /** Refines multipliers on all buildings with the response that a sample shows. */
  #refineMany(start: Float64Array): Promise<Refined> {
    const a = this.#arrays;
    const small = this.#sample(2 * SAMPLES[0].size);
    const response = new PriceResponse(
      a,
      this.#rows,
      this.#oracle,
      start,
      small.buildings,
      small.share,
    );
    return this.#refine(start, response);
  }

  /** Newton steps; shorter where one fails. */
  async #refine(start: Float64Array, response: PriceResponse): Promise<Refined> {
    const a = this.#arrays;
    const { limit, scale, count, ceiling } = this.#rows;
    const excess = new Float64Array(count);
    const newAnswer = () => ({
      position: this.#team.newInt16Array(a.heaterCount),
      upgrade: this.#team.newInt16Array(a.buildingCount),
    });
    let best: (Refined & { readonly value: number }) | null = null;
    let spare: Pick<BaseAnswer, "position" | "upgrade"> = newAnswer();
    let length = 1;
    let point = start.slice();
    for (let call = 0; call < 10 && !(best && this.#done()); call++) {
      const { position, upgrade } = spare;
      const answer = sumOf(a, await this.#evaluateAll(point, position, upgrade, 0));
      let value = answer.value;
      for (let r = 0; r < count; r++) value -= (point[r] * limit[r]) / scale[r];
      if (best === null || value > best.value) {
        const gained: number = best === null ? Number.POSITIVE_INFINITY : value - best.value;
        spare = best === null ? newAnswer() : best.base;
        const activity = rowActivity(a, this.#rows, answer);
        best = { multipliers: point, value, response, base: { position, upgrade, activity } };
        for (let r = 0; r < count; r++) {
          const off = (activity[r] - limit[r]) / scale[r];
          excess[r] = point[r] > 0 ? off : Math.max(0, off);
        }
        if (gained <= 2e-6 * Math.abs(value)) break;
      } else {
        length /= 3;
        if (length < 0.1) break;
      }
      point = new Float64Array(count);
      response.raise(
        best.multipliers,
        excess.map((each) => length * each),
        ceiling,
        point,
      );
    }
    if (best === null) throw new RangeError("refine must evaluate at least once, got no answer");
    return best;
  }

  #newBundle(center: Float64Array, firstStep: number, limit: Float64Array, groups: number) {
    return new ProximalBundle({
      center,
      ceiling: this.#rows.ceiling,
      limit: limit.map((value, r) => value / this.#rows.scale[r]),
      groups,
      capacity: this.#rows.count + SPARE_CUTS,
      firstStep,
    });
  }

  /** Improves the bound from a centre and keeps the answers of the buildings. */
  async #ascend(
    center: Float64Array,
    limit: Float64Array,
    mostCalls: number,
  ): Promise<ProximalBundle> {
    const a = this.#arrays;
    const warm = center.some((each) => each > 0);
    const bundle = this.#newBundle(center, warm ? 0.001 : 0.1, limit, this.#groups.length);
    if (this.#columnChoice.length === 0) {
      this.#columnChoice = this.#team.newInt16Array(bundle.capacity * a.heaterCount);
      this.#columnUpgrade = this.#team.newInt16Array(bundle.capacity * a.buildingCount);
    }
    await this.#maximise(bundle, mostCalls, (multipliers, slot) =>
      this.#evaluateAll(multipliers, this.#columnChoice, this.#columnUpgrade, slot),
    );
    return bundle;
  }

  /** All buildings at these multipliers; what it proves for the real limits is kept. */
  async #evaluateAll(
    multipliers: Float64Array,
    choice: Int16Array,
    upgrade: Int16Array,
    slot: number,
  ): Promise<readonly OracleAnswer[]> {
    const answers = await this.#evaluate(multipliers, this.#groups, choice, upgrade, slot);
    let proven = 0;
    for (const { bound } of answers) proven += bound;
    for (let r = 0; r < this.#rows.count; r++) {
      proven -= (multipliers[r] * this.#rows.limit[r]) / this.#rows.scale[r];
    }
    if (proven > this.#bound) {
      this.#bound = proven;
      this.#multipliers = multipliers.slice();
      this.#report("bound");
    }
    return answers;
  }

  async #maximise(
    bundle: ProximalBundle,
    mostCalls: number,
    evaluate: (multipliers: Float64Array, slot: number) => Promise<readonly OracleAnswer[]>,
  ): Promise<void> {
    const { scale, count } = this.#rows;
    for (let call = 0; call < mostCalls; call++) {
      const slot = bundle.nextSlot();
      const answers = await evaluate(bundle.proposal, slot);
      const values = Float64Array.from(answers, ({ value }) => value);
      const uses = new Float64Array(answers.length * count);
      answers.forEach((answer, g) => {
        const activity = rowActivity(this.#arrays, this.#rows, answer);
        for (let r = 0; r < count; r++) uses[g * count + r] = activity[r] / scale[r];
      });
      bundle.add(slot, values, uses);
      if (count === 0 || this.#options.shouldStop() || this.#isImpossible()) break;
      bundle.propose();
      const hope = bundle.promised - bundle.centerValue;
      if (hope > 1e-5 * Math.max(1, Math.abs(bundle.centerValue))) continue;
      if (bundle.residual() <= 2e-3) break;
      bundle.lengthen(4);
      bundle.propose();
    }
  }

  #planManyInSequence({ multipliers, base, response }: Refined, limit: Float64Array): void {
    for (let pass = 0; pass < 2 && !this.#done(); pass++) {
      this.#finish(
        planInSequence(this.#arrays, this.#rows, this.#oracle, {
          multipliers,
          base,
          limit,
          response,
          order: shuffled(this.#arrays.buildingCount, this.#random),
        }),
      );
    }
  }

  /** Mixes plans from the buildings' answers by the weights of the last proposal. */
  #mixPlans(bundle: ProximalBundle): void {
    const draws = this.#arrays.heaterCount > 5_000 ? 4 : 8;
    for (let draw = 0; draw < draws && !this.#done(); draw++) {
      this.#finish(this.#mix(bundle));
    }
  }

  /** Repairs, improves and offers a plan. */
  #finish(chosen: ChosenArrays): void {
    const { shouldStop } = this.#options;
    const a = this.#arrays;
    const state = new PlanState(a, chosen);
    const prices = pricesOf(a, this.#rows, this.#multipliers);
    if (!repairPlan(a, state, prices, shouldStop)) {
      this.#closest = state.chosen();
      if (state.overCap() > 0) this.#missedCapBy = Math.min(this.#missedCapBy, state.overCap());
      return;
    }
    this.#keptCap = true;
    improveSingly(a, state, this.#random, 6, shouldStop);
    this.#offer(state);
    if (a.heaterCount > MANY_HEATERS || this.#done()) return;
    improveByExchange(a, state, this.#random, 8, shouldStop);
    this.#offer(state);
  }

  /**
   * One answer for each building (each heater, where nothing ties it to its neighbours), in random
   * order, always the one that keeps what is used so far nearest to what the mixture would use.
   */
  #mix(bundle: ProximalBundle): ChosenArrays {
    const a = this.#arrays;
    const rows = this.#rows;
    const choice = new Int32Array(a.heaterCount);
    const upgrade = new Int16Array(a.buildingCount).fill(-1);
    const deviation = new Float64Array(rows.count);
    const use = new Float64Array(rows.count * bundle.slotCount);
    const slotsOf = this.#groups.map((_, g) => {
      const slots: number[] = [];
      for (let k = 0; k < bundle.slotCount; k++) {
        if (bundle.weights[g * bundle.capacity + k] > 1e-9) slots.push(k);
      }
      return slots;
    });
    const groupOf = new Int32Array(a.buildingCount);
    this.#groups.forEach((buildings, g) => {
      for (const b of buildings) groupOf[b] = g;
    });
    const mean = new Float64Array(rows.count);
    const units = this.#units();
    for (const unit of shuffled(units.length / 3, this.#random)) {
      const b = units[3 * unit];
      const first = units[3 * unit + 1];
      const end = units[3 * unit + 2];
      const whole = !this.#oracle.isLoose(b);
      const slots = slotsOf[groupOf[b]];
      mean.fill(0);
      slots.forEach((slot, s) => {
        const answer = newUse(a);
        this.#addUse(slot, b, first, end, whole, answer);
        const activity = rowActivity(a, rows, answer);
        for (let r = 0; r < rows.count; r++) {
          use[s * rows.count + r] = activity[r] / rows.scale[r];
          mean[r] += bundle.weights[groupOf[b] * bundle.capacity + slot] * use[s * rows.count + r];
        }
      });
      let best = 0;
      let least = Number.POSITIVE_INFINITY;
      for (let s = 0; s < slots.length; s++) {
        let distance = 0;
        for (let r = 0; r < rows.count; r++) {
          const off = deviation[r] + use[s * rows.count + r] - mean[r];
          distance += off > 0 ? off * off : 0.5 * off * off;
        }
        if (distance < least) {
          least = distance;
          best = s;
        }
      }
      for (let r = 0; r < rows.count; r++) {
        deviation[r] += use[best * rows.count + r] - mean[r];
      }
      const at = slots[best] * a.heaterCount;
      for (let i = first; i < end; i++) {
        const position = this.#columnChoice[at + i];
        choice[i] = position < 0 ? -1 : a.choiceStart[i] + position;
      }
      if (whole) upgrade[b] = this.#columnUpgrade[slots[best] * a.buildingCount + b];
    }
    return { choice, upgrade };
  }

  #addUse(slot: number, b: number, first: number, end: number, whole: boolean, use: RowUse): void {
    const a = this.#arrays;
    const at = slot * a.heaterCount;
    const visited = new Uint8Array(a.periodCount);
    for (let i = first; i < end; i++) {
      const position = this.#columnChoice[at + i];
      if (position < 0) {
        use.kg += a.neverKg[i];
        continue;
      }
      const j = a.choiceStart[i] + position;
      const t = a.period[j];
      use.spent[a.yearOfPeriod[t]] += a.capital[j];
      use.hours[t] += a.hours[j];
      use.kg += a.kg[j];
      visited[t] = 1;
    }
    if (!whole) return;
    for (let t = 0; t < a.periodCount; t++) {
      if (visited[t] === 1) use.spent[a.yearOfPeriod[t]] += a.mobilisationCents[b];
    }
    const u = this.#columnUpgrade[slot * a.buildingCount + b];
    if (u >= 0) use.spent[a.yearOfPeriod[u]] += a.upgradeCents[b];
  }

  /** What is drawn together: building, first heater, heater after the last, in threes. */
  #units(): Int32Array {
    const a = this.#arrays;
    const units: number[] = [];
    for (let b = 0; b < a.buildingCount; b++) {
      if (this.#oracle.isLoose(b)) {
        for (let i = a.heaterStart[b]; i < a.heaterStart[b + 1]; i++) units.push(b, i, i + 1);
      } else if (a.heaterStart[b + 1] > a.heaterStart[b]) {
        units.push(b, a.heaterStart[b], a.heaterStart[b + 1]);
      }
    }
    return Int32Array.from(units);
  }

  /** Takes a plan when it keeps every rule and is cheaper than the best, summed anew. */
  #offer(changed: PlanState): void {
    if (!(changed.totalCost() < this.#bestCost)) return;
    const state = new PlanState(this.#arrays, changed.chosen());
    const cost = state.totalCost();
    if (!(cost < this.#bestCost) || !state.isFeasible()) return;
    this.#bestCost = cost;
    this.#best = state.chosen();
    this.#report("plan");
  }

  #report(stage: string): void {
    this.#options.onProgress?.(
      stage,
      this.#best === null ? null : this.#bestCost,
      Number.isFinite(this.#bound) ? this.#bound : null,
    );
  }
}

function sumOf(arrays: ProblemArrays, answers: readonly OracleAnswer[]): OracleAnswer {
  const sum: OracleAnswer = { ...newUse(arrays), bound: 0, value: 0 };
  for (const answer of answers) {
    sum.bound += answer.bound;
    sum.value += answer.value;
    sum.kg += answer.kg;
    for (let y = 0; y < sum.spent.length; y++) sum.spent[y] += answer.spent[y];
    for (let t = 0; t < sum.hours.length; t++) sum.hours[t] += answer.hours[t];
  }
  return sum;
}
