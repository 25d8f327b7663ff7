import type { PlanProblem, PlanSchedule } from "@/lib/core/planning/problem";
import type { Strategy } from "@/lib/core/planning/strategies";
import type { WeibullLifetime } from "@/lib/core/survival/weibull";
import { buildFailureTables, drawFirstFailures, type FailureTables } from "./failure-tables";
import { bandOfRowSums, bandsOfColumns, type OutcomeBand } from "./outcome-bands";
import { hashWord, randomWords } from "./random-words";
import type { SimulationFleet } from "./simulation-fleet";

/** Failure times drawn together for all heaters. */
const BLOCK = 256;

/** One set of chances: a draw of the survival model, or the model itself. */
export type FailureSet = {
  /** Chance of failing in each period given alive at its start, heater by heater. */
  readonly conditional: Float64Array;
  /** Lifetime of a new heater by option of the fleet; null when new heaters do not fail. */
  readonly newLifetimes: readonly WeibullLifetime[] | null;
};

/** Several sets, read one after the other; the trials are spread evenly over them. */
export type FailureSource = {
  readonly sets: number;
  readonly read: (set: number) => FailureSet;
};

/** A way to decide, ready to be simulated. */
export type SimulatedStrategy = {
  readonly strategy: Strategy | "plan";
  /** By heater: the planned period, the number of periods for never. */
  readonly replacedIn: Uint8Array;
  readonly option: Uint8Array;
  readonly capitalCents: Float64Array;
  readonly hours: Float64Array;
  /** By period: heaters with a line in it, the most valuable first. */
  readonly due: readonly Int32Array[];
  /** By heater: its place when all lines are put in the order of their value. */
  readonly rank: Int32Array;
  /** By period: upgrades, which are carried out as planned. */
  readonly upgradeCents: Float64Array;
  /** Lines wait when money or crews are short. */
  readonly isLimited: boolean;
};

/** What a strategy brings, with bands. Money is undiscounted cents. */
export type SimulatedFigures = {
  /** Planned swaps, visits, upgrades and emergencies. */
  readonly spendCents: OutcomeBand;
  /** Failures of the heaters of today and of the new ones. */
  readonly emergencies: OutcomeBand;
  /** Homes × days. */
  readonly daysWithoutHotWater: OutcomeBand;
  /** kg CO2e. */
  readonly kg: OutcomeBand;
};

export type SimulatedOutcome = {
  readonly strategy: Strategy | "plan";
  readonly years: readonly (SimulatedFigures & { readonly year: string })[];
  readonly total: SimulatedFigures;
  /** Mean number of planned lines that had to wait for money or crews. */
  readonly linesPutOff: number;
  /** Trial by trial and year by year: what emergencies cost. */
  readonly emergencyCents: Float64Array;
};

/**
 * A schedule as the simulation reads it.
 *
 * @param worthOf present value that a line saves for each cent it costs: the least valuable wait first
 * @throws {RangeError} when a line names a choice that its heater does not have.
 */
