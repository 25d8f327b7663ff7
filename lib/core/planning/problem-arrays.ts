import { fitsAlone } from "./fits-alone";
import { budgetYearsOf, type PlanAssignment, type PlanProblem, type PlanSchedule } from "./problem";

/**
 * A {@link PlanProblem} as typed arrays, which is what the solvers read: heaters stand together by
 * building, choices together by heater. Limits that do not exist are Infinity. A million heaters with
 * 45 choices each take about 2 GB in this form; as objects they would not fit.
 *
 * Locks are applied (a committed heater has one choice left), and choices that can be in no plan or
 * are never needed are gone; `fitsAlone` and {@link isDominated} say which.
 */
export type ProblemArrays = {
  readonly periodCount: number;
  readonly yearCount: number;
  readonly buildingCount: number;
  readonly heaterCount: number;
  readonly yearOfPeriod: Int32Array;
  readonly discount: Float64Array;
  /**
   * Budgets with carry-over, as rows: Σ_j weight[k·years + j] · spent_j ≤ budgetLimit[k]. What is left
   * of a year moves on by its share, so that a year's row holds the years before it by the product of
   * the shares between them.
   */
  readonly budgetLimit: Float64Array;
  readonly budgetWeight: Float64Array;
  readonly crewLimit: Float64Array;
  readonly emissionCapKg: number;
  /** Infinity when nothing may be above the cap. */
  readonly excessCentsPerKg: number;

  readonly heaterStart: Int32Array;
  readonly headroom: Float64Array;
  /** Infinity where no upgrade is possible. */
  readonly upgradeCents: Float64Array;
  readonly upgradeAdds: Float64Array;
  readonly mobilisationCents: Float64Array;

  readonly choiceStart: Int32Array;
  /** Infinity where leaving the heater is not allowed. */
  readonly neverCost: Float64Array;
  readonly neverKg: Float64Array;

  readonly cost: Float64Array;
  readonly capital: Float64Array;
  readonly hours: Float64Array;
  readonly circuit: Float64Array;
  readonly kg: Float64Array;
  readonly period: Int16Array;
};

/** The arrays with the way back to the problem they came from. */
export type IndexedProblem = {
  readonly arrays: ProblemArrays;
  /** Position of each heater of the arrays in `problem.heaters`. */
  readonly sourceHeater: Int32Array;
  /** Position of each choice of the arrays in its heater's `choices`. */
  readonly sourceChoice: Int32Array;
};

/** A plan by positions: for each heater its choice's position in the arrays, or -1 for never. */
export type ChosenArrays = {
  readonly choice: Int32Array;
  /** Period of each building's upgrade, or -1. */
  readonly upgrade: Int16Array;
};

/**
 * @throws {RangeError} for a problem that `findProblemFaults` finds fault with.
 */
