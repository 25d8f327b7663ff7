import { z } from "zod";
import { STRUCTURAL_REASONS, type StructuralReason } from "@/lib/core/emissions/base-year";
import { GWP_SETS } from "@/lib/core/emissions/gases";
import { INSTRUMENT_KINDS } from "@/lib/core/emissions/market-instruments";
import { LIMIT_BASES } from "@/lib/core/emissions/policies";
import { DISPOSAL_ROUTES } from "@/lib/core/emissions/retirement-ledger";
import { COVERAGES } from "@/lib/core/emissions/target";
import { READING_UNITS, type ReadingUnit } from "@/lib/core/energy/meter-readings";
import { METER_HOLDERS } from "@/lib/core/energy/meters";
import type { Tariff } from "@/lib/core/energy/tariff";
import { parseTariff } from "@/lib/core/energy/tariff-text";
import { ANSWERS, FUELS, type Fuel } from "@/lib/core/heaters/vocabulary";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import { optionalNumber, optionalText, requiredNumber, requiredText } from "./settings-fields";

/** Forms of the emissions screens: text in, typed values out, checked alike on both sides. */

/** What a request for an account says. */
export const accountRequestSchema = z.object({
  year: z.coerce.number("choose a year").int().min(1990).max(2150),
  plan: z
    .string()
    .default("")
    .transform((text) => (text === "" ? null : text))
    .pipe(z.uuid("choose a plan of the list").nullable()),
});

const YES_NO = ["yes", "no"] as const;
const yearText = () => requiredNumber({ least: 1990, most: 2150, isWhole: true });

/** One contract about electricity. Shares are typed in percent. */
export const instrumentFormSchema = z
  .object({
    kind: z.enum(INSTRUMENT_KINDS, "Choose what it is."),
    name: requiredText(120, "Give it the name or number it goes by."),
    propertyId: z
      .string()
      .default("")
      .transform((text) => (text === "" ? null : text)),
    coversKwh: optionalNumber({ least: 0, most: 1e12 }),
    coversPercent: optionalNumber({ least: 0, most: 100 }),
    kgCo2ePerKwh: requiredNumber({ least: 0, most: 5 }),
    vintage: yearText(),
    market: requiredText(40, "Name the market, for example US."),
    conveysRate: z.enum(YES_NO, "Answer yes or no."),
    soleClaim: z.enum(YES_NO, "Answer yes or no."),
    retired: z.enum(YES_NO, "Answer yes or no."),
    firstYear: yearText(),
    lastYear: yearText(),
    source: requiredText(300, "Say where this can be looked up."),
  })
  .superRefine((form, context) => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    if ((form.coversKwh === null) === (form.coversPercent === null)) {
      complain("coversKwh", "Give either kilowatt hours or a share.");
    }
    if (form.lastYear < form.firstYear) complain("lastYear", "Ends before it begins.");
    if (form.kind === "certificate" && form.lastYear !== form.firstYear) {
      complain("lastYear", "A certificate is retired for the use of one year.");
    }
  })
  .transform(({ coversPercent, conveysRate, soleClaim, retired, ...rest }) => ({
    ...rest,
    coversShare: coversPercent === null ? null : coversPercent / 100,
    conveysRate: conveysRate === "yes",
    soleClaim: soleClaim === "yes",
    retired: retired === "yes",
  }));

/** An own factor: a grid region's three gases, a residual mix, or a fuel's three gases. */
export const OWN_FACTOR_KINDS = [
  "grid-electricity",
  "residual-mix",
  "natural-gas",
  "propane",
  "fuel-oil",
] as const;

export const factorFormSchema = z
  .object({
    activity: z.enum(OWN_FACTOR_KINDS, "Choose what it is a factor of."),
    region: z
      .string()
      .default("")
      .transform((text) => text.trim().toUpperCase())
      .pipe(z.string().max(20, "Keep it within 20 characters.")),
    vintage: yearText(),
    co2: optionalNumber({ least: 0, most: 1e5 }),
    ch4: optionalNumber({ least: 0, most: 1e4 }),
    n2o: optionalNumber({ least: 0, most: 1e4 }),
    co2e: optionalNumber({ least: 0, most: 5 }),
    source: requiredText(300, "Say where it is published."),
  })
  .superRefine((form, context) => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    const isElectric = form.activity === "grid-electricity" || form.activity === "residual-mix";
    if (isElectric && form.region === "") complain("region", "Name the grid region or market.");
    if (form.activity === "residual-mix") {
      if (form.co2e === null) complain("co2e", "Enter the rate.");
      return;
    }
    for (const gas of ["co2", "ch4", "n2o"] as const) {
      if (form[gas] === null) complain(gas, "Enter the rate; 0 where the source says 0.");
    }
  });

