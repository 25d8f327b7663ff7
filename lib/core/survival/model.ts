import type { Technology } from "@/lib/core/heaters/vocabulary";
import { COVARIATES, type Covariate, type CovariateValues, TYPICAL_VALUES } from "./covariates";
import type { CovariateHistory, WearPath } from "./exposure";
import { coefficientsOf, commonPrior, lifetimesOf } from "./parameters";
import { PROPERTY_EFFECT_PRIOR } from "./priors";
import type { WeibullLifetime } from "./weibull";

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
  readonly uncertainty: ModelUncertainty;
};

/**
 * How sure the model is: a normal distribution around its values, on the scale of the common
 * parameters (parameters.ts).
 */
export type ModelUncertainty = {
  /** Covariance of the common parameters, row by row. */
  readonly covariance: readonly number[];
  /** Properties with a record: their effects depend on the common parameters. */
  readonly properties: Readonly<Record<string, PropertyUncertainty>>;
  /** Standard deviation of the effect of a property without a record. */
  readonly propertyStandardDeviation: number;
};

export type PropertyUncertainty = {
  /** Change of the effect per change of each common parameter. */
  readonly slopes: readonly number[];
  /** Variance of the effect when the common parameters are known. */
  readonly variance: number;
};

const PRIOR = commonPrior();

/** The model before any record of the portfolio is read: published lifetimes and expert ranges. */
export const PRIOR_MODEL: SurvivalModel = {
  method: "prior-1",
  lifetimes: lifetimesOf(PRIOR.mean),
  coefficients: coefficientsOf(PRIOR.mean),
  propertyEffects: {},
  uncertainty: {
    covariance: Array.from(PRIOR.covariance),
    properties: {},
    propertyStandardDeviation: PROPERTY_EFFECT_PRIOR.standardDeviation,
  },
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

/** The part of a model that says how a heater ages, without its name and its doubt. */
export type AgeingModel = WearModel & Pick<SurvivalModel, "lifetimes">;

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
