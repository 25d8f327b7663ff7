import { z } from "zod";
import { ANSWERS } from "@/lib/core/heaters/vocabulary";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import { grainsToMgPerLitre } from "@/lib/core/shared/units";
import { optionalNumber, optionalText } from "./settings-fields";

/** Hardness, calcium and alkalinity as a laboratory or a strip gives them. */
export const CONCENTRATION_UNITS = ["grains", "mg"] as const;
export const CONCENTRATION_UNIT_LABELS: Readonly<
  Record<(typeof CONCENTRATION_UNITS)[number], string>
> = {
  grains: "grains per gallon",
  mg: "mg/L (ppm) as CaCO3",
};

/** An analysis of a property's water. What was not measured is left empty; something must have been. */
export const waterFormSchema = z
  .object({
    propertyId: z.uuid("Choose a property."),
    sampledOn: z.string().default("").refine(isCalendarDay, "Enter the day of the sample."),
    unit: z.enum(CONCENTRATION_UNITS).default("grains"),
    hardness: optionalNumber({ least: 0, most: 3_000 }),
    calcium: optionalNumber({ least: 0, most: 3_000 }),
    softened: z.enum(ANSWERS).default("unknown"),
    ph: optionalNumber({ least: 3, most: 12 }),
    alkalinityMgPerLitre: optionalNumber({ least: 0, most: 3_000 }),
    dissolvedSolidsMgPerLitre: optionalNumber({ least: 0, most: 10_000 }),
    temperatureF: optionalNumber({ least: 32, most: 120 }),
    disinfectant: optionalText(60),
    note: optionalText(500),
  })
  .transform(({ propertyId, unit, hardness, calcium, ...rest }, context) => {
    const asMg = (value: number | null) =>
      value === null || unit === "mg" ? value : Math.round(grainsToMgPerLitre(value) * 10) / 10;
    const analysis = {
      ...rest,
      hardnessMgPerLitre: asMg(hardness),
      calciumMgPerLitre: asMg(calcium),
    };
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    const { sampledOn: _day, note: _note, softened, ...measured } = analysis;
    if (softened === "unknown" && Object.values(measured).every((value) => value === null)) {
      complain("hardness", "Enter at least one result of the analysis.");
    }
    if ((analysis.hardnessMgPerLitre ?? 0) > 3_000) {
      complain("hardness", "That is harder than any tap water: check the number and its unit.");
    }
    if (
      analysis.calciumMgPerLitre !== null &&
      analysis.hardnessMgPerLitre !== null &&
      analysis.calciumMgPerLitre > analysis.hardnessMgPerLitre
    ) {
      complain("calcium", "Calcium hardness is a part of the hardness and cannot be more.");
    }
    return { propertyId, analysis };
  });
