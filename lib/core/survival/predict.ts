import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import type { AgeingHeater } from "./exposure";
import { failureAhead, type LifeAsOf, lifeAsOf, wearAhead } from "./life-as-of";
import type { AgeingModel, SurvivalModel } from "./model";
import { cumulativeHazard, medianRemaining } from "./weibull";

/** What a model says of one heater that is in service today. */
export type FailureForecast = {
  /** Expected age in years, given that it has lived until today. */
  readonly ageYears: number;
  /** True when the install day is a bracket or rests on an estimate. */
  readonly ageIsEstimated: boolean;
  /** Chance of failing within each horizon, 0 to 1, in the order asked. */
  readonly failureProbabilities: readonly number[];
  /** Years from today by which half of such heaters have failed. */
  readonly medianRemainingYears: number;
};

/**
 * The chance that a heater alive today fails within each horizon, and its median remaining life.
 *
 * @param horizonsYears years from today, zero or more
 * @throws {RangeError} when a horizon is below zero
 */
export function forecastFailure(
  model: SurvivalModel,
  heater: AgeingHeater,
  {
    today,
    horizonsYears,
  }: { readonly today: CalendarDay; readonly horizonsYears: readonly number[] },
): FailureForecast {
  for (const years of horizonsYears) requireAtLeastZero("horizonsYears", years);
  const life = lifeAsOf(model, heater, today);
  return {
    ageYears: life.ageYears,
    ageIsEstimated: life.ageIsEstimated,
    failureProbabilities: horizonsYears.map((years) => failureAhead(life, years)),
    medianRemainingYears: medianRemainingAhead(life),
  };
}

