import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";

/** One meter's period beside what the model says for the same heaters and days. */
export type MeteredPeriod = {
  readonly meteredUnits: number;
  readonly modelledUnits: number;
};

/** How far a property's model is from its meters: multiply modelled energy by `factor`. */
export type Calibration = {
  readonly factor: number;
  /** Band that holds the true factor with 90 % confidence; null when one period alone leaves it open. */
  readonly band90: readonly [low: number, high: number] | null;
  readonly periods: number;
};

/**
 * One factor per property from its meters: the ratio of all that was metered to all that was modelled.
 *
 * The ratio of sums weighs a long or cold period by its energy. Its standard error is that of a ratio
 * estimator, sqrt(Σ(metered − factor·modelled)² / (n·(n−1))) / mean modelled (Cochran, Sampling
 * Techniques, 3rd edition 1977, section 2.11, from memory); the band takes Student's t for n − 1
 * degrees. Periods of a year beside each other differ by season more than by chance: whole years make
 * the band honest.
 *
 * @throws {RangeError} without periods, for negative readings, or when the model says nothing was used.
 */
export function calibrate(periods: readonly MeteredPeriod[]): Calibration {
  const count = periods.length;
  requirePositive("number of periods", count);
  let metered = 0;
  let modelled = 0;
  for (const period of periods) {
    metered += requireAtLeastZero("meteredUnits", period.meteredUnits);
    modelled += requireAtLeastZero("modelledUnits", period.modelledUnits);
  }
  const factor = metered / requirePositive("sum of modelledUnits", modelled);
  if (count === 1) return { factor, band90: null, periods: 1 };
  const squares = periods.reduce(
    (sum, period) => sum + (period.meteredUnits - factor * period.modelledUnits) ** 2,
    0,
  );
  const error = Math.sqrt(squares / (count * (count - 1))) / (modelled / count);
  const reach = studentT95(count - 1) * error;
  return { factor, band90: [Math.max(0, factor - reach), factor + reach], periods: count };
}

/** 95th percentile of Student's t by degrees of freedom, from any statistics table. */
const T95: readonly number[] = [
  6.314, 2.92, 2.353, 2.132, 2.015, 1.943, 1.895, 1.86, 1.833, 1.812, 1.796, 1.782, 1.771, 1.761,
  1.753, 1.746, 1.74, 1.734, 1.729, 1.725, 1.721, 1.717, 1.714, 1.711, 1.708, 1.706, 1.703, 1.701,
  1.699, 1.697,
];

/** Beyond the table the normal limit with its first correction, z + (z³ + z) / (4·degrees). */
function studentT95(degrees: number): number {
  const z = 1.6449;
  return T95[degrees - 1] ?? z + (z ** 3 + z) / (4 * degrees);
}
