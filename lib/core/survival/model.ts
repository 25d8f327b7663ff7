import { TECHNOLOGIES, type Technology } from "@/lib/core/heaters/vocabulary";
import { COVARIATES, type Covariate, type CovariateValues, TYPICAL_VALUES } from "./covariates";
import type { CovariateHistory, WearPath } from "./exposure";
import { COEFFICIENT_PRIORS, LIFETIME_PRIORS } from "./priors";
import { lifetimeOfMean, type WeibullLifetime } from "./weibull";

/**
 * All that is needed to say how a heater ages. Plain data: it is stored with every ranking that
 * used it.
 */
export type SurvivalModel = {
  /** Name and version of the method or of the fit, as shown beside its answers. */
  readonly method: string;
  /** Lifetime of an ordinary heater of each technology. */
  readonly lifetimes: Readonly<Record<Technology, WeibullLifetime>>;
  /** Change in ln(rate of wear) per unit of each covariate. */
  readonly coefficients: Readonly<Record<Covariate, number>>;
  /** A property's own addition to ln(rate of wear); a property that is not listed has none. */
  readonly propertyEffects: Readonly<Record<string, number>>;
};

/** The model before any record of the portfolio is read: published lifetimes and expert ranges. */
export const PRIOR_MODEL: SurvivalModel = {
  method: "prior-1",
  lifetimes: Object.fromEntries(
    TECHNOLOGIES.map((technology) => {
      const { shape, meanLife } = LIFETIME_PRIORS[technology];
      return [technology, lifetimeOfMean({ shape: shape.value, meanYears: meanLife.value })];
    }),
  ) as Record<Technology, WeibullLifetime>,
  coefficients: Object.fromEntries(
    COVARIATES.map((covariate) => [covariate, COEFFICIENT_PRIORS[covariate].value]),
  ) as Record<Covariate, number>,
  propertyEffects: {},
};

/** The part of a model that sets the rate of wear. */
export type WearModel = Pick<SurvivalModel, "coefficients" | "propertyEffects">;

/** Years of wear per year at the given covariates: exp(effect + Σ coefficient · (value − typical)). */
export function wearRate(model: WearModel, propertyId: string, values: CovariateValues): number {
  let logRate = propertyEffect(model, propertyId);
  for (let j = 0; j < COVARIATES.length; j++) {
    const covariate = COVARIATES[j];
    logRate += model.coefficients[covariate] * (values[j] - TYPICAL_VALUES[covariate].value);
  }
  return Math.exp(logRate);
}

/** A covariate history as a rate of wear over time. */
export function wearPath(
  model: WearModel,
  propertyId: string,
  history: CovariateHistory,
): WearPath {
  return {
    startDays: history.startDays,
    rates: history.values.map((values) => wearRate(model, propertyId, values)),
  };
}

/** A property's own addition to ln(rate of wear); 0 when nothing has been learnt about it. */
export function propertyEffect(model: WearModel, propertyId: string): number {
  return Object.hasOwn(model.propertyEffects, propertyId) ? model.propertyEffects[propertyId] : 0;
}
