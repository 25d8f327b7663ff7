import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { mgPerLitreToGrains } from "@/lib/core/shared/units";

/** Share of a gas tank's recovery efficiency lost to scale, with the range that the sources leave open. */
export type ScaleLoss = { readonly low: number; readonly central: number; readonly high: number };

/** No scale: soft or softened water, a fresh flush, or no burner under the tank. */
export const NO_SCALE_LOSS: ScaleLoss = { low: 0, central: 0, high: 0 };

/**
 * Loss per grain per gallon of hardness once the tank has scaled up. The sources contradict each
 * other, so the spread is the finding:
 * - high 0.008: 4 % per 5 grains at 50 gallons a day (Battelle for the Water Quality Research
 *   Foundation, 2009, as quoted in the trade press; industry-funded, accelerated test);
 * - low 0: about 5 % only after some 60 lb of scale, an estimated 20 years (Talbert et al., ASHRAE
 *   Transactions 1986–87, abstract as quoted), next to nothing within a heater's life;
 * - central 0.003: our assumption, nearer to the independent study.
 */
const LOSS_PER_GRAIN: ScaleLoss = { low: 0, central: 0.003, high: 0.008 };

/** Years without a flush after which no further loss is counted (our assumption). */
const YEARS_TO_FULL_SCALE = 10;

/** Largest loss counted, whatever the water: the studies go no further than about 30 grains. */
const LARGEST_HARDNESS_GRAINS = 30;

/**
 * Share of recovery efficiency that scale costs a tank with a burner under it. Electric elements sit in
 * the water and lose life, not efficiency (both studies).
 *
 * @param hardnessMgPerLitre total hardness as CaCO3; softened water counts as 0
 * @param yearsSinceFlush years since the last flush, or since installation when never flushed
 */
export function scaleLossOf(hardnessMgPerLitre: number, yearsSinceFlush: number): ScaleLoss {
  requireAtLeastZero("hardnessMgPerLitre", hardnessMgPerLitre);
  requireAtLeastZero("yearsSinceFlush", yearsSinceFlush);
  const grains = Math.min(LARGEST_HARDNESS_GRAINS, mgPerLitreToGrains(hardnessMgPerLitre));
  const growth = Math.min(1, yearsSinceFlush / YEARS_TO_FULL_SCALE);
  return {
    low: LOSS_PER_GRAIN.low * grains * growth,
    central: LOSS_PER_GRAIN.central * grains * growth,
    high: LOSS_PER_GRAIN.high * grains * growth,
  };
}
