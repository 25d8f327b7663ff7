import { z } from "zod";
import { ANSWERS } from "@/lib/core/heaters/vocabulary";
import type { Outcome } from "@/lib/core/shared/outcome";
import { success } from "@/lib/core/shared/outcome";
import {
  grainsToMgPerLitre,
  MG_PER_LITRE_PER_GERMAN_DEGREE,
  mgPerLitreToGrains,
} from "@/lib/core/shared/units";
import { parseWith } from "@/lib/core/shared/validation";
import { flushWaterFactor } from "./due-tasks";
import { classifyHardness, type HardnessClass } from "./hardness";
import { anodeWaterFactor, DEFAULT_UPKEEP_RULES } from "./rules";
import { saturationAtTank, type TankSaturation } from "./saturation-index";

const concentration = z.number().positive().max(10_000);

/** Input of the command `water`: one analysis. */
export const waterSchema = z.strictObject({
  hardness: z
    .strictObject({
      value: z.number().min(0).max(10_000),
      unit: z.enum(["mg/L", "gpg", "dH"]),
    })
    .optional(),
  softened: z.enum(ANSWERS).default("unknown"),
  ph: z.number().min(0).max(14).optional(),
  alkalinityMgPerLitre: concentration.optional(),
  dissolvedSolidsMgPerLitre: concentration.optional(),
  calciumMgPerLitre: concentration.optional(),
  tankTemperatureF: z.number().min(32).max(212).default(120),
});

export type WaterReport = {
  readonly hardness: {
    readonly mgPerLitre: number;
    readonly grainsPerGallon: number;
    readonly germanDegrees: number;
    /** The class under each scale; the scales differ. */
    readonly usgsClass: HardnessClass;
    readonly wqaClass: HardnessClass;
  } | null;
  /** Null where the analysis lacks what `missing` names. */
  readonly saturation: TankSaturation | null;
  readonly missing: readonly string[];
  /** Months between two times, before findings change them. */
  readonly intervalMonths: {
    readonly flush: number;
    readonly anodeInspection: number;
    readonly anodeMedianLife: number;
  };
  readonly reasons: readonly string[];
};

/** What one water analysis says of hardness, scale and upkeep; docs/compute.md has the format. */
export function computeWater(input: unknown): Outcome<WaterReport> {
  const parsed = parseWith(waterSchema, input);
  if (!parsed.ok) return parsed;
  const { hardness, softened, tankTemperatureF, ...analysis } = parsed.value;
  const mgPerLitre = hardness ? toMgPerLitre(hardness) : null;
  const water = {
    hardnessMgPerLitre: mgPerLitre,
    softened,
    ph: analysis.ph ?? null,
    alkalinityMgPerLitre: analysis.alkalinityMgPerLitre ?? null,
    dissolvedSolidsMgPerLitre: analysis.dissolvedSolidsMgPerLitre ?? null,
    calciumMgPerLitre: analysis.calciumMgPerLitre ?? null,
  };
  const saturation = saturationAtTank(water, tankTemperatureF);
  const flush = flushWaterFactor({ water });
  const anodeFactor = anodeWaterFactor(DEFAULT_UPKEEP_RULES, softened);
  const months = DEFAULT_UPKEEP_RULES.intervalMonths;
  return success({
    hardness:
      mgPerLitre === null
        ? null
        : {
            mgPerLitre,
            grainsPerGallon: mgPerLitreToGrains(mgPerLitre),
            germanDegrees: mgPerLitre / MG_PER_LITRE_PER_GERMAN_DEGREE,
            usgsClass: classifyHardness(mgPerLitre, "usgs"),
            wqaClass: classifyHardness(mgPerLitre, "wqa"),
          },
    saturation: "value" in saturation ? saturation.value : null,
    missing: "value" in saturation ? [] : saturation.missing,
    intervalMonths: {
      flush: Math.round(months.flush.value * flush.factor),
      anodeInspection: Math.round(months["anode-inspection"].value * anodeFactor),
      anodeMedianLife: Math.round(months["anode-replacement"].value * anodeFactor),
    },
    reasons: [
      ...(flush.reason === null ? [] : [`flush: ${flush.reason}`]),
      ...(anodeFactor === 1 ? [] : ["anode: softened water uses anodes up faster"]),
    ],
  });
}

function toMgPerLitre({
  value,
  unit,
}: NonNullable<z.output<typeof waterSchema>["hardness"]>): number {
  if (unit === "gpg") return grainsToMgPerLitre(value);
  return unit === "dH" ? value * MG_PER_LITRE_PER_GERMAN_DEGREE : value;
}