export function prepareStrategy(
  strategy: Strategy | "plan",
  schedule: PlanSchedule,
  fleet: SimulationFleet,
  problem: PlanProblem,
  {
    isLimited,
    worthOf,
  }: {
    readonly isLimited: boolean;
    readonly worthOf: (heater: string, costCents: number, capitalCents: number) => number;
  },
): SimulatedStrategy {
  const { heaters: N, periods: T } = fleet;
  const periodIndex = new Map(problem.periods.map(({ id }, t) => [id, t]));
  const buildings = new Map(problem.buildings.map((building) => [building.id, building]));
  const lines = new Map(schedule.assignments.map((line) => [line.heater, line]));
  const replacedIn = new Uint8Array(N).fill(T);
  const option = new Uint8Array(N);
  const capitalCents = new Float64Array(N);
  const hours = new Float64Array(N);
  const value = new Float64Array(N);
  problem.heaters.forEach((heater, i) => {
    const line = lines.get(heater.id);
    if (!line || "never" in line) return;
    const choice = heater.choices.find(
      (each) => each.option === line.option && each.period === line.period,
    );
    const t = periodIndex.get(line.period);
    const o = fleet.options.indexOf(line.option);
    if (!choice || t === undefined || o < 0) {
      throw new RangeError(`heater "${heater.id}" has no such choice`);
    }
    replacedIn[i] = t;
    option[i] = o;
    capitalCents[i] = choice.capitalCents;
    hours[i] = choice.hours;
    value[i] = worthOf(heater.id, choice.costCents, choice.capitalCents);
  });
  const order = Int32Array.from({ length: N }, (_, i) => i).sort(
    (a, b) => value[b] - value[a] || a - b,
  );
  const rank = new Int32Array(N);
  order.forEach((i, place) => {
    rank[i] = place;
  });
  const upgradeCents = new Float64Array(T);
  for (const { building, period } of schedule.upgrades) {
    const t = periodIndex.get(period);
    if (t !== undefined) upgradeCents[t] += buildings.get(building)?.upgrade?.cents ?? 0;
  }
  return {
    strategy,
    replacedIn,
    option,
    capitalCents,
    hours,
    rank,
    due: Array.from({ length: T }, (_, t) => order.filter((i) => replacedIn[i] === t)),
    upgradeCents,
    isLimited,
  };
}

/**
 * Simulates strategies on the same random numbers: in one trial every strategy meets the same failure
 * times. Yields the share done after each set, so that a caller can breathe, and returns the outcomes in
 * the order of the strategies. docs/methods/simulation.md states the rules.
 */
export function* simulatePlans(
  fleet: SimulationFleet,
  strategies: readonly SimulatedStrategy[],
  source: FailureSource,
  { trials, seed }: { readonly trials: number; readonly seed: number },
): Generator<number, readonly SimulatedOutcome[], undefined> {
  if (!(Number.isInteger(trials) && trials >= 1)) {
    throw new RangeError(`trials must be a whole number above zero, got ${trials}`);
  }
  const { heaters: N, periods: T } = fleet;
  const random = randomWords(seed);
  const records = strategies.map(() => new TrialRecord(trials, fleet.years.length));
  const runner = new TrialRunner(fleet);
  const sets = Math.min(source.sets, trials);
  const failures = new Uint8Array(Math.min(BLOCK, trials) * N);
  let tables: FailureTables | undefined;
  for (let set = 0; set < sets; set++) {
    const { conditional, newLifetimes } = source.read(set);
    tables = buildFailureTables(conditional, T, tables);
    runner.setNewLifetimes(newLifetimes);
    const last = Math.floor(((set + 1) * trials) / sets);
    for (let first = Math.floor((set * trials) / sets); first < last; first += BLOCK) {
      const size = Math.min(BLOCK, last - first);
      drawFirstFailures(tables, size, random, failures);
      for (let n = 0; n < size; n++) {
        const times = failures.subarray(n * N, (n + 1) * N);
        const key = hashWord(seed | 0, first + n, 0);
        strategies.forEach((strategy, s) => {
          runner.run(strategy, times, key, records[s], first + n);
        });
      }
    }
    yield (set + 1) / sets;
  }
  return strategies.map(({ strategy }, s) => records[s].outcome(strategy, fleet.years));
}

/** What each trial brought, year by year. */
class TrialRecord {
  readonly spend: Float64Array;
  readonly emergencies: Float64Array;
  readonly emergencyCents: Float64Array;
  readonly homeDays: Float64Array;
  readonly kg: Float64Array;
  putOff = 0;

  constructor(
    private readonly trials: number,
    private readonly years: number,
  ) {
    const table = () => new Float64Array(trials * years);
    this.spend = table();
    this.emergencies = table();
    this.emergencyCents = table();
    this.homeDays = table();
    this.kg = table();
  }

