import type { PropertyRecord } from "@/lib/core/emissions/property-account";
import { serviceHistory } from "@/lib/core/emissions/service-history";
import { burntFuel, computeMonthlyUse, energyInputOf } from "@/lib/core/energy/annual-energy";
import {
  intersect,
  type ModelledUse,
  modelledUnitsOf,
  type Period,
  READING_UNITS,
  type ReadingUnit,
  yearPeriod,
} from "@/lib/core/energy/meter-readings";
import {
  energyContextOf,
  type PropertyEnergy,
  UNKNOWN_PROPERTY_ENERGY,
} from "@/lib/core/energy/property-energy";
import type { Fuel } from "@/lib/core/heaters/vocabulary";
import {
  type CalendarDay,
  dayFromParts,
  daysInMonth,
  monthOf,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import type { IdMaker } from "./ids";
import type { DemoRandom } from "./random";
import type { MeterReadingRow } from "./rows";
import { TRUE_METERS } from "./truth";

/** Properties in a cycle: what must be present goes by the position in it. */
const CYCLE = 24;
/** Months that the meters have been read. */
const MONTHS_READ = 36;
/** Position of the property whose gas meter also reads a laundry room, and the laundry's share. */
const LAUNDRY = { position: 9, share: 0.08 } as const;
/** Position of the property whose gas is billed in hundred cubic feet. */
const BILLED_IN_CCF = 3;

/** The true factor of a property's meters; null where the owner holds none. */
export function trueMeterFactor(index: number): number | null {
  return TRUE_METERS.factorByPosition.get(index % CYCLE) ?? null;
}

/**
 * Whether the owner's meters of a property have readings: those of the first cycle only, so that a
 * large portfolio is made as fast as before.
 */
export function hasReadings(index: number): boolean {
  return index < CYCLE && trueMeterFactor(index) !== null;
}

/**
 * What is on record about a property's energy: the owner's meters by the stated positions, residents'
 * in a third of the others, nothing in the rest. Every fourth property has stood partly empty.
 */
export function makeEnergy(random: DemoRandom, index: number, today: CalendarDay): PropertyEnergy {
  const isOwners = trueMeterFactor(index) !== null;
  const holder = isOwners ? "owner" : index % 3 === 2 ? "resident" : null;
  const thisYear = yearOf(today);
  const occupied = [thisYear - 3, thisYear - 2, thisYear - 1].map(
    (year) => [String(year), random.whole(88, 98) / 100] as const,
  );
  return {
    ...UNKNOWN_PROPERTY_ENERGY,
    meters: { fuel: holder, electricity: holder },
    usesCalibration: isOwners,
    occupiedShare: index % 4 === 3 ? Object.fromEntries(occupied) : {},
  };
}

/**
 * Monthly readings of the owner's meters of the last three years, by the stated truth. The property
 * is given as the account reads it, so that the model is the account's own.
 */
export function makeReadings(
  random: DemoRandom,
  ids: IdMaker,
  record: PropertyRecord,
  { index, today }: { readonly index: number; readonly today: CalendarDay },
): MeterReadingRow[] {
  const factor = trueMeterFactor(index) ?? 1;
  const months = monthsBefore(today);
  const uses = modelledUses(record, months);
  const rows: MeterReadingRow[] = [];
  for (const fuel of ["natural-gas", "electricity"] as const) {
    for (const month of months) {
      const modelled = modelledUnitsOf({ fuel, buildingId: null, ...month }, uses);
      if (modelled === 0) continue;
      const hotWater = modelled * factor * (1 + TRUE_METERS.monthlyNoise * random.normal());
      rows.push({
        id: ids.next(),
        propertyId: record.propertyId,
        fromDay: month.from,
        toDay: month.to,
        ...asRead(fuel, hotWater, index % CYCLE),
      });
    }
  }
  return rows;
}

/** The whole months before today's, the first first. */
function monthsBefore(today: CalendarDay): readonly Period[] {
  const last = 12 * yearOf(today) + monthOf(today) - 2;
  return Array.from({ length: MONTHS_READ }, (_, place) => {
    const month = last - MONTHS_READ + 1 + place;
    const [year, number] = [Math.floor(month / 12), (month % 12) + 1];
    return {
      from: dayFromParts(year, number, 1),
      to: dayFromParts(year, number, daysInMonth(year, number)),
    };
  });
}

/** What the model says of every heater in the years of these months. */
function modelledUses(
  { lives, site, energy }: PropertyRecord,
  months: readonly Period[],
): readonly ModelledUse[] {
  const years = [...new Set(months.map(({ from }) => yearOf(from)))];
  const window = {
    from: dayFromParts(years[0] as number, 1, 1),
    to: dayFromParts(years.at(-1) as number, 12, 31),
  };
  const { services } = serviceHistory(lives, window);
  return years.flatMap((year) =>
    services.flatMap(({ heater, period, share }): ModelledUse[] => {
      const service = intersect(period, yearPeriod(year));
      if (!service) return [];
      const context = energyContextOf(energy, {
        today: dayFromParts(year, 7, 1),
        shareOfDraw: share * (energy.occupiedShare[String(year)] ?? 1),
      });
      const { therms, kwh } = computeMonthlyUse(energyInputOf(heater, site, context));
      const { buildingId } = heater;
      return [
        { buildingId, fuel: burntFuel(heater), service, monthly: therms },
        { buildingId, fuel: "electricity", service, monthly: kwh },
      ];
    }),
  );
}

/** A month as the bill says it: gas to a tenth, electricity to the kilowatt hour. */
function asRead(
  fuel: Fuel,
  hotWaterUnits: number,
  position: number,
): Pick<
  MeterReadingRow,
  "fuel" | "units" | "otherUnits" | "enteredAmount" | "enteredUnit" | "source"
> {
  const isGas = fuel === "natural-gas";
  const hasLaundry = isGas && position === LAUNDRY.position;
  const all = hasLaundry ? hotWaterUnits / (1 - LAUNDRY.share) : hotWaterUnits;
  const enteredUnit: ReadingUnit = !isGas ? "kwh" : position === BILLED_IN_CCF ? "ccf" : "therm";
  const { factor } = READING_UNITS[enteredUnit];
  const enteredAmount = isGas ? Math.round((10 * all) / factor) / 10 : Math.round(all);
  const units = enteredAmount * factor;
  return {
    fuel,
    units,
    otherUnits: hasLaundry ? LAUNDRY.share * units : 0,
    enteredAmount,
    enteredUnit,
    source: `Invented ${isGas ? "gas" : "electricity"} bill${hasLaundry ? ", laundry room included" : ""}`,
  };
}