/** Years until survival from today falls to one half. */
export function medianRemainingAhead(life: LifeAsOf): number {
  const steady = life.path.rates.length === 1 && life.weights.length === 1;
  if (steady) return medianRemaining(life.lifetime, life.exposureYears[0]) / life.path.rates[0];
  let low = 0;
  let high = 1;
  while (failureAhead(life, high) < 0.5) {
    low = high;
    high *= 2;
  }
  // Bisection: the curve falls steadily but has kinks where the rate of wear changes.
  while (high - low > 1e-9 * (1 + high)) {
    const middle = (low + high) / 2;
    if (failureAhead(life, middle) < 0.5) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Chance of failing in each period, given that the heater is alive at the period's start.
 *
 * @param periodEndsYears ends of the periods in years from today, rising, the first period starting
 *   today
 * @throws {RangeError} when the ends do not rise from zero
 */
export function conditionalFailures(
  model: AgeingModel,
  heater: AgeingHeater,
  today: CalendarDay,
  periodEndsYears: readonly number[],
): Float64Array {
  const life = lifeAsOf(model, heater, today);
  const { lifetime, exposureYears } = life;
  const conditional = new Float64Array(periodEndsYears.length);
  // Weights given survival to the period's start, kept as logarithms until used.
  const logAlive = life.weights.map(Math.log);
  let hazards = exposureYears.map((exposure) => cumulativeHazard(lifetime, exposure));
  let start = 0;
  for (let k = 0; k < periodEndsYears.length; k++) {
    const end = periodEndsYears[k];
    if (!(end > start)) throw new RangeError(`periodEndsYears must rise from zero, got ${end}`);
    const added = wearAhead(life, end);
    const ends = exposureYears.map((exposure) => cumulativeHazard(lifetime, exposure + added));
    const most = Math.max(...logAlive);
    let alive = 0;
    let failed = 0;
    for (let i = 0; i < hazards.length; i++) {
      const weight = Math.exp(logAlive[i] - most);
      alive += weight;
      failed -= weight * Math.expm1(hazards[i] - ends[i]);
      logAlive[i] += hazards[i] - ends[i];
    }
    conditional[k] = Math.min(1, failed / alive);
    hazards = ends;
    start = end;
  }
  return conditional;
}

/** A fleet as columns, for a pass over many heaters. Rows of heater i: `rowStart[i]` to `rowStart[i+1]`. */
export type FleetColumns = {
  readonly rowStart: Uint32Array;
  /** Wear gathered so far, in years: one row where the install day is known, several in a bracket. */
  readonly exposureYears: Float64Array;
  /** Probability of each row within its heater. */
  readonly weights: Float64Array;
  /** Per heater: wear gathered in the next 12 months, in years. */
  readonly addedYears: Float64Array;
  readonly shape: Float64Array;
  readonly scaleYears: Float64Array;
};

/** Columns of a fleet as of today, in the order of `heaters`. */
export function fleetColumns(
  model: SurvivalModel,
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
): FleetColumns {
  const lives = heaters.map((heater) => lifeAsOf(model, heater, today));
  const rowStart = new Uint32Array(heaters.length + 1);
  lives.forEach((life, i) => {
    rowStart[i + 1] = rowStart[i] + life.weights.length;
  });
  const rows = rowStart[heaters.length];
  const columns = {
    rowStart,
    exposureYears: new Float64Array(rows),
    weights: new Float64Array(rows),
    addedYears: new Float64Array(heaters.length),
    shape: new Float64Array(heaters.length),
    scaleYears: new Float64Array(heaters.length),
  };
  lives.forEach((life, i) => {
    columns.exposureYears.set(life.exposureYears, rowStart[i]);
    columns.weights.set(life.weights, rowStart[i]);
    columns.addedYears[i] = wearAhead(life, 1);
    columns.shape[i] = life.lifetime.shape;
    columns.scaleYears[i] = life.lifetime.scaleYears;
  });
  return columns;
}

/** Chance of failing within 12 months for every heater of the columns, in their order. */
export function failureProbabilities12Months(columns: FleetColumns): Float64Array {
  const { rowStart, exposureYears, weights, addedYears, shape, scaleYears } = columns;
  const probabilities = new Float64Array(addedYears.length);
  for (let i = 0; i < probabilities.length; i++) {
    const inverseScale = 1 / scaleYears[i];
    const added = addedYears[i];
    const power = shape[i];
    let probability = 0;
    for (let row = rowStart[i]; row < rowStart[i + 1]; row++) {
      const before = (exposureYears[row] * inverseScale) ** power;
      const after = ((exposureYears[row] + added) * inverseScale) ** power;
      probability -= weights[row] * Math.expm1(before - after);
    }
    probabilities[i] = Math.min(1, probability);
  }
  return probabilities;
}

/** Order of a fleet from the most to the least likely to fail; equal probabilities by id. */
export function rankFleet(
  probabilities: Float64Array,
  heaters: readonly { readonly id: string }[],
): Uint32Array {
  const order = Uint32Array.from(heaters, (_, i) => i);
  return order.sort(
    (a, b) => probabilities[b] - probabilities[a] || (heaters[a].id < heaters[b].id ? -1 : 1),
  );
}

/** First failures among heaters in service today, in one year ahead. */
export type FailureCount = {
  readonly expected: number;
  /** Variance of the count, heaters failing independently (the model's own doubt is not in it). */
  readonly variance: number;
};

/**
 * First failures in each year ahead (the next 12 months, the 12 after, …) if no heater is replaced
 * before it fails: the mean and variance of a sum of independent yes-or-no outcomes.
 */
export function failureCounts(
  model: SurvivalModel,
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
  years: number,
): readonly FailureCount[] {
  const expected = new Float64Array(years);
  const variance = new Float64Array(years);
  for (const heater of heaters) {
    const life = lifeAsOf(model, heater, today);
    let before = 0;
    for (let year = 0; year < years; year++) {
      const by = failureAhead(life, year + 1);
      const within = Math.max(0, by - before);
      expected[year] += within;
      variance[year] += within * (1 - within);
      before = by;
    }
  }
  return Array.from(expected, (mean, year) => ({ expected: mean, variance: variance[year] }));
}

/** Expected first failures in each year ahead; see {@link failureCounts}. */
export function expectedFailures(
  model: SurvivalModel,
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
  years: number,
): number[] {
  return failureCounts(model, heaters, today, years).map(({ expected }) => expected);
}
