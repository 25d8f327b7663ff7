import { z } from "zod";
import {
  type BuildingElectrical,
  DEFAULT_ELECTRICAL,
  HEADROOM_METHODS,
  PEAK_BASES,
} from "@/lib/core/heaters/electrical-building";
import { ANSWERS } from "@/lib/core/heaters/vocabulary";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import type { BuildingElectrics, SiteBuilding } from "@/lib/data/sites";
import { optionalNumber, optionalText, requiredNumber } from "./settings-fields";

/** The electrical side of a building as a person edits it; the same rules run on both sides. */
export const headroomFormSchema = z
  .object({
    serviceAmps: optionalNumber({ least: 30, most: 10_000, isWhole: true }),
    serviceVolts: optionalNumber({ least: 100, most: 1_000, isWhole: true }),
    phases: z.enum(["1", "3"], { message: "Choose the phases." }),
    method: z.enum(HEADROOM_METHODS, { message: "Choose a method." }),
    circuitVoltAmperes: requiredNumber({ least: 100, most: 50_000 }),
    newLoadPercent: requiredNumber({ least: 100, most: 125 }),
    measuredPeakKw: optionalNumber({ least: 0, most: 10_000 }),
    peakBasis: z.enum(PEAK_BASES),
    seasonalKw: optionalNumber({ least: 0, most: 10_000 }),
    isHidden: z.enum(ANSWERS),
    homes: optionalNumber({ least: 1, most: 5_000, isWhole: true }),
    floorAreaSqFt: optionalNumber({ least: 0, most: 100_000 }),
    applianceCircuits: optionalNumber({ least: 0, most: 20, isWhole: true }),
    cookingVa: optionalNumber({ least: 0, most: 1_000_000 }),
    appliancesVa: optionalNumber({ least: 0, most: 1_000_000 }),
    climateVa: optionalNumber({ least: 0, most: 1_000_000 }),
    houseVa: optionalNumber({ least: 0, most: 10_000_000 }),
    newInFull: z.enum(["yes", "no"]),
    statedCircuits: optionalNumber({ least: 0, most: 10_000, isWhole: true }),
    statedBy: optionalText(120),
    statedOn: z
      .string()
      .default("")
      .refine((text) => text === "" || isCalendarDay(text), "Enter a day."),
    upgradeDollars: optionalNumber({ least: 0, most: 20_000_000 }),
    upgradeAddsCircuits: optionalNumber({ least: 1, most: 10_000, isWhole: true }),
  })
  .transform((form, context): Omit<BuildingElectrics, "headroomCircuits"> => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    if (form.serviceAmps !== null && form.serviceVolts === null) {
      complain("serviceVolts", "Enter the voltage that goes with the amperes.");
    }
    if ((form.upgradeDollars === null) !== (form.upgradeAddsCircuits === null)) {
      if (form.upgradeDollars === null) complain("upgradeDollars", "Enter what the upgrade costs.");
      else complain("upgradeAddsCircuits", "Enter how many circuits the upgrade adds.");
    }
    const { upgradeDollars, upgradeAddsCircuits } = form;
    return {
      serviceAmps: form.serviceAmps,
      serviceVolts: form.serviceVolts,
      measuredPeakKw: form.measuredPeakKw,
      upgradeCostCents: upgradeDollars === null ? null : Math.round(upgradeDollars * 100),
      upgradeAddsCircuits,
      electrical: {
        phases: form.phases === "3" ? 3 : 1,
        method: form.method,
        circuitVoltAmperes: form.circuitVoltAmperes,
        newLoadFactor: form.newLoadPercent / 100,
        peak: {
          basis: form.peakBasis,
          seasonalKw: form.seasonalKw ?? 0,
          isHidden: form.isHidden,
        },
        loads: loadsOf(form, complain),
        stated: statedOf(form, complain),
      },
    };
  });

export type HeadroomFormInput = z.input<typeof headroomFormSchema>;

type Complain = (path: string, message: string) => void;

