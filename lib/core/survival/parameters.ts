import { TECHNOLOGIES, type Technology } from "@/lib/core/heaters/vocabulary";
import { COVARIATES, type Covariate } from "./covariates";
import {
  COEFFICIENT_PRIORS,
  LIFETIME_PRIORS,
  SHARED_LIFE_STANDARD_DEVIATION,
  SHARED_SHAPE_STANDARD_DEVIATION,
} from "./priors";
import { lifetimeOfMean, type WeibullLifetime } from "./weibull";

/**
 * The model's common parameters as one vector: ln β of each technology, ln η of each technology
 * (in the order of TECHNOLOGIES), then the coefficients (in the order of COVARIATES). The effects of
 * properties are kept apart.
 */
export const COMMON_PARAMETERS = 2 * TECHNOLOGIES.length + COVARIATES.length;

export const shapeIndex = (technology: number): number => technology;
export const scaleIndex = (technology: number): number => TECHNOLOGIES.length + technology;
export const coefficientIndex = (covariate: number): number => 2 * TECHNOLOGIES.length + covariate;

/** A normal distribution of the common parameters. */
export type CommonPrior = {
  readonly mean: Float64Array;
  /** Row by row. */
  readonly covariance: Float64Array;
};

/**
 * The prior of the common parameters. Technologies share part of their spread, so that what is
 * learnt about one moves the others by that part.
 */
export function commonPrior(): CommonPrior {
  const mean = new Float64Array(COMMON_PARAMETERS);
  const covariance = new Float64Array(COMMON_PARAMETERS ** 2);
  const setVariance = (i: number, j: number, value: number) => {
    covariance[i * COMMON_PARAMETERS + j] = value;
  };
  TECHNOLOGIES.forEach((technology, t) => {
    const { shape, meanLife } = LIFETIME_PRIORS[technology];
    const lifetime = lifetimeOfMean({ shape: shape.value, meanYears: meanLife.value });
    mean[shapeIndex(t)] = Math.log(lifetime.shape);
    mean[scaleIndex(t)] = Math.log(lifetime.scaleYears);
    for (let other = 0; other < TECHNOLOGIES.length; other++) {
      setVariance(shapeIndex(t), shapeIndex(other), SHARED_SHAPE_STANDARD_DEVIATION ** 2);
      setVariance(scaleIndex(t), scaleIndex(other), SHARED_LIFE_STANDARD_DEVIATION ** 2);
    }
    setVariance(shapeIndex(t), shapeIndex(t), shape.standardDeviation ** 2);
    setVariance(scaleIndex(t), scaleIndex(t), meanLife.standardDeviation ** 2);
  });
  COVARIATES.forEach((covariate, j) => {
    const { value, standardDeviation } = COEFFICIENT_PRIORS[covariate];
    mean[coefficientIndex(j)] = value;
    setVariance(coefficientIndex(j), coefficientIndex(j), standardDeviation ** 2);
  });
  return { mean, covariance };
}

/** The lifetimes that a vector of common parameters stands for. */
export function lifetimesOf(common: ArrayLike<number>): Record<Technology, WeibullLifetime> {
  return Object.fromEntries(
    TECHNOLOGIES.map((technology, t) => [
      technology,
      { shape: Math.exp(common[shapeIndex(t)]), scaleYears: Math.exp(common[scaleIndex(t)]) },
    ]),
  ) as Record<Technology, WeibullLifetime>;
}

/** The coefficients that a vector of common parameters stands for. */
export function coefficientsOf(common: ArrayLike<number>): Record<Covariate, number> {
  return Object.fromEntries(
    COVARIATES.map((covariate, j) => [covariate, common[coefficientIndex(j)]]),
  ) as Record<Covariate, number>;
}

/** The vector of common parameters of given lifetimes and coefficients. */
export function commonOf(
  lifetimes: Readonly<Record<Technology, WeibullLifetime>>,
  coefficients: Readonly<Record<Covariate, number>>,
): Float64Array {
  return Float64Array.from([
    ...TECHNOLOGIES.map((technology) => Math.log(lifetimes[technology].shape)),
    ...TECHNOLOGIES.map((technology) => Math.log(lifetimes[technology].scaleYears)),
    ...COVARIATES.map((covariate) => coefficients[covariate]),
  ]);
}

/** Name of a common parameter in words. */
export function parameterName(index: number): string {
  const count = TECHNOLOGIES.length;
  if (index < count) return `shape of ${TECHNOLOGIES[index]}`;
  if (index < 2 * count) return `life of ${TECHNOLOGIES[index - count]}`;
  return `effect of ${COVARIATES[index - 2 * count]}`;
}
