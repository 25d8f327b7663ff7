import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import { recoveryHeatBtuPerHour, USABLE_SHARE } from "./sizing";
import { APARTMENT_DEMAND, APARTMENT_WINDOWS, FIXTURE_DEMAND, type Fixture } from "./sizing-tables";
import type { DemandLevel } from "./vocabulary";

/** Recovery and storage of a plant for several homes. */
export type PlantSize = {
  /** Gallons an hour that it heats. */
  readonly recoveryGph: number;
  /** Hot water that can be drawn before it runs cool, gallons. */
  readonly usableGal: number;
  /** Tank volume: usable ÷ 0.70. */
  readonly storageGal: number;
};

function plantOf(recoveryGph: number, usableGal: number): PlantSize {
  return { recoveryGph, usableGal, storageGal: usableGal / USABLE_SHARE };
}

/**
 * Plant of an apartment house by its fixtures (method 1 of the ASPE handbook, as quoted): what all
 * fixtures draw in an hour times the demand factor is the least recovery, and 1.25 times that the least
 * storage. It knows nothing of who lives there.
 * @throws {RangeError} when a count is negative.
 */
export function plantByFixtures(
  counts: Readonly<Partial<Record<Fixture, number>>>,
): PlantSize & { readonly possibleGph: number } {
  const { gallonsPerHour, demandFactor, storageFactor } = FIXTURE_DEMAND;
  const possibleGph = (Object.entries(counts) as [Fixture, number][]).reduce(
    (sum, [fixture, count]) => sum + requireAtLeastZero(fixture, count) * gallonsPerHour[fixture],
    0,
  );
  const recoveryGph = demandFactor * possibleGph;
  return { possibleGph, ...plantOf(recoveryGph, storageFactor * recoveryGph) };
}

/**
 * Plant of an apartment house by its people (method 2 of the ASPE handbook, 30 minutes and 3 hours, as
 * quoted): the busiest half hour as recovery an hour, the busiest three hours as usable storage.
 * @throws {RangeError} when there are fewer than no people.
 */
export function plantByPeople(people: number, level: DemandLevel): PlantSize {
  requireAtLeastZero("people", people);
  return plantOf(people * mostWithin(level, 30), people * mostWithin(level, 180));
}

/** Most that one person draws within a window of the table, gallons. */
export function mostWithin(
  level: DemandLevel,
  minutes: (typeof APARTMENT_WINDOWS)[number],
): number {
  return APARTMENT_DEMAND[level].mostWithinGal[APARTMENT_WINDOWS.indexOf(minutes)] as number;
}

/** What a central heat pump is sized from. */
export type HeatPumpPlantTerms = {
  readonly people: number;
  readonly homes: number;
  readonly level: DemandLevel;
  /** Hours that the heat pumps run on the greatest day, above 0 to 24; the rest is for defrost and rest. */
  readonly runHours: number;
  /** Temperature in the tank and of the coldest water coming in, degrees Fahrenheit. */
  readonly storageF: number;
  readonly coldestInletF: number;
  /** Heat out per electricity in on the coldest day, no unit. */
  readonly coefficientOfPerformance: number;
  /** Steady loss of the recirculation loop, watts a home; 0 without a loop. */
  readonly loopWattsPerHome: number;
};

/** Temperature at which the apartment table counts its gallons. */
export const TABLE_F = 120;

export type HeatPumpPlant = PlantSize & {
  /** Greatest day, gallons at 120 °F. */
  readonly greatestDayGal: number;
  /** Heat that the heat pumps must give, water and loop, Btu an hour. */
  readonly heatBtuPerHour: number;
  /** Electricity at that output, kilowatts. */
  readonly electricKw: number;
};

/**
 * Recovery and storage of a central heat pump: it makes the greatest day's hot water within its run
 * hours, and the tank alone carries the busiest three hours, when it may be defrosting or at rest. The
 * greatest day and the three hours are those of the apartment table; more recovery with less storage
 * meets the same profile (ASHRAE Handbook 2019, HVAC Applications, chapter 51).
 *
 * Gallons of the table are at 120 °F. Water stored hotter is mixed down, so that fewer gallons of it do,
 * in proportion to the rise.
 *
 * @throws {RangeError} when a term is outside its range.
 */
export function sizeHeatPumpPlant(terms: HeatPumpPlantTerms): HeatPumpPlant {
  const people = requirePositive("people", terms.people);
  const runHours = requirePositive("runHours", terms.runHours);
  if (runHours > 24) throw new RangeError(`runHours must be at most 24, got ${runHours}`);
  requireAtLeastZero("homes", terms.homes);
  requireAtLeastZero("loopWattsPerHome", terms.loopWattsPerHome);
  requirePositive("coefficientOfPerformance", terms.coefficientOfPerformance);
  const { storageF, coldestInletF } = terms;
  if (!(storageF >= TABLE_F && coldestInletF < TABLE_F)) {
    throw new RangeError(
      `storageF must be at least ${TABLE_F} and coldestInletF below it, got ${storageF} and ${coldestInletF}`,
    );
  }
  const greatestDayGal = people * APARTMENT_DEMAND[terms.level].greatestDayGal;
  const recoveryGph = greatestDayGal / runHours;
  const tableRiseF = TABLE_F - coldestInletF;
  const mixed = tableRiseF / (storageF - coldestInletF);
  const loopBtuPerHour = ((terms.homes * terms.loopWattsPerHome) / 1000) * BTU_PER_KWH;
  // The loop loses heat all day; it is made up within the run hours.
  const heatBtuPerHour =
    recoveryHeatBtuPerHour(recoveryGph, tableRiseF) + (loopBtuPerHour * 24) / runHours;
  return {
    ...plantOf(recoveryGph * mixed, people * mostWithin(terms.level, 180) * mixed),
    greatestDayGal,
    heatBtuPerHour,
    electricKw: heatBtuPerHour / BTU_PER_KWH / terms.coefficientOfPerformance,
  };
}

/** What the plant of a building starts from; every number is assumed and meant to be edited. */
export const DEFAULT_PLANT = {
  /** Common practice for heat-pump plants, no source. */
  runHours: 16,
  /** ASHRAE Guideline 12-2000, section 4.1.6, as quoted: store at 140 °F or above in buildings at risk. */
  storageF: 140,
  coefficientOfPerformance: 2.5,
  loopWattsPerHome: 100,
} as const;
