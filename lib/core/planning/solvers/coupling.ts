import type { ProblemArrays } from "@/lib/core/planning/problem-arrays";

/**
 * The rows that tie buildings together: budgets, crews and the emission cap. Everything else belongs to
 * one building. A price on each row (a Lagrangian multiplier, at least zero) lets every building decide
 * alone; the rows are scaled so that one step is about as large in all of them.
 */
export type CouplingRows = {
  readonly count: number;
  /** What a row may use, in its own unit. */
  readonly limit: Float64Array;
  /** Natural unit of a row: multiplier = scaled multiplier / scale. */
  readonly scale: Float64Array;
  /** Largest scaled multiplier: the price of the excess over a soft cap, else Infinity. */
  readonly ceiling: Float64Array;
  /** Row of each budget year, of each period's crew, and of the cap; -1 without a limit. */
  readonly budgetRow: Int32Array;
  readonly crewRow: Int32Array;
  readonly emissionRow: number;
};

/** Prices that a building sees, present-value cents per unit. */
export type RowPrices = {
  /** For one cent spent in each period, besides its present value. */
  readonly capital: Float64Array;
  /** For one crew hour in each period. */
  readonly hours: Float64Array;
  kg: number;
};

/** What a plan uses of the coupling rows. */
export type RowUse = {
  readonly spent: Float64Array;
  readonly hours: Float64Array;
  kg: number;
};

export function couplingRows(arrays: ProblemArrays): CouplingRows {
  const budgetRow = new Int32Array(arrays.yearCount).fill(-1);
  const crewRow = new Int32Array(arrays.periodCount).fill(-1);
  const limit: number[] = [];
  for (let k = 0; k < arrays.yearCount; k++) {
    if (Number.isFinite(arrays.budgetLimit[k])) {
      budgetRow[k] = limit.push(arrays.budgetLimit[k]) - 1;
    }
  }
  for (let t = 0; t < arrays.periodCount; t++) {
    if (Number.isFinite(arrays.crewLimit[t])) crewRow[t] = limit.push(arrays.crewLimit[t]) - 1;
  }
  const capped = Number.isFinite(arrays.emissionCapKg);
  const emissionRow = capped ? limit.push(arrays.emissionCapKg) - 1 : -1;
  const count = limit.length;
  const ceiling = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const scale = Float64Array.from(limit, (value) => Math.max(1, Math.abs(value)));
  if (capped) {
    // Only the part of the emissions that choices can change says how far a step goes.
    scale[emissionRow] = Math.max(1, 0.25 * controllableKg(arrays));
    ceiling[emissionRow] = arrays.excessCentsPerKg * scale[emissionRow];
  }
  return {
    count,
    limit: Float64Array.from(limit),
    scale,
    ceiling,
    budgetRow,
    crewRow,
    emissionRow,
  };
}

/** Distance between the dirtiest and the cleanest choice, summed over the heaters. */
function controllableKg(arrays: ProblemArrays): number {
  let range = 0;
  for (let i = 0; i < arrays.heaterCount; i++) {
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    if (arrays.neverCost[i] < Number.POSITIVE_INFINITY) low = high = arrays.neverKg[i];
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      if (arrays.kg[j] < low) low = arrays.kg[j];
      if (arrays.kg[j] > high) high = arrays.kg[j];
    }
    if (high > low) range += high - low;
  }
  return range;
}

export function newPrices(arrays: ProblemArrays): RowPrices {
  return {
    capital: new Float64Array(arrays.periodCount),
    hours: new Float64Array(arrays.periodCount),
    kg: 0,
  };
}

export function newUse(arrays: ProblemArrays): RowUse {
  return {
    spent: new Float64Array(arrays.yearCount),
    hours: new Float64Array(arrays.periodCount),
    kg: 0,
  };
}

/** Prices from scaled multipliers. A cent spent in a year also counts in the rows it could move on to. */
export function pricesOf(
  arrays: ProblemArrays,
  rows: CouplingRows,
  multipliers: Float64Array,
): RowPrices {
  const prices = newPrices(arrays);
  setPrices(arrays, rows, multipliers, prices);
  return prices;
}

/** The same into `prices`. */
export function setPrices(
  arrays: ProblemArrays,
  rows: CouplingRows,
  multipliers: Float64Array,
  prices: RowPrices,
): void {
  const K = arrays.yearCount;
  const { capital, hours } = prices;
  capital.fill(0);
  for (let k = 0; k < K; k++) {
    const row = rows.budgetRow[k];
    if (row < 0 || multipliers[row] === 0) continue;
    const price = multipliers[row] / rows.scale[row];
    for (let t = 0; t < arrays.periodCount; t++) {
      capital[t] += price * arrays.budgetWeight[k * K + arrays.yearOfPeriod[t]];
    }
  }
  for (let t = 0; t < arrays.periodCount; t++) {
    const row = rows.crewRow[t];
    hours[t] = row >= 0 ? multipliers[row] / rows.scale[row] : 0;
  }
  const { emissionRow } = rows;
  prices.kg = emissionRow < 0 ? 0 : multipliers[emissionRow] / rows.scale[emissionRow];
}

/** What is used of each row, in the row's own unit. */
export function rowActivity(arrays: ProblemArrays, rows: CouplingRows, use: RowUse): Float64Array {
  const activity = new Float64Array(rows.count);
  setActivity(arrays, rows, use, activity);
  return activity;
}

/** The same into `activity`. */
export function setActivity(
  arrays: ProblemArrays,
  rows: CouplingRows,
  use: RowUse,
  activity: Float64Array,
): void {
  const K = arrays.yearCount;
  for (let k = 0; k < K; k++) {
    const row = rows.budgetRow[k];
    if (row < 0) continue;
    let sum = 0;
    for (let y = 0; y <= k; y++) sum += arrays.budgetWeight[k * K + y] * use.spent[y];
    activity[row] = sum;
  }
  for (let t = 0; t < arrays.periodCount; t++) {
    if (rows.crewRow[t] >= 0) activity[rows.crewRow[t]] = use.hours[t];
  }
  if (rows.emissionRow >= 0) activity[rows.emissionRow] = use.kg;
}

/**
 * Above the cost of any plan: every heater's dearest choice, every upgrade, a visit in every period. A
 * lower bound above it proves that there is no plan.
 */
export function costCeiling(arrays: ProblemArrays): number {
  let most = 0;
  const dearest = arrays.discount.reduce((a, b) => Math.max(a, b), 0);
  const visits = arrays.discount.reduce((a, b) => a + b, 0);
  for (let b = 0; b < arrays.buildingCount; b++) {
    if (Number.isFinite(arrays.upgradeCents[b])) most += arrays.upgradeCents[b] * dearest;
    most += arrays.mobilisationCents[b] * visits;
  }
  for (let i = 0; i < arrays.heaterCount; i++) {
    let cost = Number.NEGATIVE_INFINITY;
    if (arrays.neverCost[i] < Number.POSITIVE_INFINITY) cost = arrays.neverCost[i];
    for (let j = arrays.choiceStart[i]; j < arrays.choiceStart[i + 1]; j++) {
      if (arrays.cost[j] > cost) cost = arrays.cost[j];
    }
    most += cost;
  }
  return most;
}
