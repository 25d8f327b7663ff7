import type { Fuel } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  type CalendarDay,
  dayFromParts,
  dayNumber,
  daysBetween,
  daysInMonth,
  maxDay,
  minDay,
  monthOf,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import type { MeteredPeriod } from "./calibration";
import type { Monthly } from "./months";

/** What a meter of a property, or of one of its buildings, read over a period. */
export type MeterReading = {
  readonly id: string;
  readonly fuel: Fuel;
  /** The building whose heaters it reads; null for all heaters of the property. */
  readonly buildingId: string | null;
  /** First and last day, both included. */
  readonly from: CalendarDay;
  readonly to: CalendarDay;
  /** Therms (100,000 Btu) of a fuel, kilowatt hours of electricity. */
  readonly units: number;
  /** Part of `units` that went into other uses than hot water, as estimated by whoever entered it. */
  readonly otherUnits: number;
};

/** Units a meter may be read in, and what one of them is in therms or kilowatt hours. */
export const READING_UNITS = {
  therm: { label: "therms", fuels: ["natural-gas", "propane", "fuel-oil"], factor: 1 },
  // 1.026e-3 mmBtu per standard cubic foot: 40 CFR 98 table C-1, as quoted.
  ccf: { label: "hundred cubic feet (ccf)", fuels: ["natural-gas"], factor: 1.026 },
  // Heat per gallon: propane 0.091 mmBtu, distillate No. 2 0.138 mmBtu; same table.
  "gallon-propane": { label: "gallons of propane", fuels: ["propane"], factor: 0.91 },
  "gallon-oil": { label: "gallons of fuel oil", fuels: ["fuel-oil"], factor: 1.38 },
  kwh: { label: "kilowatt hours (kWh)", fuels: ["electricity"], factor: 1 },
  mwh: { label: "megawatt hours (MWh)", fuels: ["electricity"], factor: 1000 },
} as const satisfies Record<
  string,
  { readonly label: string; readonly fuels: readonly Fuel[]; readonly factor: number }
>;
export type ReadingUnit = keyof typeof READING_UNITS;

/** Hot-water energy of a reading: what was read less what was estimated for other uses. */
export function hotWaterUnits(reading: Pick<MeterReading, "units" | "otherUnits">): number {
  return Math.max(0, reading.units - reading.otherUnits);
}

/**
 * Readings that would count the same energy twice: of one fuel, on a common day, over the same
 * building (a reading of the whole property is over every building).
 */
export function overlapOf(
  reading: Omit<MeterReading, "id">,
  others: readonly MeterReading[],
): MeterReading | null {
  return (
    others.find(
      (other) =>
        other.fuel === reading.fuel &&
        other.from <= reading.to &&
        other.to >= reading.from &&
        (other.buildingId === null ||
          reading.buildingId === null ||
          other.buildingId === reading.buildingId),
    ) ?? null
  );
}

/** Days from `from` to `to`, both included. */
export type Period = { readonly from: CalendarDay; readonly to: CalendarDay };

/** The calendar year as a period. */
export function yearPeriod(year: number): Period {
  return { from: dayFromParts(year, 1, 1), to: dayFromParts(year, 12, 31) };
}

/** Number of days of a period; 0 when it ends before it begins. */
export function daysOf({ from, to }: Period): number {
  return Math.max(0, daysBetween(from, to) + 1);
}

/** Days that two periods share; null when they share none. */
export function intersect(a: Period, b: Period): Period | null {
  const from = maxDay(a.from, b.from);
  const to = minDay(a.to, b.to);
  return from <= to ? { from, to } : null;
}

/**
 * What a monthly model says for a period. A month's energy is spread evenly over its days, so that a
 * whole calendar year is the model's year, leap year or not.
 */
export function unitsInPeriod(monthly: Monthly, { from, to }: Period): number {
  let units = 0;
  const [first, last] = [partsOf(from), partsOf(to)];
  for (
    let { year, month } = first;
    year < last.year || (year === last.year && month <= last.month);
  ) {
    const length = daysInMonth(year, month);
    const isFirst = year === first.year && month === first.month;
    const isLast = year === last.year && month === last.month;
    const days = (isLast ? last.day : length) - (isFirst ? first.day : 1) + 1;
    units += ((monthly[month - 1] as number) * days) / length;
    month += 1;
    if (month > 12) {
      month = 1;
      year += 1;
    }
  }
  return units;
}

function partsOf(day: CalendarDay) {
  return { year: yearOf(day), month: monthOf(day), day: Number(day.slice(8, 10)) };
}

/** A heater's modelled use of one fuel while it was in service. */
export type ModelledUse = {
  readonly buildingId: string;
  readonly fuel: Fuel;
  readonly service: Period;
  /** Therms or kilowatt hours of each month. */
  readonly monthly: Monthly;
};

/** What the model says for the heaters and days of a reading, in the reading's unit. */
export function modelledUnitsOf(
  reading: Pick<MeterReading, "fuel" | "buildingId" | "from" | "to">,
  uses: readonly ModelledUse[],
): number {
  let units = 0;
  for (const use of uses) {
    if (use.fuel !== reading.fuel) continue;
    if (reading.buildingId !== null && use.buildingId !== reading.buildingId) continue;
    const shared = intersect(use.service, reading);
    if (shared) units += unitsInPeriod(use.monthly, shared);
  }
  return units;
}

/**
 * Readings beside the model, in Btu so that gas and electricity may stand together. A reading for
 * which the model has no heater says nothing about the model and is left out.
 */
export function meteredPeriods(
  readings: readonly MeterReading[],
  uses: readonly ModelledUse[],
  btuPerUnit: (fuel: Fuel) => number,
): readonly MeteredPeriod[] {
  return readings.flatMap((reading) => {
    const modelled = modelledUnitsOf(reading, uses);
    if (modelled === 0) return [];
    const btu = btuPerUnit(reading.fuel);
    return [{ meteredUnits: hotWaterUnits(reading) * btu, modelledUnits: modelled * btu }];
  });
}

/** Days of `period` that no reading of the fuel covers for a building, as periods in order. */
export function daysWithoutReading(
  period: Period,
  of: { readonly fuel: Fuel; readonly buildingId: string },
  readings: readonly MeterReading[],
): readonly Period[] {
  const covering = readings
    .filter(
      (reading) =>
        reading.fuel === of.fuel &&
        (reading.buildingId === null || reading.buildingId === of.buildingId) &&
        reading.from <= period.to &&
        reading.to >= period.from,
    )
    .sort((a, b) => (a.from < b.from ? -1 : a.from > b.from ? 1 : 0));
  const open: Period[] = [];
  let { from } = period;
  for (const reading of covering) {
    if (reading.from > from) open.push({ from, to: addDays(reading.from, -1) });
    from = maxDay(from, addDays(reading.to, 1));
  }
  if (from <= period.to) open.push({ from, to: period.to });
  return open;
}

/** The part of a reading that falls into a period, by days. */
export function readingInPeriod(reading: MeterReading, period: Period): number {
  const shared = intersect(reading, period);
  if (!shared) return 0;
  return (hotWaterUnits(reading) * daysOf(shared)) / daysOf(reading);
}

/** Middle day of a bracket. */
export function middleDay(earliest: CalendarDay, latest: CalendarDay): CalendarDay {
  return addDays(earliest, Math.floor((dayNumber(latest) - dayNumber(earliest)) / 2));
}