  outcome(strategy: Strategy | "plan", years: readonly string[]): SimulatedOutcome {
    const tables = {
      spendCents: this.spend,
      emergencies: this.emergencies,
      daysWithoutHotWater: this.homeDays,
      kg: this.kg,
    };
    const names = Object.keys(tables) as (keyof typeof tables)[];
    const figures = (band: (name: keyof typeof tables) => OutcomeBand): SimulatedFigures =>
      Object.fromEntries(names.map((name) => [name, band(name)])) as SimulatedFigures;
    const byYear = figuresByName(names, (name) => bandsOfColumns(tables[name], this.years));
    return {
      strategy,
      years: years.map((year, y) => ({ year, ...figures((name) => byYear[name][y]) })),
      total: figures((name) => bandOfRowSums(tables[name], this.years)),
      linesPutOff: this.putOff / this.trials,
      emergencyCents: this.emergencyCents,
    };
  }
}

function figuresByName<N extends string, V>(
  names: readonly N[],
  of: (name: N) => V,
): Readonly<Record<N, V>> {
  return Object.fromEntries(names.map((name) => [name, of(name)])) as Record<N, V>;
}

/** Money and hours are sums of floating-point numbers: this much above a limit is forgiven. */
const SLACK = 1e-6;

/** Runs one trial of one strategy after another, with the memory that they share. */
class TrialRunner {
  /** By period: the first heater of a chain of those that fail in it; −1 ends a chain. */
  readonly #first: Int32Array;
  readonly #next: Int32Array;
  readonly #device: Uint8Array;
  readonly #generation: Uint8Array;
  readonly #visited: Int32Array;
  /** By option, moment of installation (start or middle of each period) and period: chance to have failed by its end. */
  readonly #newFailed: Float64Array;
  readonly #steadyToday: number;
  readonly #gridToday: number;
  #newFails = false;
  #visitMark = 0;
  #waiting: number[] = [];

  constructor(private readonly fleet: SimulationFleet) {
    const { heaters: N, periods: T, options, steadyKg, gridKg } = fleet;
    const O = options.length;
    this.#first = new Int32Array(T + 1);
    this.#next = new Int32Array(N);
    this.#device = new Uint8Array(N);
    this.#generation = new Uint8Array(N);
    this.#visited = new Int32Array(fleet.visitCents.length);
    this.#newFailed = new Float64Array(O * 2 * T * T);
    let steady = 0;
    let grid = 0;
    for (let i = 0; i < N; i++) {
      steady += steadyKg[i * (O + 1) + O];
      grid += gridKg[i * (O + 1) + O];
    }
    this.#steadyToday = steady;
    this.#gridToday = grid;
  }

  setNewLifetimes(lifetimes: readonly WeibullLifetime[] | null): void {
    this.#newFails = lifetimes !== null;
    if (lifetimes === null) return;
    const { periods: T, options, startsAfterYears, periodYears } = this.fleet;
    options.forEach((_, o) => {
      const { shape, scaleYears } = lifetimes[o];
      for (let p = 0; p < T; p++) {
        for (let half = 0; half < 2; half++) {
          const installed = startsAfterYears[p] + (half / 2) * periodYears[p];
          const row = ((o * 2 + half) * T + p) * T;
          for (let q = p; q < T; q++) {
            const age = startsAfterYears[q] + periodYears[q] - installed;
            this.#newFailed[row + q] = -Math.expm1(-((age / scaleYears) ** shape));
          }
        }
      }
    });
  }