export function toArrays(problem: PlanProblem): IndexedProblem {
  const periodIndex = new Map(problem.periods.map(({ id }, index) => [id, index]));
  const buildingIndex = new Map(problem.buildings.map(({ id }, index) => [id, index]));
  const lookUp = (map: ReadonlyMap<string, number>, kind: string, id: string): number => {
    const index = map.get(id);
    if (index === undefined) throw new RangeError(`there is no ${kind} "${id}"`);
    return index;
  };

  const heaterCount = problem.heaters.length;
  const buildingCount = problem.buildings.length;
  const heaterStart = new Int32Array(buildingCount + 1);
  const buildingOf = new Int32Array(heaterCount);
  problem.heaters.forEach((heater, index) => {
    buildingOf[index] = lookUp(buildingIndex, "building", heater.building);
    heaterStart[buildingOf[index] + 1]++;
  });
  for (let b = 0; b < buildingCount; b++) heaterStart[b + 1] += heaterStart[b];
  const sourceHeater = new Int32Array(heaterCount);
  const next = heaterStart.slice(0, buildingCount);
  for (let i = 0; i < heaterCount; i++) sourceHeater[next[buildingOf[i]]++] = i;

  const budgets = budgetRows(problem);
  const crewLimit = Float64Array.from(
    problem.periods,
    ({ id }) => problem.crewHours[id] ?? Number.POSITIVE_INFINITY,
  );
  const limited = {
    capital: budgets.limit.some(Number.isFinite),
    hours: crewLimit.some(Number.isFinite),
    kg: problem.emissionCap !== null,
  };

  const fits = fitsAlone(problem);
  const ofPeriod: number[][] = problem.periods.map(() => []);
  const neverCost = new Float64Array(heaterCount);
  const neverKg = new Float64Array(heaterCount);
  const choiceStart = new Int32Array(heaterCount + 1);
  const keptHeater: Int32Array[] = [];
  for (let i = 0; i < heaterCount; i++) {
    const heater = problem.heaters[sourceHeater[i]];
    const { lock } = heater;
    const neverAllowed = heater.never !== null && (lock === null || lock === "never");
    neverCost[i] = neverAllowed && heater.never ? heater.never.costCents : Number.POSITIVE_INFINITY;
    neverKg[i] = heater.never?.kg ?? 0;
    const kept: number[] = [];
    if (lock !== null) {
      if (lock !== "never") {
        const at = heater.choices.findIndex(
          ({ option, period }) => option === lock.option && period === lock.period,
        );
        if (at < 0) throw new RangeError(`heater "${heater.id}" is locked to no choice of its own`);
        kept.push(at);
      }
    } else {
      const headroomMatters = problem.buildings[buildingOf[sourceHeater[i]]].headroom !== null;
      const limits = { ...limited, circuit: headroomMatters };
      for (const each of ofPeriod) each.length = 0;
      heater.choices.forEach((choice, at) => {
        if (!fits(heater, choice)) return;
        ofPeriod[lookUp(periodIndex, "period", choice.period)].push(at);
      });
      for (const rivals of ofPeriod) {
        for (const at of rivals) if (!isDominated(heater, at, limits, rivals)) kept.push(at);
      }
      kept.sort((a, b) => a - b);
    }
    keptHeater.push(Int32Array.from(kept));
    choiceStart[i + 1] = choiceStart[i] + kept.length;
  }

  const choiceCount = choiceStart[heaterCount];
  const sourceChoice = new Int32Array(choiceCount);
  const cost = new Float64Array(choiceCount);
  const capital = new Float64Array(choiceCount);
  const hours = new Float64Array(choiceCount);
  const circuit = new Float64Array(choiceCount);
  const kg = new Float64Array(choiceCount);
  const period = new Int16Array(choiceCount);
  for (let i = 0, j = 0; i < heaterCount; i++) {
    for (const at of keptHeater[i]) {
      const choice = problem.heaters[sourceHeater[i]].choices[at];
      sourceChoice[j] = at;
      cost[j] = choice.costCents;
      capital[j] = choice.capitalCents;
      hours[j] = choice.hours;
      circuit[j] = choice.circuit;
      kg[j] = choice.kg;
      period[j] = lookUp(periodIndex, "period", choice.period);
      j++;
    }
  }

  const years = budgetYearsOf(problem);
  const yearIndex = new Map(years.map((year, index) => [year, index]));
  return {
    sourceHeater,
    sourceChoice,
    arrays: {
      periodCount: problem.periods.length,
      yearCount: years.length,
      buildingCount,
      heaterCount,
      yearOfPeriod: Int32Array.from(problem.periods, (each) =>
        lookUp(yearIndex, "budget year", each.budgetYear),
      ),
      discount: Float64Array.from(problem.periods, ({ discount }) => discount),
      budgetLimit: budgets.limit,
      budgetWeight: budgets.weight,
      crewLimit,
      emissionCapKg: problem.emissionCap?.kg ?? Number.POSITIVE_INFINITY,
      excessCentsPerKg: problem.emissionCap?.excessCentsPerKg ?? Number.POSITIVE_INFINITY,
      heaterStart,
      headroom: Float64Array.from(
        problem.buildings,
        ({ headroom }) => headroom ?? Number.POSITIVE_INFINITY,
      ),
      upgradeCents: Float64Array.from(
        problem.buildings,
        ({ upgrade }) => upgrade?.cents ?? Number.POSITIVE_INFINITY,
      ),
      upgradeAdds: Float64Array.from(problem.buildings, ({ upgrade }) => upgrade?.adds ?? 0),
      mobilisationCents: Float64Array.from(
        problem.buildings,
        ({ mobilisationCents }) => mobilisationCents,
      ),
      choiceStart,
      neverCost,
      neverKg,
      cost,
      capital,
      hours,
      circuit,
      kg,
      period,
    },
  };
}