/** A meter's reading as it stands on the bill. */
export const readingFormSchema = z
  .object({
    propertyId: z.uuid("The property is not named."),
    buildingId: z
      .string()
      .default("")
      .transform((text) => (text === "" ? null : text)),
    fuel: z.enum(FUELS, "Choose what was read."),
    from: z.string().default("").refine(isCalendarDay, "Enter the first day."),
    to: z.string().default("").refine(isCalendarDay, "Enter the last day."),
    amount: requiredNumber({ least: 0, most: 1e10 }),
    unit: z.string().refine(isReadingUnit, "Choose the unit of the bill."),
    otherAmount: optionalNumber({ least: 0, most: 1e10 }),
    source: requiredText(300, "Say which bill or meter it is."),
  })
  .superRefine((form, context) => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    if (form.to < form.from) complain("to", "Ends before it begins.");
    if (isReadingUnit(form.unit) && !readsFuel(form.unit, form.fuel)) {
      complain("unit", "This unit does not go with what was read.");
    }
    if (form.otherAmount !== null && form.otherAmount > form.amount) {
      complain("otherAmount", "Cannot be more than the whole.");
    }
  });

function isReadingUnit(unit: string): unit is ReadingUnit {
  return unit in READING_UNITS;
}

function readsFuel(unit: ReadingUnit, fuel: Fuel): boolean {
  return (READING_UNITS[unit].fuels as readonly Fuel[]).includes(fuel);
}

const holder = z.enum(["", ...METER_HOLDERS]).transform((value) => (value === "" ? null : value));
const dayOrNone = z
  .string()
  .default("")
  .transform((text) => (text === "" ? null : text))
  .refine((text) => text === null || isCalendarDay(text), "Enter a day.");

/** A property's energy: who holds its meters, how its homes are heated, how many are lived in. */
export const propertyEnergyFormSchema = z
  .object({
    version: requiredNumber({ least: 0, most: 1e9, isWhole: true }),
    fuelMeter: holder,
    electricityMeter: holder,
    otherGasAppliances: z.enum(ANSWERS),
    heatingFuel: z.enum(["", ...FUELS]),
    heatingEfficiency: optionalNumber({ least: 0.1, most: 8 }),
    coolingEfficiency: optionalNumber({ least: 0.5, most: 12 }),
    heldFrom: dayOrNone,
    heldTo: dayOrNone,
    occupied: z.string().default("").transform(readOccupied),
    usesCalibration: z.enum(YES_NO),
    floorAreaSqFt: optionalNumber({ least: 1, most: 1e8 }),
    fuelTariff: z.string().default("").transform(readTariff),
    fuelTariffSource: optionalText(300),
    electricityTariff: z.string().default("").transform(readTariff),
    electricityTariffSource: optionalText(300),
  })
  .superRefine((form, context) => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    if (form.heatingFuel !== "" && form.heatingEfficiency === null) {
      complain(
        "heatingEfficiency",
        "Enter it with the heating: 0.8 for a furnace, 1 for resistance.",
      );
    }
    if (form.fuelTariff && !form.fuelTariffSource) complain("fuelTariffSource", SAY_WHERE);
    if (form.electricityTariff && !form.electricityTariffSource) {
      complain("electricityTariffSource", SAY_WHERE);
    }
    if (form.heldFrom !== null && form.heldTo !== null && form.heldTo < form.heldFrom) {
      complain("heldTo", "Ends before it begins.");
    }
  });

const SAY_WHERE = "Say where the prices were read.";

/** `2023: 92` a line: percent of the homes lived in. */
function readOccupied(text: string, context: z.RefinementCtx): Record<string, number> {
  const shares: Record<string, number> = {};
  for (const line of text.split(/\r?\n/)) {
    if (line.trim() === "") continue;
    const match = /^\s*(\d{4})\s*[:,;\s]\s*(\d+(?:\.\d+)?)\s*%?\s*$/.exec(line);
    const percent = Number(match?.[2]);
    if (!match || percent > 150) {
      context.addIssue({
        code: "custom",
        message: `"${line.trim()}" is not a year and a percentage such as 2023: 92.`,
      });
      return z.NEVER;
    }
    shares[match[1] as string] = percent / 100;
  }
  return shares;
}

function readTariff(text: string, context: z.RefinementCtx): Tariff | null {
  const tariff = parseTariff(text);
  if (tariff.ok) return tariff.value;
  for (const { message } of tariff.problems) context.addIssue({ code: "custom", message });
  return z.NEVER;
}

