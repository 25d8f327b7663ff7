import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { mgPerLitreToGrains } from "@/lib/core/shared/units";

/**
 * The scales that name hardness. They differ: 40 mg/L is "soft" on the first and "slightly hard" on
 * the second, so a class is never shown without its scale.
 */
export const HARDNESS_SCALES = {
  usgs: {
    name: "USGS",
    source: "USGS classes (Durfor and Becker 1964), as quoted by water laboratories",
  },
  wqa: {
    name: "Water Quality Association",
    source: "Water Quality Association scale in grains per gallon, as quoted by a supplier",
  },
} as const;
export type HardnessScale = keyof typeof HARDNESS_SCALES;

export type HardnessClass = "soft" | "slightly hard" | "moderately hard" | "hard" | "very hard";

/**
 * Class of a total hardness.
 *
 * USGS in mg/L as CaCO3: soft to 60, moderately hard to 120, hard to 180, very hard above. The
 * printed classes (0–60, 61–120, …) are of whole numbers; a fraction between two belongs to the
 * upper. WQA in grains per gallon: soft below 1, slightly hard to 3.5, moderately hard to 7, hard to
 * 10.5, very hard above.
 *
 * @param hardnessMgPerLitre total hardness in mg/L as CaCO3, zero or more.
 * @throws {RangeError} when it is negative or not a number.
 */
export function classifyHardness(
  hardnessMgPerLitre: number,
  scale: HardnessScale = "usgs",
): HardnessClass {
  requireAtLeastZero("hardnessMgPerLitre", hardnessMgPerLitre);
  if (scale === "usgs") {
    if (hardnessMgPerLitre <= 60) return "soft";
    if (hardnessMgPerLitre <= 120) return "moderately hard";
    return hardnessMgPerLitre <= 180 ? "hard" : "very hard";
  }
  const grains = mgPerLitreToGrains(hardnessMgPerLitre);
  if (grains < 1) return "soft";
  if (grains <= 3.5) return "slightly hard";
  if (grains <= 7) return "moderately hard";
  return grains <= 10.5 ? "hard" : "very hard";
}
