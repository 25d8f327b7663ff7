import { choleskyFactor, multiplyLower } from "@/lib/core/stats/matrix";
import { createRandom } from "@/lib/core/stats/random";
import type { AgeingModel, SurvivalModel } from "./model";
import { COMMON_PARAMETERS, coefficientsOf, commonOf, lifetimesOf } from "./parameters";

/** A model drawn from what is not yet known about it. */
export type ModelDraw = AgeingModel;

/** Draws enough for bands that are steady to about a tenth of their width. */
export const DEFAULT_DRAWS = 200;

/**
 * Draws models from the normal approximation around a model: the same seed gives the same draws.
 *
 * @param propertyIds properties that the draws are needed for; one without a record gets an effect
 *   from the spread of properties
 */
export function drawModels(
  model: SurvivalModel,
  {
    count = DEFAULT_DRAWS,
    seed,
    propertyIds,
  }: {
    readonly count?: number;
    readonly seed: number;
    readonly propertyIds: Iterable<string>;
  },
): readonly ModelDraw[] {
  const { covariance, properties, propertyStandardDeviation } = model.uncertainty;
  const factor = choleskyFactor(Float64Array.from(covariance), COMMON_PARAMETERS);
  if (factor === null) {
    throw new RangeError("model.uncertainty.covariance must be positive definite");
  }
  const centre = commonOf(model.lifetimes, model.coefficients);
  const ids = [...new Set(propertyIds)].sort();
  const random = createRandom(seed);
  return Array.from({ length: count }, () => {
    const away = multiplyLower(
      factor,
      Float64Array.from({ length: COMMON_PARAMETERS }, () => random.nextNormal()),
    );
    const common = centre.map((value, i) => value + away[i]);
    const propertyEffects: Record<string, number> = {};
    for (const id of ids) {
      const normal = random.nextNormal();
      const known = Object.hasOwn(properties, id) ? properties[id] : null;
      if (known === null) {
        propertyEffects[id] = normal * propertyStandardDeviation;
        continue;
      }
      let effect = model.propertyEffects[id] + normal * Math.sqrt(known.variance);
      for (let i = 0; i < COMMON_PARAMETERS; i++) effect += known.slopes[i] * away[i];
      propertyEffects[id] = effect;
    }
    return {
      lifetimes: lifetimesOf(common),
      coefficients: coefficientsOf(common),
      propertyEffects,
    };
  });
}
