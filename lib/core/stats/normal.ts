import { regularizedGammaP, regularizedGammaQ } from "./incomplete-gamma";

/**
 * Standard normal distribution function P(Z ≤ z), to about 14 digits, through the incomplete gamma
 * function: erf(x) = P(1/2, x²). Both tails keep their relative precision.
 */
export function normalCdf(z: number): number {
  const upper = 0.5 * regularizedGammaQ(0.5, (z * z) / 2);
  if (z < -1) return upper;
  if (z > 1) return 1 - upper;
  const half = 0.5 * regularizedGammaP(0.5, (z * z) / 2);
  return z >= 0 ? 0.5 + half : 0.5 - half;
}

/**
 * The z below which a standard normal falls with probability `probability`.
 *
 * Acklam's rational approximation (relative error below 1.15e-9) and one Halley step on
 * {@link normalCdf}, which brings it to about 14 digits.
 * @throws {RangeError} when the probability is not strictly between 0 and 1.
 */
export function normalQuantile(probability: number): number {
  if (!(probability > 0 && probability < 1)) {
    throw new RangeError(`probability must be between 0 and 1, got ${probability}`);
  }
  const first = acklam(probability);
  const error = normalCdf(first) - probability;
  const step = error * Math.sqrt(2 * Math.PI) * Math.exp((first * first) / 2);
  return first - step / (1 + (first * step) / 2);
}

const CENTRAL_NUMERATOR = [
  -3.969683028665376e1, 2.209460984245205e2, -2.759285104469687e2, 1.38357751867269e2,
  -3.066479806614716e1, 2.506628277459239,
];
const CENTRAL_DENOMINATOR = [
  -5.447609879822406e1, 1.615858368580409e2, -1.556989798598866e2, 6.680131188771972e1,
  -1.328068155288572e1, 1,
];
const TAIL_NUMERATOR = [
  -7.784894002430293e-3, -3.223964580411365e-1, -2.400758277161838, -2.549732539343734,
  4.374664141464968, 2.938163982698783,
];
const TAIL_DENOMINATOR = [
  7.784695709041462e-3, 3.224671290700398e-1, 2.445134137142996, 3.754408661907416, 1,
];
const TAIL_STARTS_AT = 0.02425;

function acklam(probability: number): number {
  if (probability > 1 - TAIL_STARTS_AT) return -acklam(1 - probability);
  if (probability < TAIL_STARTS_AT) {
    const q = Math.sqrt(-2 * Math.log(probability));
    return polynomial(TAIL_NUMERATOR, q) / polynomial(TAIL_DENOMINATOR, q);
  }
  const q = probability - 0.5;
  const r = q * q;
  return (polynomial(CENTRAL_NUMERATOR, r) * q) / polynomial(CENTRAL_DENOMINATOR, r);
}

/** Horner's scheme, highest power first. */
function polynomial(coefficients: readonly number[], x: number): number {
  let value = 0;
  for (const coefficient of coefficients) value = value * x + coefficient;
  return value;
}
