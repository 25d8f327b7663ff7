import { requireAtLeastZero } from "@/lib/core/shared/requirements";

/**
 * How many heaters to keep ordered ahead, so that a failure is met from stock while the replacement of
 * the last one is still on its way. docs/methods/spares.md has the model, its source and an example.
 */

/** P(D ≤ count) of a Poisson count of the given mean. */
export function poissonCdf(count: number, mean: number): number {
  requireAtLeastZero("mean", mean);
  if (count < 0) return 0;
  // Terms as logarithms: e^−mean underflows beyond a mean of about 745.
  let logTerm = -mean;
  let sum = Math.exp(logTerm);
  for (let k = 1; k <= count; k++) {
    logTerm += Math.log(mean) - Math.log(k);
    sum += Math.exp(logTerm);
  }
  return Math.min(1, sum);
}

/** P(all failures of one lead time are met) from a stock, when each mean is equally likely. */
export function chanceAllMet(stock: number, means: readonly number[]): number {
  requireMeans(means);
  return means.reduce((total, mean) => total + poissonCdf(stock, mean), 0) / means.length;
}

/**
 * Share of failures that find a heater in stock, with one ordered for each one used: P(D ≤ stock − 1),
 * D the failures within a lead time (Palm's theorem; Feeney and Sherbrooke, Management Science 12,
 * 1966: the (S − 1, S) policy, whatever the spread of lead times).
 */
export function shareMetFromStock(stock: number, means: readonly number[]): number {
  requireMeans(means);
  const total = means.reduce((sum, mean) => sum + mean, 0);
  if (total === 0) return 1;
  // A failure is likelier to come where the mean is higher.
  return means.reduce((sum, mean) => sum + mean * poissonCdf(stock - 1, mean), 0) / total;
}

/**
 * Least stock with which all failures of the next lead time are met with at least the chance asked.
 * @param means expected failures within the lead time, each equally likely: one number, or one a draw of
 *   the risk model, so that its doubt counts
 * @param serviceLevel 0 up to, but not including, 1
 */
export function sparesNeeded(means: readonly number[], serviceLevel: number): number {
  requireMeans(means);
  if (!(serviceLevel >= 0 && serviceLevel < 1)) {
    throw new RangeError(`serviceLevel must be from 0 to below 1, got ${serviceLevel}`);
  }
  let stock = 0;
  while (chanceAllMet(stock, means) < serviceLevel) stock += 1;
  return stock;
}

/** One kind of heater to keep. */
export type SparesKind = {
  readonly kind: string;
  /** Heaters in service that would get this kind. */
  readonly heaters: number;
  /** Expected failures among them within the lead time. */
  readonly expected: number;
  readonly stock: number;
  /** Chance that every failure of the lead time is met. */
  readonly chanceAllMet: number;
  readonly shareMetFromStock: number;
};

/** What one heater adds: the kind it would get and its chance of failing within that kind's lead time. */
export type SparesDemand = { readonly kind: string; readonly failureProbability: number };

/**
 * Stock by kind. Failures are independent and rare within a lead time, so that their number is close
 * to Poisson (a bound on the error is the sum of the squared chances: Le Cam's inequality).
 *
 * @param doubt factors on the expected number, each equally likely: what the risk model does not know
 *   about itself; `[1]` for none
 */
export function planSpares(
  demands: readonly SparesDemand[],
  { serviceLevel, doubt }: { readonly serviceLevel: number; readonly doubt: readonly number[] },
): readonly SparesKind[] {
  requireMeans(doubt);
  const kinds = new Map<string, { heaters: number; expected: number }>();
  for (const { kind, failureProbability } of demands) {
    if (!(failureProbability >= 0 && failureProbability <= 1)) {
      throw new RangeError(`failureProbability must be from 0 to 1, got ${failureProbability}`);
    }
    const known = kinds.get(kind) ?? { heaters: 0, expected: 0 };
    known.heaters += 1;
    known.expected += failureProbability;
    kinds.set(kind, known);
  }
  return [...kinds]
    .map(([kind, { heaters, expected }]) => {
      const means = doubt.map((factor) => factor * expected);
      const stock = sparesNeeded(means, serviceLevel);
      return {
        kind,
        heaters,
        expected,
        stock,
        chanceAllMet: chanceAllMet(stock, means),
        shareMetFromStock: shareMetFromStock(stock, means),
      };
    })
    .sort((a, b) => b.expected - a.expected || (a.kind < b.kind ? -1 : 1));
}

function requireMeans(means: readonly number[]): void {
  if (means.length === 0) throw new RangeError("means must hold at least one number, got none");
  for (const mean of means) requireAtLeastZero("means", mean);
}
