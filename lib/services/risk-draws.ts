import { TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { createRandom } from "@/lib/core/stats/random";
import { COVARIATES } from "@/lib/core/survival/covariates";
import type { SurvivalModel } from "@/lib/core/survival/model";
import {
  COEFFICIENT_PRIORS,
  LIFETIME_PRIORS,
  PROPERTY_EFFECT_PRIOR,
  SHARED_LIFE_STANDARD_DEVIATION,
  SHARED_SHAPE_STANDARD_DEVIATION,
} from "@/lib/core/survival/priors";
import { lifetimeOfMean } from "@/lib/core/survival/weibull";

/**
 * Models drawn from the prior: how different the answers could be, given how little the prior is
 * sure of. ln(mean life) and ln(shape) of a technology are normal with the stated spreads, part of
 * which all technologies share; coefficients and property effects are normal.
 *
 * @param count number of draws, zero or more
 * @param seed whole number; the same seed and properties give the same draws
 */
export function drawPriorModels({
  count,
  seed,
  propertyIds,
}: {
  readonly count: number;
  readonly seed: number;
  readonly propertyIds: readonly string[];
}): readonly SurvivalModel[] {
  const random = createRandom(seed);
  return Array.from({ length: count }, (_, index) => {
    const sharedLife = SHARED_LIFE_STANDARD_DEVIATION * random.nextNormal();
    const sharedShape = SHARED_SHAPE_STANDARD_DEVIATION * random.nextNormal();
    const lifetimes = TECHNOLOGIES.map((technology) => {
      const { meanLife, shape } = LIFETIME_PRIORS[technology];
      const ownLife = remainder(meanLife.standardDeviation, SHARED_LIFE_STANDARD_DEVIATION);
      const ownShape = remainder(shape.standardDeviation, SHARED_SHAPE_STANDARD_DEVIATION);
      const lifetime = lifetimeOfMean({
        meanYears: meanLife.value * Math.exp(sharedLife + ownLife * random.nextNormal()),
        shape: shape.value * Math.exp(sharedShape + ownShape * random.nextNormal()),
      });
      return [technology, lifetime] as const;
    });
    const coefficients = COVARIATES.map((covariate) => {
      const { value, standardDeviation } = COEFFICIENT_PRIORS[covariate];
      return [covariate, value + standardDeviation * random.nextNormal()] as const;
    });
    const propertyEffects = propertyIds.map(
      (id) => [id, PROPERTY_EFFECT_PRIOR.standardDeviation * random.nextNormal()] as const,
    );
    return {
      method: `prior-draw-${index + 1}`,
      lifetimes: Object.fromEntries(lifetimes),
      coefficients: Object.fromEntries(coefficients),
      propertyEffects: Object.fromEntries(propertyEffects),
    } as SurvivalModel;
  });
}

/** What is left of a spread when its shared part is taken out. */
function remainder(total: number, shared: number): number {
  return Math.sqrt(Math.max(0, total ** 2 - shared ** 2));
}
