import type { ChosenArrays, ProblemArrays } from "@/lib/core/planning/problem-arrays";
import type { BuildingOracle, OracleAnswer } from "./building-oracle";
import {
  type CouplingRows,
  newPrices,
  newUse,
  type RowUse,
  setActivity,
  setPrices,
} from "./coupling";

/**
 * A plan in one pass: buildings decide one after the other at prices that follow what has been used so
 * far, as a controller would: a row that runs ahead becomes dearer, one that lags cheaper. What a
 * building should use is what it uses at the given multipliers, corrected by its share of what all of
 * them together are off. Where there are many buildings the result nearly meets every limit.
 *
 * @param multipliers near the best ones
 * @param base what the buildings answer to them
 * @param limit what is aimed at, by row
 * @param order the buildings
 */
export function planInSequence(
  arrays: ProblemArrays,
  rows: CouplingRows,
  oracle: BuildingOracle,
  {
    multipliers,
    base,
    limit,
    response,
    order,
  }: {
    readonly multipliers: Float64Array;
    readonly base: BaseAnswer;
    readonly limit: Float64Array;
    readonly response: PriceResponse;
    readonly order: Int32Array;
  },
): ChosenArrays {
  const position = new Int16Array(arrays.heaterCount);
  const upgrade = new Int16Array(arrays.buildingCount).fill(-1);
  const answer: OracleAnswer = { ...newUse(arrays), bound: 0, value: 0 };
  const expected = newUse(arrays);
  const activity = new Float64Array(rows.count);
  const target = new Float64Array(rows.count);
  const excess = new Float64Array(rows.count);
  // A controller with a proportional and an integral part: `steady` follows lasting deviations.
  const now = multipliers.slice();
  const steady = multipliers.slice();
  const drift = new Float64Array(rows.count);
  const prices = newPrices(arrays);
  let done = 0;
  // Share of the portfolio over which a deviation is taken back: about 60 buildings, fewer at the end.
  const window = Math.min(0.25, Math.max(0.01, 60 / Math.max(1, order.length)));
  for (const b of order) {
    const size = arrays.heaterStart[b + 1] - arrays.heaterStart[b];
    if (size === 0) continue;
    setPrices(arrays, rows, now, prices);
    oracle.evaluate(b, b + 1, prices, answer, position, 0, upgrade, 0);
    addBuildingUse(arrays, b, base.position, base.upgrade, expected);
    done += size;
    const progress = done / arrays.heaterCount;
    setActivity(arrays, rows, answer, activity);
    setActivity(arrays, rows, expected, target);
    const share = Math.max(window / 4, Math.min(window, 1 - progress));
    for (let r = 0; r < rows.count; r++) {
      const aim = target[r] + progress * (limit[r] - base.activity[r]);
      const off = (activity[r] - aim) / rows.scale[r] / share;
      excess[r] = steady[r] > 0 ? off : Math.max(0, off);
      drift[r] = (excess[r] * size) / (arrays.heaterCount * INTEGRAL_WINDOWS * window);
    }
    response.raise(steady, drift, rows.ceiling, steady);
    response.raise(steady, excess, rows.ceiling, now);
  }
  const choice = new Int32Array(arrays.heaterCount);
  for (let i = 0; i < arrays.heaterCount; i++) {
    choice[i] = position[i] < 0 ? -1 : arrays.choiceStart[i] + position[i];
  }
  return { choice, upgrade };
}

/** Lasting deviations are learnt over this many of the controller's windows. */
const INTEGRAL_WINDOWS = 4;

/** What all buildings answered to some multipliers. */
export type BaseAnswer = {
  readonly position: Int16Array;
  readonly upgrade: Int16Array;
  readonly activity: Float64Array;
};

/** Adds what a building's answer uses. */
export function addBuildingUse(
  arrays: ProblemArrays,
  b: number,
  position: Int16Array,
  upgrade: Int16Array,
  use: RowUse,
): void {
  const visited = new Uint8Array(arrays.periodCount);
  for (let i = arrays.heaterStart[b]; i < arrays.heaterStart[b + 1]; i++) {
    if (position[i] < 0) {
      use.kg += arrays.neverKg[i];
      continue;
    }
    const j = arrays.choiceStart[i] + position[i];
    const t = arrays.period[j];
    use.spent[arrays.yearOfPeriod[t]] += arrays.capital[j];
    use.hours[t] += arrays.hours[j];
    use.kg += arrays.kg[j];
    visited[t] = 1;
  }
  for (let t = 0; t < arrays.periodCount; t++) {
    if (visited[t] === 1) use.spent[arrays.yearOfPeriod[t]] += arrays.mobilisationCents[b];
  }
  if (upgrade[b] >= 0) use.spent[arrays.yearOfPeriod[upgrade[b]]] += arrays.upgradeCents[b];
}

/** Added to the measured response of each row to its own price, as a share of it: no step overshoots. */
const FIRST_RIDGE = 1;

