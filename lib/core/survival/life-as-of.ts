import type { InstallDay } from "@/lib/core/heaters/heater";
import type { InstallEvidence } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR, dayNumber } from "@/lib/core/shared/calendar-day";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import {
  type AgeingHeater,
  type CovariateHistory,
  covariateHistory,
  type WearPath,
  wearBetween,
} from "./exposure";
import { type AgeingModel, wearPath } from "./model";
import { cumulativeHazard, type WeibullLifetime } from "./weibull";

/** Where a heater stands in its life on a day: how much wear it may have, and how wear goes on. */
export type LifeAsOf = {
  readonly lifetime: WeibullLifetime;
  /** Expected age in years, given that it has lived until the day. */
  readonly ageYears: number;
  /** True when the install day is a bracket or rests on an estimate. */
  readonly ageIsEstimated: boolean;
  /** Possible amounts of wear gathered so far, in years; one when the install day is known. */
  readonly exposureYears: Float64Array;
  /** Probability of each, given that the heater has lived until the day. They sum to 1. */
  readonly weights: Float64Array;
  /** Wear from the day on. */
  readonly path: WearPath;
  readonly day: number;
};

/**
 * Where a heater stands on `today`. An install day known only to a bracket is integrated over the
 * bracket, every day of it equally likely beforehand, each weighted by the chance of having lived
 * until today. A bracket that reaches past today ends today: the heater is there.
 */
export function lifeAsOf(model: AgeingModel, heater: AgeingHeater, today: CalendarDay): LifeAsOf {
  const history = covariateHistory(heater);
  return lifeOfHistory(model, heater, history, today);
}

/** {@link lifeAsOf} with the covariate history at hand. */
export function lifeOfHistory(
  model: AgeingModel,
  heater: AgeingHeater,
  history: CovariateHistory,
  today: CalendarDay,
): LifeAsOf {
  const lifetime = model.lifetimes[heater.technology];
  const path = wearPath(model, heater.propertyId, history);
  const day = dayNumber(today);
  const latest = Math.min(dayNumber(heater.install.latest), day);
  const earliest = Math.min(dayNumber(heater.install.earliest), latest);
  const rule = gaussLegendre(installPoints((latest - earliest) / DAYS_PER_YEAR));

  const size = rule.points.length;
  const exposureYears = new Float64Array(size);
  const weights = new Float64Array(size);
  let ageYears = 0;
  let leastHazard = Number.POSITIVE_INFINITY;
  for (let i = 0; i < size; i++) {
    const installed = earliest + rule.points[i] * (latest - earliest);
    exposureYears[i] = wearBetween(path, installed, day);
    leastHazard = Math.min(leastHazard, cumulativeHazard(lifetime, exposureYears[i]));
  }
  let total = 0;
  for (let i = 0; i < size; i++) {
    // Survival relative to the youngest point, so that very old brackets do not underflow.
    const hazard = cumulativeHazard(lifetime, exposureYears[i]) - leastHazard;
    weights[i] = rule.weights[i] * Math.exp(-hazard);
    total += weights[i];
  }
  for (let i = 0; i < size; i++) {
    weights[i] /= total;
    const installed = earliest + rule.points[i] * (latest - earliest);
    ageYears += (weights[i] * (day - installed)) / DAYS_PER_YEAR;
  }
  const ageIsEstimated = installIsEstimated(heater.install);
  return { lifetime, ageYears, ageIsEstimated, exposureYears, weights, path, day };
}

/** Points of the quadrature over an install bracket: keeps the error of a probability below 1e-6. */
export function installPoints(bracketYears: number): number {
  if (bracketYears === 0) return 1;
  if (bracketYears <= 2) return 4;
  return bracketYears <= 12 ? 8 : 16;
}

const ESTIMATES: ReadonlySet<InstallEvidence> = new Set(["staff-estimate", "building-age", "none"]);

function installIsEstimated(install: InstallDay): boolean {
  return install.earliest !== install.latest || ESTIMATES.has(install.evidence);
}

/** Years of wear that are gathered in the next `years` years. */
export function wearAhead(life: LifeAsOf, years: number): number {
  return wearBetween(life.path, life.day, life.day + years * DAYS_PER_YEAR);
}

/** Chance of failing within `years` from the day, given alive on it. */
export function failureAhead(life: LifeAsOf, years: number): number {
  const added = wearAhead(life, years);
  let probability = 0;
  for (let i = 0; i < life.weights.length; i++) {
    const before = cumulativeHazard(life.lifetime, life.exposureYears[i]);
    const after = cumulativeHazard(life.lifetime, life.exposureYears[i] + added);
    probability -= life.weights[i] * Math.expm1(before - after);
  }
  return Math.min(1, probability);
}