  /** @param times period of each heater's first failure, the number of periods for none */
  run(
    strategy: SimulatedStrategy,
    times: Uint8Array,
    key: number,
    record: TrialRecord,
    trial: number,
  ): void {
    const { fleet } = this;
    const { heaters: N, periods: T, years, yearOf, steadyKg, gridKg } = fleet;
    const { replacedIn, option, capitalCents, hours, rank, due, isLimited } = strategy;
    const O = fleet.options.length;
    const columns = O + 1;
    const first = this.#first;
    const next = this.#next;
    const device = this.#device;
    const waiting = this.#waiting;
    waiting.length = 0;
    first.fill(-1);
    device.fill(O);
    this.#generation.fill(0);
    for (let i = 0; i < N; i++) {
      const t = times[i];
      if (t >= replacedIn[i] || t >= T) continue;
      next[i] = first[t];
      first[t] = i;
    }

    let steady = this.#steadyToday;
    let grid = this.#gridToday;
    let year = -1;
    let available = Number.POSITIVE_INFINITY;
    let spent = 0;
    for (let t = 0; t < T; t++) {
      if (yearOf[t] !== year) {
        const left = year < 0 ? 0 : available - spent;
        const carried = left === Number.POSITIVE_INFINITY ? 0 : left;
        // What a year has spent above its money is taken from the next in full.
        const share = carried > 0 ? fleet.carryOver[year] : 1;
        year = yearOf[t];
        available = fleet.budgetCents[year] + share * carried;
        spent = 0;
      }
      const at = trial * years.length + year;
      let hoursUsed = 0;
      let steadyHalf = 0;
      let gridHalf = 0;

      const fail = () => {
        while (first[t] >= 0) {
          const i = first[t];
          first[t] = next[i];
          const old = device[i];
          const o = old === O ? fleet.emergencyOption[i * T + t] : old;
          const swap = (old === O ? fleet.firstSwapCents : fleet.likeSwapCents)[i * O + o];
          const cents = swap * fleet.installIndex[o * T + t] + fleet.consequenceCents[i];
          spent += cents;
          record.spend[at] += cents;
          record.emergencyCents[at] += cents;
          record.emergencies[at] += 1;
          record.homeDays[at] += fleet.homeDays[i];
          hoursUsed += fleet.swapHours[i * O + o];
          steadyHalf += steadyKg[i * columns + o] - steadyKg[i * columns + old];
          gridHalf += gridKg[i * columns + o] - gridKg[i * columns + old];
          device[i] = o;
          this.#install(i, o, t, 1, key);
        }
      };
      const swap = (i: number): boolean => {
        const b = fleet.building[i];
        const isNewVisit = this.#visited[b] !== this.#visitMark;
        const cents = capitalCents[i] + (isNewVisit ? fleet.visitCents[b] : 0);
        if (
          isLimited &&
          (spent + cents > available + SLACK || hoursUsed + hours[i] > fleet.crewHours[t] + SLACK)
        ) {
          return false;
        }
        this.#visited[b] = this.#visitMark;
        spent += cents;
        record.spend[at] += cents;
        hoursUsed += hours[i];
        const o = option[i];
        steady += steadyKg[i * columns + o] - steadyKg[i * columns + O];
        grid += gridKg[i * columns + o] - gridKg[i * columns + O];
        device[i] = o;
        this.#install(i, o, t, 0, key);
        return true;
      };

      // Emergencies have the first call on the period's money and hours.
      fail();
      spent += strategy.upgradeCents[t];
      record.spend[at] += strategy.upgradeCents[t];

      this.#visitMark++;
      const planned = due[t];
      if (waiting.length === 0) {
        for (let k = 0; k < planned.length; k++) {
          const i = planned[k];
          if (times[i] < t || swap(i)) continue;
          record.putOff++;
          waiting.push(i);
        }
      } else {
        const candidates = waiting.slice();
        for (let k = 0; k < planned.length; k++) candidates.push(planned[k]);
        candidates.sort((a, b) => rank[a] - rank[b]);
        waiting.length = 0;
        for (const i of candidates) {
          if (times[i] < t || swap(i)) continue;
          if (replacedIn[i] === t) record.putOff++;
          waiting.push(i);
        }
      }
      for (const i of waiting) {
        if (times[i] !== t) continue;
        next[i] = first[t];
        first[t] = i;
      }
      fail();

      record.kg[at] +=
        fleet.periodYears[t] *
        (steady + steadyHalf / 2 + (grid + gridHalf / 2) * fleet.gridIndex[t]);
      steady += steadyHalf;
      grid += gridHalf;
    }
  }

  /** A new heater: the period in which it fails, if it does, joins the chains. */
  #install(i: number, o: number, t: number, half: 0 | 1, key: number): void {
    if (!this.#newFails) return;
    const T = this.fleet.periods;
    const generation = this.#generation[i]++;
    const chance = hashWord(key, i, generation) / 2 ** 32;
    const row = ((o * 2 + half) * T + t) * T;
    if (chance >= this.#newFailed[row + T - 1]) return;
    let q = t;
    while (chance >= this.#newFailed[row + q]) q++;
    this.#next[i] = this.#first[q];
    this.#first[q] = i;
  }
}
