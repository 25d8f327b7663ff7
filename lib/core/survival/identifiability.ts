import type { Problem } from "@/lib/core/shared/outcome";
import { ALIVE, FAILED_WITHIN, type LifetimeColumns } from "./lifetimes";

/** Share of a covariate's spread that the others must leave unexplained. */
const COLLINEAR_BELOW = 1e-10;

/**
 * What keeps a flat-prior fit from having one answer, each with its way out. Empty when nothing
 * does.
 */
export function findUnidentified(columns: LifetimeColumns): readonly Problem[] {
  const problems = [
    ...countProblems(columns),
    ...constantCovariates(columns),
    ...oneSidedCovariates(columns),
  ];
  return problems.length > 0 ? problems : collinearCovariates(columns);
}

function countProblems({ count, covariates, outcome, logLower, logUpper }: LifetimeColumns) {
  if (count === 0) return [{ path: "observations", message: "there are no observations" }];
  const ages = new Set<number>();
  let failures = 0;
  let bracketed = 0;
  for (let i = 0; i < count; i++) {
    if (outcome[i] === ALIVE) continue;
    failures++;
    if (outcome[i] === FAILED_WITHIN) bracketed++;
    ages.add(outcome[i] === FAILED_WITHIN ? logUpper[i] : logLower[i]);
  }
  const wayOut = 'use the published prior (prior "published") until there are more';
  const needed = covariates.length + 2;
  if (failures === 0) {
    return [
      {
        path: "observations",
        message: `none of the ${count} lifetimes ended in a failure, so nothing says how long they last; ${wayOut}`,
      },
    ];
  }
  if (failures < needed) {
    return [
      {
        path: "observations",
        message: `${failures} ${failures === 1 ? "failure" : "failures"} cannot tell a shape, a scale${covariates.length > 0 ? ` and ${covariates.length} coefficients` : ""} apart (at least ${needed} are needed); leave covariates out or ${wayOut}`,
      },
    ];
  }
  if (ages.size === 1 && bracketed === 0) {
    return [
      {
        path: "observations",
        message: `all ${failures} failures are at the same age, so the shape has no upper limit; check the ages or ${wayOut}`,
      },
    ];
  }
  return [];
}

function constantCovariates({ covariates, count, x }: LifetimeColumns): readonly Problem[] {
  const width = covariates.length;
  return covariates
    .filter((_, j) => {
      for (let i = 1; i < count; i++) if (x[i * width + j] !== x[j]) return false;
      return true;
    })
    .map((name) => ({
      path: `x.${name}`,
      message: `"${name}" has the same value in every observation, so its effect cannot be told from the scale; leave it out`,
    }));
}

/** Covariates of which every failure has the same, extreme value: the others seem immortal. */
function oneSidedCovariates({
  covariates,
  count,
  x,
  outcome,
}: LifetimeColumns): readonly Problem[] {
  const width = covariates.length;
  return covariates
    .filter((_, j) => {
      let least = Number.POSITIVE_INFINITY;
      let most = Number.NEGATIVE_INFINITY;
      let leastFailed = Number.POSITIVE_INFINITY;
      let mostFailed = Number.NEGATIVE_INFINITY;
      for (let i = 0; i < count; i++) {
        const value = x[i * width + j];
        least = Math.min(least, value);
        most = Math.max(most, value);
        if (outcome[i] === ALIVE) continue;
        leastFailed = Math.min(leastFailed, value);
        mostFailed = Math.max(mostFailed, value);
      }
      const extreme = leastFailed === most || mostFailed === least;
      return least < most && leastFailed === mostFailed && extreme;
    })
    .map((name) => oneSided(name));
}

function oneSided(name: string): Problem {
  return {
    path: `x.${name}`,
    message: `the effect of "${name}" grows without limit: no failures were seen on one side of it; leave it out or use the published prior`,
  };
}

/**
 * Covariates that are sums of others: Cholesky's elimination on the covariates' products about their
 * means; one of which nothing is left after the earlier ones is named with those it is made of.
 */
function collinearCovariates(columns: LifetimeColumns): readonly Problem[] {
  const { covariates } = columns;
  const width = covariates.length;
  const products = centredProducts(columns);
  const factor = new Float64Array(width * width);
  const problems: Problem[] = [];
  for (let i = 0; i < width; i++) {
    const whole = products[i * width + i];
    let left = whole;
    const involved: string[] = [];
    for (let j = 0; j < i; j++) {
      const pivot = factor[j * width + j];
      if (pivot === 0) continue;
      let sum = products[i * width + j];
      for (let k = 0; k < j; k++) sum -= factor[i * width + k] * factor[j * width + k];
      const entry = sum / pivot;
      factor[i * width + j] = entry;
      left -= entry * entry;
      if (entry * entry > 1e-6 * whole) involved.push(covariates[j]);
    }
    if (left > COLLINEAR_BELOW * whole) {
      factor[i * width + i] = Math.sqrt(left);
    } else {
      problems.push({
        path: `x.${covariates[i]}`,
        message: `"${covariates[i]}" can be worked out from ${involved.map((name) => `"${name}"`).join(" and ")}, so their effects cannot be told apart; leave one out`,
      });
    }
  }
  return problems;
}

/** Σ (x_j − mean_j)(x_k − mean_k), the lower half. */
function centredProducts({ covariates, count, x }: LifetimeColumns): Float64Array {
  const width = covariates.length;
  const means = new Float64Array(width);
  for (let i = 0; i < count; i++) {
    for (let j = 0; j < width; j++) means[j] += x[i * width + j];
  }
  for (let j = 0; j < width; j++) means[j] /= count;
  const products = new Float64Array(width * width);
  for (let i = 0; i < count; i++) {
    for (let j = 0; j < width; j++) {
      const away = x[i * width + j] - means[j];
      for (let k = 0; k <= j; k++) products[j * width + k] += away * (x[i * width + k] - means[k]);
    }
  }
  return products;
}

/**
 * After a flat-prior fit: parameters that ran away because the likelihood keeps rising. `x.name`
 * for a coefficient whose failures all lie on one side.
 */
export function findRunaway(
  { covariates, count, x }: LifetimeColumns,
  parameters: Float64Array,
): readonly Problem[] {
  const problems: Problem[] = [];
  if (Math.exp(parameters[0]) > 500) {
    problems.push({
      path: "shape",
      message:
        "the shape grows without limit: the failures lie at one age, or at the end of the observations; check the ages or use the published prior",
    });
  }
  const width = covariates.length;
  for (let j = 0; j < width; j++) {
    let least = Number.POSITIVE_INFINITY;
    let most = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < count; i++) {
      least = Math.min(least, x[i * width + j]);
      most = Math.max(most, x[i * width + j]);
    }
    // A factor of e^8 in the rate of wear over the range seen is no longer an estimate.
    if (Math.abs(parameters[j + 2]) * (most - least) > 8) {
      problems.push(oneSided(covariates[j]));
    }
  }
  return problems;
}
