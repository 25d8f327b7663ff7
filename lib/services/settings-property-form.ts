import { z } from "zod";
import { isGridRegion, PUBLISHED_BOOK, PUBLISHED_FACTORS } from "@/lib/core/emissions/factors";
import { ANSWERS, DEMAND_LEVELS } from "@/lib/core/heaters/vocabulary";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import { grainsToMgPerLitre } from "@/lib/core/shared/units";
import { optionalNumber, optionalText, requiredNumber, requiredText } from "./settings-fields";

/** Electricity grid regions that have published factors. */
export const GRID_REGIONS: readonly string[] = [
  ...new Set(
    PUBLISHED_FACTORS.flatMap(({ activity, region }) =>
      activity === "grid-electricity" && region !== null ? [region] : [],
    ),
  ),
].sort();

const toCents = (dollars: number): number => Math.round(dollars * 10_000) / 100;

/** The form of a property. Gas and the standing charge are typed in dollars and kept in cents. */
export const propertyFormSchema = z
  .object({
    name: requiredText(120, "Enter the property's name."),
    street: optionalText(120),
    city: optionalText(120),
    region: optionalText(60),
    postalCode: optionalText(20),
    annualMeanAirF: requiredNumber({ least: -20, most: 95 }),
    airAmplitudeF: requiredNumber({ least: 0, most: 60 }),
    coldestMonth: requiredNumber({ least: 1, most: 12, isWhole: true }),
    waterSource: optionalText(120),
    demandLevel: z.enum(DEMAND_LEVELS, { message: "Choose how much hot water is drawn." }),
    gasDollarsPerTherm: requiredNumber({ least: 0, most: 20 }),
    electricityCentsPerKwh: requiredNumber({ least: 0, most: 200 }),
    gasStandingDollarsPerMonth: requiredNumber({ least: 0, most: 500 }),
    gridRegion: z
      .string()
      .default("")
      .refine((code) => isGridRegion(PUBLISHED_BOOK, code), "Choose a region that has factors."),
  })
  .transform(({ gasDollarsPerTherm, gasStandingDollarsPerMonth, ...rest }) => ({
    ...rest,
    gasCentsPerTherm: toCents(gasDollarsPerTherm),
    gasStandingCentsPerMonth: toCents(gasStandingDollarsPerMonth),
  }));

/** The form of a building's electrical service. What is left empty is not known. */
export const buildingFormSchema = z
  .object({
    name: requiredText(120, "Enter the building's name."),
    builtYear: optionalNumber({ least: 1700, most: 2200, isWhole: true }),
    floors: optionalNumber({ least: 1, most: 150, isWhole: true }),
    serviceAmps: optionalNumber({ least: 30, most: 10_000 }),
    serviceVolts: optionalNumber({ least: 100, most: 1_000 }),
    measuredPeakKw: optionalNumber({ least: 0, most: 10_000 }),
    headroomCircuits: optionalNumber({ least: 0, most: 10_000, isWhole: true }),
    upgradeDollars: optionalNumber({ least: 0, most: 20_000_000 }),
    upgradeAddsCircuits: optionalNumber({ least: 1, most: 10_000, isWhole: true }),
  })
  .superRefine((form, context) => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    if (form.upgradeDollars !== null && form.upgradeAddsCircuits === null) {
      complain("upgradeAddsCircuits", "Enter how many circuits the upgrade adds.");
    }
    if (form.upgradeDollars === null && form.upgradeAddsCircuits !== null) {
      complain("upgradeDollars", "Enter what the upgrade costs.");
    }
    if (form.serviceAmps !== null && form.serviceVolts === null) {
      complain("serviceVolts", "Enter the voltage that goes with the amperes.");
    }
  })
  .transform(({ upgradeDollars, ...rest }) => ({
    ...rest,
    upgradeCostCents: upgradeDollars === null ? null : Math.round(upgradeDollars * 100),
  }));

/** How a laboratory or a strip gives hardness. */
export const HARDNESS_UNITS = ["grains", "mg"] as const;
export const HARDNESS_UNIT_LABELS: Readonly<Record<(typeof HARDNESS_UNITS)[number], string>> = {
  grains: "grains per gallon",
  mg: "mg/L (ppm) as CaCO3",
};

/** The form of a water test. What was not measured is left empty; something must have been. */
export const waterTestFormSchema = z
  .object({
    sampledOn: z.string().default("").refine(isCalendarDay, "Enter the day of the sample."),
    hardness: optionalNumber({ least: 0, most: 3_000 }),
    hardnessUnit: z.enum(HARDNESS_UNITS).default("grains"),
    softened: z.enum(ANSWERS).default("unknown"),
    ph: optionalNumber({ least: 3, most: 12 }),
    alkalinityMgPerLitre: optionalNumber({ least: 0, most: 3_000 }),
    dissolvedSolidsMgPerLitre: optionalNumber({ least: 0, most: 10_000 }),
    temperatureF: optionalNumber({ least: 32, most: 120 }),
    disinfectant: optionalText(60),
  })
  .transform(({ hardness, hardnessUnit, ...rest }, context) => {
    const { sampledOn: _, softened, ...measured } = rest;
    const isEmpty = hardness === null && Object.values(measured).every((value) => value === null);
    if (isEmpty && softened === "unknown") {
      context.addIssue({
        code: "custom",
        path: ["hardness"],
        message: "Enter at least one result of the test.",
      });
      return z.NEVER;
    }
    const hardnessMgPerLitre =
      hardness === null
        ? null
        : hardnessUnit === "mg"
          ? hardness
          : Math.round(grainsToMgPerLitre(hardness) * 10) / 10;
    return { ...rest, hardnessMgPerLitre };
  })
  .refine(({ hardnessMgPerLitre }) => hardnessMgPerLitre === null || hardnessMgPerLitre <= 3_000, {
    path: ["hardness"],
    message: "That is harder than any tap water: check the number and its unit.",
  });

/** The form of the organisation itself. */
export const organizationFormSchema = z.object({
  name: requiredText(120, "Enter the organization's name."),
  unitSystem: z.enum(["us", "si"], { message: "Choose which units come first." }),
});
