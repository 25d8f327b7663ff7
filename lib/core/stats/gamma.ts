import { requirePositive } from "@/lib/core/shared/requirements";

/** Coefficients of the Lanczos approximation for g = 7, n = 9 (Godfrey 2001). */
const LANCZOS_G = 7;
const LANCZOS = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313,
  -176.61502916214059, 12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6,
  1.5056327351493116e-7,
] as const;
const HALF_LOG_TWO_PI = 0.9189385332046727;

/**
 * Natural logarithm of the gamma function, for x above 0, to about 14 digits, by the Lanczos
 * approximation with the reflection formula below one half.
 * @throws {RangeError} when x is not above zero.
 */
export function logGamma(x: number): number {
  requirePositive("x", x);
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const shifted = x - 1;
  let sum: number = LANCZOS[0];
  for (let i = 1; i < LANCZOS.length; i++) sum += LANCZOS[i] / (shifted + i);
  const t = shifted + LANCZOS_G + 0.5;
  return HALF_LOG_TWO_PI + (shifted + 0.5) * Math.log(t) - t + Math.log(sum);
}

/** The gamma function for x above 0; overflows to Infinity above 171.6. */
export function gamma(x: number): number {
  return Math.exp(logGamma(x));
}