/** The plan in the names of the problem, with the visits that its swaps need. */
export function toSchedule(
  problem: PlanProblem,
  { arrays, sourceHeater, sourceChoice }: IndexedProblem,
  chosen: ChosenArrays,
): PlanSchedule {
  const assignments: PlanAssignment[] = new Array(arrays.heaterCount);
  const upgrades: { building: string; period: string }[] = [];
  const mobilisations: { building: string; period: string }[] = [];
  for (let b = 0; b < arrays.buildingCount; b++) {
    const building = problem.buildings[b].id;
    const visited = new Uint8Array(arrays.periodCount);
    for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
      const heater = problem.heaters[sourceHeater[i]];
      const j = chosen.choice[i];
      if (j < 0) {
        assignments[sourceHeater[i]] = { heater: heater.id, never: true };
      } else {
        const { option, period } = heater.choices[sourceChoice[j]];
        assignments[sourceHeater[i]] = { heater: heater.id, option, period };
        visited[arrays.period[j]] = 1;
      }
    }
    if (chosen.upgrade[b] >= 0) {
      upgrades.push({ building, period: problem.periods[chosen.upgrade[b]].id });
    }
    if (arrays.mobilisationCents[b] > 0) {
      visited.forEach((yes, t) => {
        if (yes) mobilisations.push({ building, period: problem.periods[t].id });
      });
    }
  }
  return { assignments, upgrades, mobilisations };
}

/** The lines of a plan as positions; a heater whose line is not possible (any more) gets -2. */
export function fromAssignments(
  problem: PlanProblem,
  { arrays, sourceHeater, sourceChoice }: IndexedProblem,
  assignments: readonly PlanAssignment[],
): Int32Array {
  const lines = new Map(assignments.map((line) => [line.heater, line]));
  const choice = new Int32Array(arrays.heaterCount).fill(-2);
  for (let i = 0; i < arrays.heaterCount; i++) {
    const heater = problem.heaters[sourceHeater[i]];
    const line = lines.get(heater.id);
    if (!line) continue;
    if ("never" in line) {
      if (Number.isFinite(arrays.neverCost[i])) choice[i] = -1;
      continue;
    }
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      const { option, period } = heater.choices[sourceChoice[j]];
      if (option === line.option && period === line.period) choice[i] = j;
    }
  }
  return choice;
}

function budgetRows(problem: PlanProblem): { limit: Float64Array; weight: Float64Array } {
  const years = budgetYearsOf(problem);
  const count = years.length;
  const limit = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const weight = new Float64Array(count * count);
  years.forEach((year, k) => {
    const budget = problem.budgets[year];
    if (!budget) return;
    limit[k] = budget.cents;
    weight[k * count + k] = 1;
    const before = k > 0 ? problem.budgets[years[k - 1]] : undefined;
    if (!before) return;
    limit[k] += before.carryOver * limit[k - 1];
    for (let j = 0; j < k; j++) {
      weight[k * count + j] = before.carryOver * weight[(k - 1) * count + j];
    }
  });
  return { limit, weight };
}

/**
 * A choice that never needs to be in an optimal plan: leaving the heater costs no more and emits no
 * more (it uses nothing), or another choice of the same period costs no more and uses no more of
 * every limit that exists. Of two equal choices the first listed stays.
 *
 * @param rivals positions of the possible choices of the same period
 */
function isDominated(
  heater: PlanProblem["heaters"][number],
  at: number,
  limited: {
    readonly capital: boolean;
    readonly hours: boolean;
    readonly kg: boolean;
    readonly circuit: boolean;
  },
  rivals: readonly number[],
): boolean {
  const mine = heater.choices[at];
  const { never } = heater;
  if (never !== null && never.costCents <= mine.costCents && (!limited.kg || never.kg <= mine.kg)) {
    return true;
  }
  for (const otherAt of rivals) {
    if (otherAt === at) continue;
    const other = heater.choices[otherAt];
    const noWorse =
      other.costCents <= mine.costCents &&
      (!limited.capital || other.capitalCents <= mine.capitalCents) &&
      (!limited.hours || other.hours <= mine.hours) &&
      (!limited.kg || other.kg <= mine.kg) &&
      (!limited.circuit || other.circuit <= mine.circuit);
    if (!noWorse) continue;
    const equal =
      other.costCents === mine.costCents &&
      (!limited.capital || other.capitalCents === mine.capitalCents) &&
      (!limited.hours || other.hours === mine.hours) &&
      (!limited.kg || other.kg === mine.kg) &&
      (!limited.circuit || other.circuit === mine.circuit);
    if (!equal || otherAt < at) return true;
  }
  return false;
}
