import { normalCdf } from "./normal";

/** Moments of a count of independent yes-or-no outcomes of different probabilities. */
export class CountMoments {
  mean = 0;
  variance = 0;
  /** Third central moment. */
  third = 0;

  /** Adds outcomes of the given probability, as many as said. */
  add(probability: number, outcomes = 1): void {
    const spread = outcomes * probability * (1 - probability);
    this.mean += outcomes * probability;
    this.variance += spread;
    this.third += spread * (1 - 2 * probability);
  }
}

const POISSON_BELOW_VARIANCE = 9;

/**
 * P(count ≤ `count`) of a count of independent yes-or-no outcomes, from its first three moments by
 * the refined normal approximation (Volkova 1996; Hong, Computational Statistics and Data Analysis
 * 59, 2013), or as Poisson where its variance is below 9.
 */
export function countCdf(count: number, { mean, variance, third }: CountMoments): number {
  if (count < 0) return 0;
  if (variance >= POISSON_BELOW_VARIANCE) {
    const x = (count + 0.5 - mean) / Math.sqrt(variance);
    const skewness = third / variance ** 1.5;
    const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
    return Math.min(1, Math.max(0, normalCdf(x) + (skewness * (1 - x * x) * density) / 6));
  }
  let term = Math.exp(-mean);
  let sum = term;
  for (let k = 1; k <= count; k++) {
    term *= mean / k;
    sum += term;
  }
  return Math.min(1, sum);
}

/**
 * Smallest count reached with at least the probability, when it is equally likely to follow any of
 * the given distributions.
 */
export function countQuantile(distributions: readonly CountMoments[], probability: number): number {
  const reached = (count: number): number =>
    distributions.reduce((sum, moments) => sum + countCdf(count, moments), 0) /
    distributions.length;
  let low = -1;
  let high = 1;
  while (reached(high) < probability) high *= 2;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (reached(middle) < probability) low = middle;
    else high = middle;
  }
  return high;
}
