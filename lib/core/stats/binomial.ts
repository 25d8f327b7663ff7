import { normalQuantile } from "./normal";

export type Interval = { readonly lower: number; readonly upper: number };

/**
 * Interval for a proportion by Wilson's score method (Wilson 1927; method 3 of Newcombe, Statistics
 * in Medicine 17, 1998), without continuity correction.
 *
 * @param confidence such as 0.9
 * @throws {RangeError} when trials is not above zero or successes is outside 0 to trials
 */
export function wilsonInterval(successes: number, trials: number, confidence: number): Interval {
  if (!(trials > 0)) throw new RangeError(`trials must be above zero, got ${trials}`);
  if (!(successes >= 0 && successes <= trials)) {
    throw new RangeError(`successes must be from 0 to ${trials}, got ${successes}`);
  }
  const z = normalQuantile(0.5 + confidence / 2);
  const share = successes / trials;
  const centre = share + (z * z) / (2 * trials);
  const half = z * Math.sqrt((share * (1 - share)) / trials + (z * z) / (4 * trials * trials));
  const scale = 1 + (z * z) / trials;
  return {
    lower: successes === 0 ? 0 : Math.max(0, (centre - half) / scale),
    upper: successes === trials ? 1 : Math.min(1, (centre + half) / scale),
  };
}
