import { COVARIATES, type Covariate } from "./covariates";
import { COEFFICIENT_PRIORS, LIFETIME_PRIORS } from "./priors";
import { lifetimeOfMean } from "./weibull";
import type { IndependentPrior } from "./weibull-likelihood";

/** Spread of a coefficient about which nothing is published, per unit of its covariate. */
const UNKNOWN_COEFFICIENT_STANDARD_DEVIATION = 0.5;

/**
 * The prior of an ordinary gas tank for a table of lifetimes, with the priors of the covariates that
 * bear a name this model knows and a wide one, centred on no effect, for every other.
 */
export function publishedPrior(covariates: readonly string[]): IndependentPrior {
  const { shape, meanLife } = LIFETIME_PRIORS["gas-storage"];
  const { scaleYears } = lifetimeOfMean({ shape: shape.value, meanYears: meanLife.value });
  const known = (name: string): name is Covariate =>
    (COVARIATES as readonly string[]).includes(name);
  return {
    mean: Float64Array.of(
      Math.log(shape.value),
      Math.log(scaleYears),
      ...covariates.map((name) => (known(name) ? COEFFICIENT_PRIORS[name].value : 0)),
    ),
    standardDeviation: Float64Array.of(
      shape.standardDeviation,
      meanLife.standardDeviation,
      ...covariates.map((name) =>
        known(name)
          ? COEFFICIENT_PRIORS[name].standardDeviation
          : UNKNOWN_COEFFICIENT_STANDARD_DEVIATION,
      ),
    ),
  };
}
