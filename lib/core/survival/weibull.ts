import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";
import { gamma } from "@/lib/core/stats/gamma";

/**
 * Weibull law of a lifetime, S(e) = exp(−(e / scaleYears) ^ shape), where e is age in years of
 * wear (see exposure.ts; years of age when nothing speeds wear up or slows it down).
 */
export type WeibullLifetime = {
  /** Above 1, old heaters fail faster than new ones. No unit. */
  readonly shape: number;
  /** Wear by which 63.2 % have failed, in years. */
  readonly scaleYears: number;
};

/** Cumulative hazard H(e) = −ln S(e), no unit. `exposureYears` zero or more, else NaN. */
export function cumulativeHazard(
  { shape, scaleYears }: WeibullLifetime,
  exposureYears: number,
): number {
  return (exposureYears / scaleYears) ** shape;
}

/** Share that is still alive after `exposureYears` of wear. */
export function survival(lifetime: WeibullLifetime, exposureYears: number): number {
  return Math.exp(-cumulativeHazard(lifetime, exposureYears));
}

/**
 * Chance that a heater alive after `exposureYears` of wear fails within `addedYears` more of it:
 * 1 − S(e + a) / S(e), taken through hazards because both survival values underflow for very old
 * heaters.
 *
 * @returns probability from 0 to 1
 * @throws {RangeError} when a parameter is not above zero or a time is below zero
 */
export function failureProbability(
  lifetime: WeibullLifetime,
  { exposureYears, addedYears }: { readonly exposureYears: number; readonly addedYears: number },
): number {
  requireLifetime(lifetime);
  requireAtLeastZero("exposureYears", exposureYears);
  requireAtLeastZero("addedYears", addedYears);
  return -Math.expm1(
    cumulativeHazard(lifetime, exposureYears) -
      cumulativeHazard(lifetime, exposureYears + addedYears),
  );
}

/**
 * Wear still to come, in years, after which half of the heaters alive now will have failed:
 * η · (H(e) + ln 2)^(1/β) − e, written so that it keeps its digits when H(e) is large.
 *
 * @throws {RangeError} when a parameter is not above zero or the exposure is below zero
 */
export function medianRemaining(lifetime: WeibullLifetime, exposureYears: number): number {
  requireLifetime(lifetime);
  requireAtLeastZero("exposureYears", exposureYears);
  const { shape, scaleYears } = lifetime;
  const hazard = cumulativeHazard(lifetime, exposureYears);
  if (hazard < 1) return scaleYears * (hazard + Math.LN2) ** (1 / shape) - exposureYears;
  return exposureYears * Math.expm1(Math.log1p(Math.LN2 / hazard) / shape);
}

/** Mean life η · Γ(1 + 1/β) in years of wear. */
export function meanLife({ shape, scaleYears }: WeibullLifetime): number {
  return scaleYears * gamma(1 + 1 / shape);
}

/** The lifetime of a given shape whose mean is `meanYears`. */
export function lifetimeOfMean({
  shape,
  meanYears,
}: {
  readonly shape: number;
  readonly meanYears: number;
}): WeibullLifetime {
  requirePositive("shape", shape);
  requirePositive("meanYears", meanYears);
  return { shape, scaleYears: meanYears / gamma(1 + 1 / shape) };
}

function requireLifetime({ shape, scaleYears }: WeibullLifetime): void {
  requirePositive("shape", shape);
  requirePositive("scaleYears", scaleYears);
}
