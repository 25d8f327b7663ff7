import { burntFuel, type MonthlyUse } from "@/lib/core/energy/annual-energy";
import {
  daysOf,
  daysWithoutReading,
  intersect,
  type MeterReading,
  type Period,
  readingInPeriod,
  unitsInPeriod,
} from "@/lib/core/energy/meter-readings";
import {
  type HeaterMeters,
  metersOfHeater,
  metersOfHomes,
  type PropertyMeters,
} from "@/lib/core/energy/meters";
import { sumOf } from "@/lib/core/energy/months";
import type { Heater } from "@/lib/core/heaters/heater";
import type { Fuel } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Basis } from "./annual-emissions";

/** One heater's energy of one fuel in a year, from one kind of evidence: what an auditor follows up. */
export type AccountRow = {
  readonly propertyId: string;
  /** Null for a reading of the whole property behind which no heater of the fuel is on record. */
  readonly buildingId: string | null;
  /** Null for a reading behind which no heater of the fuel is on record. */
  readonly heaterId: string | null;
  readonly fuel: Fuel;
  /** First and last day that the amount is of. */
  readonly from: CalendarDay;
  readonly to: CalendarDay;
  readonly days: number;
  /** Therms of a fuel, kilowatt hours of electricity. */
  readonly units: number;
  readonly basis: Basis;
  /** The reading that the amount is a part of. */
  readonly readingId: string | null;
  readonly meteredBy: HeaterMeters;
  /** True for time before the first heater on record in its home. */
  readonly isFilled: boolean;
};

/** A heater's service within the year, with its modelled months. */
export type ModelledService = {
  readonly heater: Heater;
  readonly period: Period;
  readonly isFilled: boolean;
  readonly monthly: MonthlyUse;
};

/**
 * The rows of a property's year. Days that a meter read take their energy from it, shared out between
 * its heaters as the model would have it; all other days take the model's.
 */
export function rowsOfYear({
  propertyId,
  held,
  meters,
  readings,
  services,
  factor,
  basis,
}: {
  readonly propertyId: string;
  /** The part of the year in which the property is in the account. */
  readonly held: Period;
  readonly meters: PropertyMeters;
  readonly readings: readonly MeterReading[];
  readonly services: readonly ModelledService[];
  /** What modelled energy is multiplied by. */
  readonly factor: number;
  /** What modelled energy is called. */
  readonly basis: Basis;
}): readonly AccountRow[] {
  const inYear = readings.filter(({ from, to }) => from <= held.to && to >= held.from);
  const behind = new Map<string, { row: Omit<AccountRow, "units">; weight: number }[]>(
    inYear.map(({ id }) => [id, []]),
  );
  const rows: AccountRow[] = [];
  for (const { heater, period, isFilled, monthly } of services) {
    const { fuel: fuelMeter, electricity } = metersOfHeater(heater, meters);
    const common = {
      propertyId,
      buildingId: heater.buildingId,
      heaterId: heater.id,
      meteredBy: { fuel: fuelMeter, electricity },
      isFilled,
    };
    for (const [fuel, units] of [
      [burntFuel(heater), monthly.therms],
      ["electricity", monthly.kwh],
    ] as const) {
      if (sumOf(units) === 0) continue;
      const open = daysWithoutReading(period, { fuel, buildingId: heater.buildingId }, inYear);
      const [first] = open;
      if (first) {
        rows.push({
          ...common,
          fuel,
          from: first.from,
          to: (open.at(-1) ?? first).to,
          days: open.reduce((sum, each) => sum + daysOf(each), 0),
          units: factor * open.reduce((sum, each) => sum + unitsInPeriod(units, each), 0),
          basis,
          readingId: null,
        });
      }
      for (const reading of inYear) {
        if (reading.fuel !== fuel || !reads(reading, heater)) continue;
        const shared = intersect(period, reading);
        if (!shared) continue;
        behind.get(reading.id)?.push({
          row: {
            ...common,
            fuel,
            ...shared,
            days: daysOf(shared),
            basis: "metered",
            readingId: reading.id,
          },
          weight: unitsInPeriod(units, shared),
        });
      }
    }
  }
  for (const reading of inYear) {
    rows.push(
      ...rowsOfReading(reading, behind.get(reading.id) ?? [], { propertyId, held, meters }),
    );
  }
  return rows;
}

function reads(reading: MeterReading, { buildingId }: Heater): boolean {
  return reading.buildingId === null || reading.buildingId === buildingId;
}

/** A reading's part of the year, shared out between its heaters as the model would have it. */
function rowsOfReading(
  reading: MeterReading,
  heaters: readonly { readonly row: Omit<AccountRow, "units">; readonly weight: number }[],
  {
    propertyId,
    held,
    meters,
  }: { readonly propertyId: string; readonly held: Period; readonly meters: PropertyMeters },
): readonly AccountRow[] {
  const period = intersect(reading, held);
  if (!period) return [];
  const units = readingInPeriod(reading, period);
  const total = heaters.reduce((sum, { weight }) => sum + weight, 0);
  if (total > 0) {
    return heaters.map(({ row, weight }) => ({ ...row, units: (units * weight) / total }));
  }
  if (units === 0) return [];
  const { fuel, electricity } = metersOfHomes(meters);
  return [
    {
      propertyId,
      buildingId: reading.buildingId,
      heaterId: null,
      fuel: reading.fuel,
      ...period,
      days: daysOf(period),
      units,
      basis: "metered",
      readingId: reading.id,
      meteredBy: { fuel, electricity },
      isFilled: false,
    },
  ];
}
