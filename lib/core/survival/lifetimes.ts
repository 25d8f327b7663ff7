import { requireAtLeastZero, requireFinite } from "@/lib/core/shared/requirements";

/** One lifetime as it was observed, in years of age. */
export type ObservedLifetime = {
  /** Age from which it was watched (left truncation); 0 when from its start. */
  readonly entry: number;
  /** Age when it was last known alive; for a failure at an exact age, that age. */
  readonly lower: number;
  /**
   * `failed`: failed at `lower` exactly. `failed-within`: failed after `lower` and by `upper`.
   * `alive`: was alive at `lower`, then no longer watched.
   */
  readonly outcome: "failed" | "failed-within" | "alive";
  /** End of the bracket of a failure known only to a bracket. */
  readonly upper: number;
  /** Covariates, in the order of the columns' names. */
  readonly x: readonly number[];
};

/** Lifetimes as columns, for passes over many. */
export type LifetimeColumns = {
  readonly count: number;
  readonly covariates: readonly string[];
  /** Row by row: `x[i * covariates.length + j]`. */
  readonly x: Float64Array;
  /** ln(entry), −Infinity for 0. */
  readonly logEntry: Float64Array;
  /** ln(lower), −Infinity for 0. */
  readonly logLower: Float64Array;
  /** ln(upper); used for `failed-within` only. */
  readonly logUpper: Float64Array;
  /** {@link ALIVE}, {@link FAILED} or {@link FAILED_WITHIN}. */
  readonly outcome: Uint8Array;
};

export const ALIVE = 0;
export const FAILED = 1;
export const FAILED_WITHIN = 2;

/**
 * Lifetimes as columns.
 * @throws {RangeError} when an age is negative or a covariate is missing or not finite
 */
export function lifetimeColumns(
  covariates: readonly string[],
  lifetimes: readonly ObservedLifetime[],
): LifetimeColumns {
  const count = lifetimes.length;
  const width = covariates.length;
  const columns = {
    count,
    covariates,
    x: new Float64Array(count * width),
    logEntry: new Float64Array(count),
    logLower: new Float64Array(count),
    logUpper: new Float64Array(count),
    outcome: new Uint8Array(count),
  };
  lifetimes.forEach((lifetime, i) => {
    columns.logEntry[i] = Math.log(requireAtLeastZero("entry", lifetime.entry));
    columns.logLower[i] = Math.log(requireAtLeastZero("lower", lifetime.lower));
    columns.logUpper[i] = Math.log(requireAtLeastZero("upper", lifetime.upper));
    columns.outcome[i] = outcomeCode(lifetime.outcome);
    for (let j = 0; j < width; j++) {
      columns.x[i * width + j] = requireFinite(covariates[j], lifetime.x[j]);
    }
  });
  return columns;
}

function outcomeCode(outcome: ObservedLifetime["outcome"]): number {
  switch (outcome) {
    case "alive":
      return ALIVE;
    case "failed":
      return FAILED;
    case "failed-within":
      return FAILED_WITHIN;
  }
}

/** Every `stride`-th lifetime, for a cheap first look at many. */
export function thinColumns(columns: LifetimeColumns, stride: number): LifetimeColumns {
  const width = columns.covariates.length;
  const count = Math.ceil(columns.count / stride);
  const every = (values: Float64Array) =>
    Float64Array.from({ length: count }, (_, i) => values[i * stride]);
  return {
    count,
    covariates: columns.covariates,
    x: Float64Array.from(
      { length: count * width },
      (_, k) => columns.x[Math.floor(k / width) * stride * width + (k % width)],
    ),
    logEntry: every(columns.logEntry),
    logLower: every(columns.logLower),
    logUpper: every(columns.logUpper),
    outcome: Uint8Array.from({ length: count }, (_, i) => columns.outcome[i * stride]),
  };
}