/** How the use of every row answers to the multiplier of every row, measured on some buildings. */
export class PriceResponse {
  readonly #count: number;
  /** Multipliers to raise for one scaled unit of use too much in each row. */
  readonly #inverse: Float64Array;

  /**
   * @param share part of the portfolio that the buildings are
   */
  constructor(
    arrays: ProblemArrays,
    rows: CouplingRows,
    oracle: BuildingOracle,
    multipliers: Float64Array,
    buildings: readonly number[],
    share: number,
  ) {
    const n = rows.count;
    this.#count = n;
    const position = new Int16Array(arrays.heaterCount);
    const upgrade = new Int16Array(arrays.buildingCount);
    const prices = newPrices(arrays);
    const activityAt = (point: Float64Array): Float64Array => {
      const answer: OracleAnswer = { ...newUse(arrays), bound: 0, value: 0 };
      setPrices(arrays, rows, point, prices);
      for (const b of buildings) {
        oracle.evaluate(b, b + 1, prices, answer, position, 0, upgrade, 0);
      }
      const activity = new Float64Array(n);
      setActivity(arrays, rows, answer, activity);
      return activity;
    };
    const base = activityAt(multipliers);
    let typical = 0;
    for (const each of multipliers) typical = Math.max(typical, each);
    const matrix = new Float64Array(n * n);
    for (let r = 0; r < n; r++) {
      const step = Math.max(0.1 * multipliers[r], 0.02 * typical, 1e-9);
      const point = multipliers.slice();
      point[r] += step;
      const raised = activityAt(point);
      for (let q = 0; q < n; q++) {
        matrix[q * n + r] = (base[q] - raised[q]) / (rows.scale[q] * share * step);
      }
    }
    // The exact response is symmetric and positive semidefinite. The measured one is made so: halves of
    // both sides, and a ridge that grows until it is. Rows without a price answer for themselves only.
    let mean = 0;
    let priced = 0;
    for (let r = 0; r < n; r++) {
      if (multipliers[r] === 0) continue;
      mean += Math.max(0, matrix[r * n + r]);
      priced++;
    }
    mean = priced > 0 && mean > 0 ? mean / priced : 1 / Math.max(1, typical);
    const steady = new Float64Array(n * n);
    for (let r = 0; r < n; r++) {
      for (let q = 0; q < n; q++) {
        if (q === r || multipliers[r] === 0 || multipliers[q] === 0) continue;
        steady[q * n + r] = (matrix[q * n + r] + matrix[r * n + q]) / 2;
      }
      steady[r * n + r] = Math.max(matrix[r * n + r], 0.1 * mean);
    }
    let inverse: Float64Array | null = null;
    for (let ridge = FIRST_RIDGE; inverse === null; ridge *= 1.5) {
      const ridged = steady.slice();
      for (let r = 0; r < n; r++) ridged[r * n + r] *= 1 + ridge;
      inverse = inverseOfDefinite(ridged, n);
    }
    this.#inverse = inverse;
  }

  /** Multipliers raised from `from` so that the use falls by `excess`, within 0 and the ceilings. */
  raise(from: Float64Array, excess: Float64Array, ceiling: Float64Array, into: Float64Array): void {
    const n = this.#count;
    for (let r = 0; r < n; r++) {
      let value = from[r];
      for (let q = 0; q < n; q++) value += this.#inverse[r * n + q] * excess[q];
      into[r] = Math.min(Math.max(0, value), ceiling[r]);
    }
  }
}

/**
 * Inverse of a symmetric matrix by its Cholesky factor; null when it is not clearly positive definite
 * (a pivot below a hundredth of its diagonal).
 */
function inverseOfDefinite(matrix: Float64Array, n: number): Float64Array | null {
  const factor = new Float64Array(n * n);
  for (let c = 0; c < n; c++) {
    for (let r = c; r < n; r++) {
      let sum = matrix[r * n + c];
      for (let k = 0; k < c; k++) sum -= factor[r * n + k] * factor[c * n + k];
      if (r > c) factor[r * n + c] = sum / factor[c * n + c];
      else if (!(sum > 0.01 * matrix[c * n + c])) return null;
      else factor[c * n + c] = Math.sqrt(sum);
    }
  }
  const inverse = new Float64Array(n * n);
  const column = new Float64Array(n);
  for (let c = 0; c < n; c++) {
    for (let r = 0; r < n; r++) {
      let sum = r === c ? 1 : 0;
      for (let k = 0; k < r; k++) sum -= factor[r * n + k] * column[k];
      column[r] = sum / factor[r * n + r];
    }
    for (let r = n - 1; r >= 0; r--) {
      let sum = column[r];
      for (let k = r + 1; k < n; k++) sum -= factor[k * n + r] * inverse[k * n + c];
      inverse[r * n + c] = sum / factor[r * n + r];
    }
  }
  return inverse;
}
