import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";
import { logGamma } from "./gamma";

const MAX_TERMS = 10_000;
const PRECISION = 1e-16;

/**
 * Regularised lower incomplete gamma function P(a, x) = γ(a, x) / Γ(a): the distribution function
 * of a gamma variable with shape `a`. Series below x = a + 1, continued fraction above (Abramowitz
 * and Stegun 6.5.29 and 6.5.31).
 * @throws {RangeError} when a is not above zero or x is below zero.
 */
export function regularizedGammaP(a: number, x: number): number {
  check(a, x);
  return x < a + 1 ? lowerSeries(a, x) : 1 - upperFraction(a, x);
}

/** Q(a, x) = 1 − P(a, x), precise where it is small. */
export function regularizedGammaQ(a: number, x: number): number {
  check(a, x);
  return x < a + 1 ? 1 - lowerSeries(a, x) : upperFraction(a, x);
}

function check(a: number, x: number): void {
  requirePositive("a", a);
  requireAtLeastZero("x", x);
}

function lowerSeries(a: number, x: number): number {
  if (x === 0) return 0;
  let term = 1 / a;
  let sum = term;
  for (let n = 1; n < MAX_TERMS && term > sum * PRECISION; n++) {
    term *= x / (a + n);
    sum += term;
  }
  return sum * Math.exp(a * Math.log(x) - x - logGamma(a));
}

/** Lentz's method for the continued fraction. */
function upperFraction(a: number, x: number): number {
  if (x === Number.POSITIVE_INFINITY) return 0;
  const tiny = 1e-300;
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let fraction = d;
  for (let n = 1; n < MAX_TERMS; n++) {
    const coefficient = -n * (n - a);
    b += 2;
    d = 1 / guard(coefficient * d + b, tiny);
    c = guard(b + coefficient / c, tiny);
    const delta = d * c;
    fraction *= delta;
    if (Math.abs(delta - 1) < PRECISION * 4) break;
  }
  return fraction * Math.exp(a * Math.log(x) - x - logGamma(a));
}

const guard = (value: number, tiny: number): number => (Math.abs(value) < tiny ? tiny : value);
