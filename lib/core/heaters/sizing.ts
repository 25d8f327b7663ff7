import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import type { Home, Nameplate } from "./heater";
import {
  APARTMENT_DEMAND,
  type HotWaterUse,
  type MinimumCapacity,
  minimumCapacity,
  WORKSHEETS,
  type WorksheetEdition,
} from "./sizing-tables";
import { type DemandLevel, hasTank, isCombustion, isHeatPump, type Technology } from "./vocabulary";

/** What sizing needs to know of a heater and the homes behind it. */
export type SizedHeater = {
  readonly technology: Technology;
  readonly nameplate: Pick<
    Nameplate,
    "volumeGal" | "firstHourGal" | "inputBtuPerHour" | "inputWatts" | "uniformEnergyFactor"
  >;
  readonly home: Pick<Home, "bedrooms" | "bathrooms" | "occupants" | "homesServed">;
};

/** How often each use happens in the busiest hour of the day. */
export type PeakHourUses = Readonly<Partial<Record<HotWaterUse, number>>>;

/**
 * Hot water of the busiest hour in gallons, by the peak-hour worksheet.
 * @throws {RangeError} when a use is negative or not a number.
 */
export function peakHourDemandGal(uses: PeakHourUses, edition: WorksheetEdition = "older"): number {
  const { gallons } = WORKSHEETS[edition];
  return (Object.entries(uses) as [HotWaterUse, number][]).reduce(
    (sum, [use, times]) => sum + requireAtLeastZero(use, times) * gallons[use],
    0,
  );
}

/**
 * Uses of the busiest hour of a home where nobody has counted them (an assumption, to be edited):
 * every second person showers, at least one, then a meal is prepared and hands are washed.
 */
export function assumedUses(people: number): PeakHourUses {
  requirePositive("people", people);
  return {
    shower: Math.max(1, Math.ceil(people / 2)),
    "hands-and-face": 1,
    "food-preparation": 1,
  };
}

/** Hot water of the busiest hour of `people` behind one shared plant, gallons. */
export function apartmentPeakHourGal(people: number, level: DemandLevel): number {
  return requireAtLeastZero("people", people) * APARTMENT_DEMAND[level].peakHourGal;
}

/** Share of a tank that is drawn before it runs cool (as quoted from an ASHRAE example: 70 % net usable). */
export const USABLE_SHARE = 0.7;
/** Pounds of water in a gallon, in the trade's recovery formula. */
const POUNDS_PER_GALLON = 8.25;
/** Rise of the trade's recovery ratings, degrees Fahrenheit. */
const RECOVERY_RISE_F = 90;

/**
 * Gallons an hour that a heater brings up by `riseF`: input × efficiency / (8.25 lb/gal × rise)
 * (common practice, no source).
 * @throws {RangeError} when an argument is not above zero.
 */
export function recoveryGph(
  inputBtuPerHour: number,
  recoveryEfficiency: number,
  riseF: number = RECOVERY_RISE_F,
): number {
  requirePositive("inputBtuPerHour", inputBtuPerHour);
  requirePositive("recoveryEfficiency", recoveryEfficiency);
  requirePositive("riseF", riseF);
  return (inputBtuPerHour * recoveryEfficiency) / (POUNDS_PER_GALLON * riseF);
}

/** Heat in Btu per hour that brings up `gallonsPerHour` by `riseF`: the same ratio without losses. */
export function recoveryHeatBtuPerHour(gallonsPerHour: number, riseF: number): number {
  requireAtLeastZero("gallonsPerHour", gallonsPerHour);
  return POUNDS_PER_GALLON * gallonsPerHour * requirePositive("riseF", riseF);
}

/** First-hour rating in gallons where the nameplate lacks it: 0.70 × storage + recovery (trade). */
export function estimateFirstHourGal(volumeGal: number, gallonsPerHour: number): number {
  return (
    USABLE_SHARE * requirePositive("volumeGal", volumeGal) +
    requireAtLeastZero("gallonsPerHour", gallonsPerHour)
  );
}

/** Heat into the water per energy in while recovering: 0.76 for gas tanks, from memory; elements lose almost nothing. */
const GAS_RECOVERY_EFFICIENCY = 0.76;
const ELEMENT_RECOVERY_EFFICIENCY = 0.98;
/** A plug-in heat pump has no elements; its energy factor stands in, or this one (assumed). */
const PLUG_IN_ENERGY_FACTOR = 2.8;

/** A rating within this many gallons below the demand is still a match (DOE worksheet, as quoted). */
const MATCH_WITHIN_GAL = 2;

export type SizingVerdict = "enough" | "close" | "short" | "unknown";

export type SizingCheck = {
  readonly verdict: SizingVerdict;
  /** Busiest hour, gallons; null when nothing is known of the people. */
  readonly demandGal: number | null;
  /** First-hour rating, gallons. */
  readonly firstHourGal: number | null;
  readonly firstHourEvidence: "nameplate" | "estimate" | null;
  /** Rating minus demand, gallons. */
  readonly marginGal: number | null;
  /** The published minimum for a home of this size; null beyond the table or when it is not known. */
  readonly minimum: MinimumCapacity | null;
  /** Whether the storage meets that minimum; null when either is not known. */
  readonly meetsMinimumStorage: boolean | null;
  /** What the verdict rests on and what is missing, in sentences. */
  readonly notes: readonly string[];
};

/**
 * Whether a heater is large enough: its first-hour rating against the busiest hour, and its storage
 * against the published minimum capacity.
 *
 * One home is counted by the peak-hour worksheet, several behind one heater by the apartment table.
 * People not on record are taken as one more than the bedrooms (assumed).
 */
