/**
 * Sample quantile by the R-7 method (linear between order statistics; the default of R and NumPy).
 *
 * @param sorted values in ascending order, not empty
 * @param probability from 0 to 1
 * @throws {RangeError} when the sample is empty or the probability is outside 0 to 1.
 */
export function quantileSorted(sorted: ArrayLike<number>, probability: number): number {
  if (sorted.length === 0) throw new RangeError("sorted must not be empty, got 0 values");
  if (!(probability >= 0 && probability <= 1)) {
    throw new RangeError(`probability must be from 0 to 1, got ${probability}`);
  }
  const position = (sorted.length - 1) * probability;
  const below = Math.floor(position);
  const above = Math.min(below + 1, sorted.length - 1);
  return sorted[below] + (position - below) * (sorted[above] - sorted[below]);
}

/** {@link quantileSorted} of values in any order; the values are not changed. */
export function quantile(values: Iterable<number>, probability: number): number {
  return quantileSorted(Float64Array.from(values).sort(), probability);
}