/** The rules of the account: base year, target, potentials, outlook. Shares are typed in percent. */
export const termsFormSchema = z.object({
  version: requiredNumber({ least: 0, most: 1e9, isWhole: true }),
  gwpSet: z.enum(GWP_SETS, "Choose a set."),
  coverage: z.enum(COVERAGES, "Choose what is counted."),
  market: requiredText(40, "Name the market, for example US."),
  baseYear: optionalNumber({ least: 1990, most: 2150, isWhole: true }),
  thresholdPercent: requiredNumber({ least: 0, most: 100 }),
  changes: z.string().default("").transform(readChanges),
  target: z.string().default("").transform(readTarget),
  upstreamPercent: optionalNumber({ least: 0, most: 50 }),
  leakPercent: requiredNumber({ least: 0, most: 100 }),
  endOfLifePercent: requiredNumber({ least: 0, most: 100 }),
  outlook: z.string().default("").transform(readOutlook),
  outlookSource: optionalText(300),
});

/** `bought 12000 the two houses on the hill` a line: reason, kilograms a year, what changed. */
function readChanges(
  text: string,
  context: z.RefinementCtx,
): { reason: StructuralReason; kgCo2e: number; description: string }[] {
  const pattern = new RegExp(`^(${STRUCTURAL_REASONS.join("|")})\\s+(-?\\d+(?:\\.\\d+)?)\\s+(.+)$`);
  return readLines(text, context, pattern, "bought 12000 two houses", (match) => ({
    reason: match[1] as StructuralReason,
    kgCo2e: Number(match[2]),
    description: match[3] as string,
  }));
}

/** `2030: 50` a line: the cut in percent of the base year by that year. */
function readTarget(text: string, context: z.RefinementCtx): { year: number; cutShare: number }[] {
  return readLines(
    text,
    context,
    /^(\d{4})\s*[:,;\s]\s*(\d+(?:\.\d+)?)\s*%?$/,
    "2030: 50",
    (match) => ({
      year: Number(match[1]),
      cutShare: Number(match[2]) / 100,
    }),
  );
}

/** `2030: 70` or `CAMX 2030: 60` a line: the grid of a year in percent of the factor table's. */
function readOutlook(
  text: string,
  context: z.RefinementCtx,
): { region: string | null; year: number; shareOfTable: number }[] {
  const pattern = /^(?:([A-Za-z]\w*)\s+)?(\d{4})\s*[:,;\s]\s*(\d+(?:\.\d+)?)\s*%?$/;
  return readLines(text, context, pattern, "2030: 70 or CAMX 2030: 60", (match) => ({
    region: match[1]?.toUpperCase() ?? null,
    year: Number(match[2]),
    shareOfTable: Number(match[3]) / 100,
  }));
}

function readLines<T>(
  text: string,
  context: z.RefinementCtx,
  pattern: RegExp,
  example: string,
  of: (match: RegExpExecArray) => T,
): T[] {
  const read: T[] = [];
  for (const line of text.split(/\r?\n/)) {
    if (line.trim() === "") continue;
    const match = pattern.exec(line.trim());
    if (match) read.push(of(match));
    else
      context.addIssue({ code: "custom", message: `"${line.trim()}" is not such as ${example}.` });
  }
  return read;
}

/** Where a retired heater went. */
export const disposalFormSchema = z.object({
  heaterId: z.uuid("Choose the heater."),
  route: z.enum(DISPOSAL_ROUTES, "Choose where it went."),
  weighedPounds: optionalNumber({ least: 1, most: 20_000 }),
  receiver: optionalText(200),
  document: optionalText(200),
});

/** A rule of a property. The limit's steps are lines such as `2030: 120`. */
export const policyFormSchema = z
  .object({
    name: requiredText(120, "Give the rule a name."),
    propertyId: z
      .string()
      .default("")
      .transform((text) => (text === "" ? null : text)),
    kind: z.enum(["limit", "no-new-combustion", "no-combustion"], "Choose a kind."),
    from: dayOrNone,
    basis: z.enum(LIMIT_BASES),
    coverage: z.enum(COVERAGES),
    steps: z
      .string()
      .default("")
      .transform((text, context) =>
        readLines(text, context, /^(\d{4})\s*[:,;\s]\s*(\d+(?:\.\d+)?)$/, "2030: 120", (match) => ({
          fromYear: Number(match[1]),
          limitKg: Number(match[2]),
        })),
      ),
    otherKgPerYear: optionalNumber({ least: 0, most: 1e10 }),
    dollarsPerTonneOver: optionalNumber({ least: 0, most: 1e6 }),
    source: requiredText(300, "Say where the rule can be read."),
  })
  .superRefine((form, context) => {
    const complain = (path: string, message: string) =>
      context.addIssue({ code: "custom", path: [path], message });
    if (form.kind === "limit" && form.steps.length === 0) {
      complain("steps", "Enter at least one year with its limit.");
    }
    if (form.kind !== "limit" && form.from === null) complain("from", "Enter the first day.");
  });
