import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { choleskyFactor, choleskyInverse } from "@/lib/core/stats/matrix";
import { maximize } from "@/lib/core/stats/maximize";
import { findRunaway, findUnidentified } from "./identifiability";
import { ALIVE, FAILED_WITHIN, type LifetimeColumns, thinColumns } from "./lifetimes";
import { evaluateLikelihood, evaluatePosterior, type IndependentPrior } from "./weibull-likelihood";

/** A Weibull law of wear fitted to observed lifetimes. */
export type LifetimeFit = {
  readonly shape: number;
  readonly scale: number;
  /** Change of ln(rate of wear) per unit of each covariate, in the columns' order. */
  readonly coefficients: Float64Array;
  /** The full log-likelihood (density of age for failures), without the prior. */
  readonly logLikelihood: number;
  /** Of ln β, ln η, γ₁, …: the curvature's inverse, row by row. */
  readonly covariance: Float64Array;
  readonly converged: boolean;
  readonly iterations: number;
};

/** Lifetimes from which a first look at a sample saves passes over all. */
const THIN_ABOVE = 5_000;
const THIN_TO = 2_000;

/**
 * Fits by maximum likelihood (`prior` null: flat) or maximum posterior density, Newton's method with
 * analytic derivatives. The covariance is the inverse curvature at the maximum (observed
 * information, or Laplace's approximation).
 */
export function fitLifetimes(
  columns: LifetimeColumns,
  prior: IndependentPrior | null,
): Outcome<LifetimeFit> {
  const flat = prior === null;
  const unidentified = flat ? findUnidentified(columns) : [];
  if (unidentified.length > 0) return failure(...unidentified);

  const size = columns.covariates.length + 2;
  const evaluate = (data: LifetimeColumns) => (parameters: Float64Array) =>
    flat ? evaluateLikelihood(data, parameters) : evaluatePosterior(data, prior, parameters);
  const start = prior ? Float64Array.from(prior.mean) : exponentialStart(columns);
  const { point, evaluation, converged, iterations } = maximize(
    evaluate(columns),
    columns.count > THIN_ABOVE ? thinnedStart(columns, evaluate, start) : start,
  );

  const runaway = flat ? findRunaway(columns, point) : [];
  if (runaway.length > 0) return failure(...runaway);
  const factor = choleskyFactor(evaluation.curvature.matrix, size);
  if (!converged || factor === null) return failure(noMaximum(iterations));
  return success({
    shape: Math.exp(point[0]),
    scale: Math.exp(point[1]),
    coefficients: point.slice(2),
    logLikelihood: flat ? evaluation.value : evaluateLikelihood(columns, point).value,
    covariance: choleskyInverse(factor, size),
    converged,
    iterations,
  });
}

function noMaximum(iterations: number): Problem {
  return {
    path: "observations",
    message: `no maximum was found in ${iterations} steps: the observations do not settle every parameter; leave covariates out or use the published prior`,
  };
}

/** The exponential fit: η is all time watched over the failures. */
function exponentialStart({
  count,
  covariates,
  logEntry,
  logLower,
  logUpper,
  outcome,
}: LifetimeColumns): Float64Array {
  let years = 0;
  let failures = 0;
  for (let i = 0; i < count; i++) {
    const end = outcome[i] === FAILED_WITHIN ? logUpper[i] : logLower[i];
    years += Math.exp(end) - Math.exp(logEntry[i]);
    if (outcome[i] !== ALIVE) failures++;
  }
  const start = new Float64Array(covariates.length + 2);
  start[1] = Math.log(years / failures);
  return start;
}

function thinnedStart(
  columns: LifetimeColumns,
  evaluate: (
    data: LifetimeColumns,
  ) => (parameters: Float64Array) => ReturnType<typeof evaluateLikelihood>,
  start: Float64Array,
): Float64Array {
  const thinned = thinColumns(columns, Math.ceil(columns.count / THIN_TO));
  const first = maximize(evaluate(thinned), start);
  return first.converged ? first.point : start;
}
