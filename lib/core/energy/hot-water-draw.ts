import type { DemandLevel } from "@/lib/core/heaters/vocabulary";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { heatOfWaterBtu } from "./water";

/**
 * Hot water of one day, kept apart by how warm it is wanted. Showers and basins want a warm mixture:
 * a hotter tank gives less of its own water to it, so the heat drawn does not grow with the setpoint.
 * Washing machines and dishwashers fill with water as hot as it comes.
 */
export type DailyDraw = {
  /** Gallons a day at {@link MIXED_USE_F}, the waste while waiting for warm water included. */
  readonly mixedGallons: number;
  /** Gallons a day of water at the setpoint. */
  readonly hotGallons: number;
};

/** Temperature of mixed water at the tap: 105 °F (ANSI/RESNET 301-2014 Addendum A-2015, as in NREL's public model source). */
export const MIXED_USE_F = 105;

/**
 * Daily draw of a home by its bedrooms, the standard's reference home.
 *
 * Fixtures 14.6 + 10.0·bedrooms and waste 9.8·bedrooms^0.43 in gallons a day of mixed water:
 * ANSI/RESNET 301-2014 Addendum A-2015, section 4.2.2.5.1.4 and equation 4.2-2 (seen in NREL's public
 * model source). A studio counts as zero bedrooms.
 */
export function drawOfBedrooms(bedrooms: number): DailyDraw {
  requireAtLeastZero("bedrooms", bedrooms);
  return {
    mixedGallons: 14.6 + 10.0 * bedrooms + 9.8 * bedrooms ** 0.43,
    hotGallons: machinesOfBedrooms(bedrooms),
  };
}

/**
 * Daily draw of a home by the people in it.
 *
 * Fixtures max(0, −4.84 + 18.6·people) and waste 7.16·people^0.7 in gallons a day of mixed water:
 * Parker, Fairey and Lutz, "Estimating Daily Domestic Hot-Water Use in North American Homes", ASHRAE
 * Transactions 121 part 2 (2015), report FSEC-PF-464-15, equation 14 and the waste term that goes with
 * it (seen in NREL's public model source). The paper's data are single-family homes.
 */
export function drawOfOccupants(occupants: number): DailyDraw {
  requireAtLeastZero("occupants", occupants);
  if (occupants === 0) return { mixedGallons: 0, hotGallons: 0 };
  return {
    mixedGallons: Math.max(0, -4.84 + 18.6 * occupants) + 7.16 * occupants ** 0.7,
    hotGallons: machinesOfBedrooms(bedroomsOfOccupants(occupants)),
  };
}

/**
 * Average day of an apartment house in gallons a person at about 120 °F: low 14, medium 30, high 54.
 *
 * ASHRAE Handbook, HVAC Applications, chapter Service Water Heating, apartment guideline table
 * (average-day values from memory; the peaks of the same table are quoted in the sizing notes). The
 * table is made for sizing central plants: measured use in homes with their own heater is nearer to
 * its low row.
 */
export const GALLONS_PER_PERSON: Readonly<Record<DemandLevel, number>> = {
  low: 14,
  medium: 30,
  high: 54,
};

/** Temperature the apartment table's gallons are counted at. */
const DEMAND_TABLE_F = 120;
/** Cold water to which the table's gallons are referred when they are turned into mixed water. */
const DEMAND_TABLE_INLET_F = 58;

/** Daily draw of people at a demand level of the apartment table, as the same heat in mixed water. */
export function drawOfDemandLevel(level: DemandLevel, people: number): DailyDraw {
  requireAtLeastZero("people", people);
  const hotGallons = GALLONS_PER_PERSON[level] * people;
  const dilution = (DEMAND_TABLE_F - DEMAND_TABLE_INLET_F) / (MIXED_USE_F - DEMAND_TABLE_INLET_F);
  return { mixedGallons: hotGallons * dilution, hotGallons: 0 };
}

/** The same draw, `factor` times. */
export function scaleDraw(draw: DailyDraw, factor: number): DailyDraw {
  requireAtLeastZero("factor", factor);
  return { mixedGallons: draw.mixedGallons * factor, hotGallons: draw.hotGallons * factor };
}

/** Heat in Btu that a day's draw takes from the heater. */
export function deliveredBtuPerDay(draw: DailyDraw, setpointF: number, inletF: number): number {
  return (
    heatOfWaterBtu(draw.mixedGallons, inletF, Math.max(inletF, Math.min(MIXED_USE_F, setpointF))) +
    heatOfWaterBtu(draw.hotGallons, inletF, Math.max(inletF, setpointF))
  );
}

/** Gallons a day that leave the heater at its setpoint for this draw. */
export function gallonsAtSetpoint(draw: DailyDraw, setpointF: number, inletF: number): number {
  if (setpointF <= inletF) return draw.mixedGallons + draw.hotGallons;
  return deliveredBtuPerDay(draw, setpointF, inletF) / heatOfWaterBtu(1, inletF, setpointF);
}

/**
 * Dishwasher and clothes washer, gallons a day of hot water: (88.4 + 34.9·bedrooms)·8.16/365 and
 * 4.52·(164 + 46.5·bedrooms)·((3·2.08 + 1.59)/(2.874·2.08 + 1.59))/365. ANSI/RESNET 301-2014
 * Addendum A-2015, section 4.2.2.5.1.4 (washer seen in NREL's public model source; dishwasher from
 * memory).
 */
function machinesOfBedrooms(bedrooms: number): number {
  const dishwasher = ((88.4 + 34.9 * bedrooms) * 8.16) / 365;
  const washer =
    (4.52 * (164 + 46.5 * bedrooms) * ((3 * 2.08 + 1.59) / (2.874 * 2.08 + 1.59))) / 365;
  return dishwasher + washer;
}

/** Bedrooms equivalent to a number of people in an apartment, −0.68 + 1.09·people: as used with the 2015 equations in NREL's public model source (from memory). */
function bedroomsOfOccupants(occupants: number): number {
  return Math.max(0, -0.68 + 1.09 * occupants);
}