const LOADS = [
  ["homes", "Enter the number of homes."],
  ["floorAreaSqFt", "Enter the floor area of one home."],
  ["applianceCircuits", "Enter the small-appliance and laundry circuits of one home."],
  ["appliancesVa", "Enter the other appliances of one home; 0 for none."],
  ["climateVa", "Enter the greater of heating and cooling of one home; 0 for none."],
  ["houseVa", "Enter the house load; 0 for none."],
] as const;

function loadsOf(
  form: Readonly<Record<(typeof LOADS)[number][0] | "cookingVa", number | null>> & {
    readonly newInFull: "yes" | "no";
    readonly method: BuildingElectrical["method"];
  },
  complain: Complain,
): BuildingElectrical["loads"] {
  const empty = LOADS.filter(([name]) => form[name] === null);
  // The homes stand there from the record before anybody has entered a load.
  const isUntouched = LOADS.every(([name]) => name === "homes" || form[name] === null);
  if (isUntouched && form.method !== "calculated") return null;
  for (const [name, message] of empty) complain(name, message);
  const value = (name: (typeof LOADS)[number][0]) => form[name] ?? 0;
  return {
    homes: Math.max(1, value("homes")),
    floorAreaSqFt: value("floorAreaSqFt"),
    applianceCircuits: value("applianceCircuits"),
    cookingVa: form.cookingVa,
    appliancesVa: value("appliancesVa"),
    climateVa: value("climateVa"),
    houseVa: value("houseVa"),
    newInFull: form.newInFull === "yes",
  };
}

function statedOf(
  form: {
    readonly method: BuildingElectrical["method"];
    readonly statedCircuits: number | null;
    readonly statedBy: string | null;
    readonly statedOn: string;
  },
  complain: Complain,
): BuildingElectrical["stated"] {
  const { statedCircuits, statedBy, statedOn } = form;
  const isEmpty = statedCircuits === null && statedBy === null && statedOn === "";
  if (isEmpty && form.method !== "stated") return null;
  if (statedCircuits === null) complain("statedCircuits", "Enter the circuits that were stated.");
  if (statedBy === null) complain("statedBy", "Enter who stated it.");
  if (!isCalendarDay(statedOn)) {
    complain("statedOn", "Enter the day of the statement.");
    return null;
  }
  return { circuits: statedCircuits ?? 0, by: statedBy ?? "–", on: statedOn };
}

/** The form as a building starts it. */
export function formOfBuilding(
  building: Pick<
    SiteBuilding,
    | "serviceAmps"
    | "serviceVolts"
    | "measuredPeakKw"
    | "upgradeCostCents"
    | "upgradeAddsCircuits"
    | "homes"
  >,
  electrical: BuildingElectrical | null,
): Readonly<Record<keyof HeadroomFormInput, string>> {
  const { peak, loads, stated, ...general } = electrical ?? DEFAULT_ELECTRICAL;
  const text = (value: number | null | undefined) =>
    value === null || value === undefined ? "" : String(value);
  const { upgradeCostCents } = building;
  return {
    serviceAmps: text(building.serviceAmps),
    serviceVolts: text(building.serviceVolts),
    phases: String(general.phases) as "1" | "3",
    method: general.method,
    circuitVoltAmperes: text(general.circuitVoltAmperes),
    newLoadPercent: text(Math.round(general.newLoadFactor * 100)),
    measuredPeakKw: text(building.measuredPeakKw),
    peakBasis: peak?.basis ?? "year",
    seasonalKw: text(peak?.seasonalKw || null),
    isHidden: peak?.isHidden ?? "unknown",
    homes: text(loads?.homes ?? (building.homes > 0 ? building.homes : null)),
    floorAreaSqFt: text(loads?.floorAreaSqFt),
    applianceCircuits: text(loads?.applianceCircuits),
    cookingVa: text(loads?.cookingVa),
    appliancesVa: text(loads?.appliancesVa),
    climateVa: text(loads?.climateVa),
    houseVa: text(loads?.houseVa),
    newInFull: loads && !loads.newInFull ? "no" : "yes",
    statedCircuits: text(stated?.circuits),
    statedBy: stated?.by ?? "",
    statedOn: stated?.on ?? "",
    upgradeDollars: upgradeCostCents === null ? "" : String(upgradeCostCents / 100),
    upgradeAddsCircuits: text(building.upgradeAddsCircuits),
  };
}
