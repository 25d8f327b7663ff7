import { quantileSorted } from "@/lib/core/stats/quantile";

/** A figure over all trials: its mean, and the values that 10, 50 and 90 in 100 trials stay at or below. */
export type OutcomeBand = {
  readonly mean: number;
  readonly p10: number;
  readonly p50: number;
  readonly p90: number;
};

/** The band of a figure; `values` are put in order. */
export function bandOfTrials(values: Float64Array): OutcomeBand {
  let sum = 0;
  for (const value of values) sum += value;
  values.sort();
  return {
    mean: sum / values.length,
    p10: quantileSorted(values, 0.1),
    p50: quantileSorted(values, 0.5),
    p90: quantileSorted(values, 0.9),
  };
}

/** The band of each column of a table with one row a trial. */
export function bandsOfColumns(table: ArrayLike<number>, columns: number): readonly OutcomeBand[] {
  const trials = table.length / columns;
  const values = new Float64Array(trials);
  return Array.from({ length: columns }, (_, column) => {
    for (let n = 0; n < trials; n++) values[n] = table[n * columns + column];
    return bandOfTrials(values);
  });
}

/** The band of the sum of each row. */
export function bandOfRowSums(table: ArrayLike<number>, columns: number): OutcomeBand {
  const trials = table.length / columns;
  const values = new Float64Array(trials);
  for (let n = 0; n < trials; n++) {
    for (let column = 0; column < columns; column++) values[n] += table[n * columns + column];
  }
  return bandOfTrials(values);
}