export function checkSizing(
  heater: SizedHeater,
  {
    uses = null,
    edition = "older",
    demandLevel = "medium",
  }: {
    /** Uses of the busiest hour where they were counted. */
    readonly uses?: PeakHourUses | null;
    readonly edition?: WorksheetEdition;
    readonly demandLevel?: DemandLevel;
  } = {},
): SizingCheck {
  const notes: string[] = [];
  const demandGal = demandOf(heater.home, { uses, edition, demandLevel }, notes);
  const rating = ratingOf(heater, notes);
  const minimum = minimumOf(heater, notes);
  const { volumeGal } = heater.nameplate;
  const marginGal = demandGal === null || rating === null ? null : rating.firstHourGal - demandGal;
  return {
    verdict: verdictOf(marginGal),
    demandGal,
    firstHourGal: rating?.firstHourGal ?? null,
    firstHourEvidence: rating?.evidence ?? null,
    marginGal,
    minimum,
    meetsMinimumStorage:
      minimum === null || volumeGal === null ? null : volumeGal >= minimum.storageGal,
    notes,
  };
}

function verdictOf(marginGal: number | null): SizingVerdict {
  if (marginGal === null) return "unknown";
  if (marginGal >= 0) return "enough";
  return marginGal >= -MATCH_WITHIN_GAL ? "close" : "short";
}

function demandOf(
  home: SizedHeater["home"],
  terms: {
    readonly uses: PeakHourUses | null;
    readonly edition: WorksheetEdition;
    readonly demandLevel: DemandLevel;
  },
  notes: string[],
): number | null {
  const { evidence } = WORKSHEETS[terms.edition];
  if (terms.uses !== null) {
    notes.push(`Busiest hour counted by the ${terms.edition} peak-hour worksheet (${evidence}).`);
    return peakHourDemandGal(terms.uses, terms.edition);
  }
  let people = home.occupants;
  if (people === null && home.bedrooms !== null) {
    people = home.bedrooms + 1;
    notes.push(`People not on record: ${people} assumed, one more than the bedrooms.`);
  }
  if (people === null || people === 0) {
    notes.push("The people and bedrooms are not on record, so the demand is not known.");
    return null;
  }
  if (home.homesServed > 1) {
    notes.push(
      `Shared by ${home.homesServed} homes: apartment table at ${terms.demandLevel} demand, ${APARTMENT_DEMAND[terms.demandLevel].evidence}. Its people are counted together.`,
    );
    return apartmentPeakHourGal(people, terms.demandLevel);
  }
  const uses = assumedUses(people);
  notes.push(
    `Busiest hour assumed for ${people} ${people === 1 ? "person" : "people"}: ${describeUses(uses)} (${terms.edition} peak-hour worksheet, ${evidence}).`,
  );
  return peakHourDemandGal(uses, terms.edition);
}

function describeUses(uses: PeakHourUses): string {
  return Object.entries(uses)
    .map(([use, times]) => `${times} × ${use.replaceAll("-", " ")}`)
    .join(", ");
}

function ratingOf(
  { technology, nameplate }: SizedHeater,
  notes: string[],
): { readonly firstHourGal: number; readonly evidence: "nameplate" | "estimate" } | null {
  if (nameplate.firstHourGal !== null) {
    return { firstHourGal: nameplate.firstHourGal, evidence: "nameplate" };
  }
  if (!hasTank(technology)) {
    notes.push("Tankless heaters are rated by flow, not by their first hour.");
    return null;
  }
  if (nameplate.volumeGal === null) {
    notes.push("Neither the first-hour rating nor the storage is on record.");
    return null;
  }
  const inputBtuPerHour = isCombustion(technology)
    ? nameplate.inputBtuPerHour
    : nameplate.inputWatts === null
      ? null
      : (nameplate.inputWatts / 1000) * BTU_PER_KWH;
  if (inputBtuPerHour === null) {
    notes.push("The input is not on record, so its recovery is not counted.");
    return {
      firstHourGal: estimateFirstHourGal(nameplate.volumeGal, 0),
      evidence: "estimate",
    };
  }
  const efficiency = isCombustion(technology)
    ? GAS_RECOVERY_EFFICIENCY
    : technology === "heat-pump-plug-in"
      ? (nameplate.uniformEnergyFactor ?? PLUG_IN_ENERGY_FACTOR)
      : ELEMENT_RECOVERY_EFFICIENCY;
  notes.push("First-hour rating estimated from storage and input: 0.70 × storage + recovery.");
  if (isHeatPump(technology)) {
    notes.push(
      "A heat pump's rating differs by mode; read it from the label before relying on it.",
    );
  }
  return {
    firstHourGal: estimateFirstHourGal(
      nameplate.volumeGal,
      recoveryGph(inputBtuPerHour, efficiency),
    ),
    evidence: "estimate",
  };
}

function minimumOf({ technology, home }: SizedHeater, notes: string[]): MinimumCapacity | null {
  if (home.homesServed > 1 || !hasTank(technology)) return null;
  if (home.bedrooms === null || home.bathrooms === null) {
    notes.push("Bedrooms or bathrooms are not on record, so the minimum capacity is not known.");
    return null;
  }
  const minimum = minimumCapacity(isCombustion(technology) ? "gas" : "electric", {
    bedrooms: home.bedrooms,
    bathrooms: home.bathrooms,
  });
  if (minimum === null) notes.push("The home is larger than the minimum-capacity table.");
  return minimum;
}
