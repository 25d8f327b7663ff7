import type { MeterHolder } from "@/lib/core/energy/meters";
import { FUELS, type Fuel } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { AccountRow } from "./account-rows";
import type { Basis, MarketContracts, Scope } from "./annual-emissions";
import { type FactorBook, isRefrigerant, type Refrigerant } from "./factors";
import type { GwpSet } from "./gases";
import { computeInventory, type Inventory, type InventoryItem } from "./inventory";
import { type LocationRates, locationRates } from "./location-rates";
import type { RefrigerantLoss } from "./refrigerant-account";

/**
 * One amount of an account as it is kept and exported. The account is a function of its entries, the
 * factor rows and the contracts: whoever has the three can compute it again.
 */
export type AccountEntry = {
  readonly propertyId: string;
  readonly buildingId: string | null;
  readonly heaterId: string | null;
  readonly activity: Fuel | Refrigerant;
  readonly gridRegion: string;
  readonly from: CalendarDay;
  readonly to: CalendarDay;
  readonly days: number;
  readonly amount: number;
  readonly unit: EntryUnit;
  readonly scope: Scope;
  readonly basis: Basis;
  readonly readingId: string | null;
  readonly note: string | null;
};

export const ENTRY_UNITS = ["therm", "kWh", "kg"] as const;
export type EntryUnit = (typeof ENTRY_UNITS)[number];

/** A row of energy as an entry. */
export function entryOfRow(row: AccountRow, gridRegion: string): AccountEntry {
  const isElectric = row.fuel === "electricity";
  const holder = isElectric ? row.meteredBy.electricity : row.meteredBy.fuel;
  return {
    propertyId: row.propertyId,
    buildingId: row.buildingId,
    heaterId: row.heaterId,
    activity: row.fuel,
    gridRegion,
    from: row.from,
    to: row.to,
    days: row.days,
    amount: row.units,
    unit: isElectric ? "kWh" : "therm",
    scope: holder === "resident" ? 3 : isElectric ? 2 : 1,
    basis: row.basis,
    readingId: row.readingId,
    note:
      row.heaterId === null
        ? "read, but no heater of this fuel is on record"
        : row.isFilled
          ? "before the first heater on record: that one stands in"
          : null,
  };
}

/** Refrigerant lost as an entry. */
export function entryOfLoss(
  loss: RefrigerantLoss,
  at: { readonly propertyId: string; readonly buildingId: string; readonly gridRegion: string },
): AccountEntry {
  const how =
    loss.basis === "metered"
      ? "by weight"
      : loss.chargeIsAssumed
        ? "an assumed share of an assumed charge"
        : "an assumed share of the charge";
  return {
    ...at,
    heaterId: loss.heaterId,
    activity: loss.refrigerant,
    from: loss.from,
    to: loss.to,
    days: 0,
    amount: loss.kg,
    unit: "kg",
    scope: 1,
    basis: loss.basis,
    readingId: null,
    note: `${loss.cause === "leak" ? "leaked" : "lost at the end of its life"}, ${how}`,
  };
}

/** Adds entries up to the items of an inventory, so that an account needs no more memory than those. */
export class EntrySums {
  readonly #items = new Map<string, InventoryItem>();

  add(entry: AccountEntry): void {
    const { propertyId, gridRegion, activity, scope, basis } = entry;
    const id = [propertyId, gridRegion, activity, scope, basis].join("/");
    const before = this.#items.get(id) ?? emptyItem(id, entry);
    this.#items.set(id, plus(before, entry));
  }

  get items(): readonly InventoryItem[] {
    return [...this.#items.values()];
  }
}

function emptyItem(id: string, entry: AccountEntry): InventoryItem {
  const holder: MeterHolder = entry.scope === 3 ? "resident" : "owner";
  return {
    id,
    place: entry.propertyId,
    gridRegion: entry.gridRegion,
    fuel: fuelOf(entry.activity) ?? "electricity",
    thermsPerYear: 0,
    kwhPerYear: 0,
    meteredBy: { fuel: holder, electricity: holder },
    basis: entry.basis,
  };
}

function plus(item: InventoryItem, { activity, amount, unit, basis }: AccountEntry): InventoryItem {
  switch (unit) {
    case "therm":
      return { ...item, thermsPerYear: item.thermsPerYear + amount };
    case "kWh":
      return { ...item, kwhPerYear: item.kwhPerYear + amount };
    case "kg":
      // The lost kilograms stand as a charge that leaked as a whole: the account multiplies the two.
      return {
        ...item,
        refrigerant: {
          refrigerant: refrigerantOf(activity),
          chargeKg: (item.refrigerant?.chargeKg ?? 0) + amount,
          annualLeakShare: 1,
          endOfLifeLossShare: 0,
          basis,
        },
      };
  }
}

/** What an account is computed with besides its entries. */
export type AccountBasis = {
  readonly year: number;
  readonly gwpSet: GwpSet;
  readonly book: FactorBook;
  readonly contracts: MarketContracts;
};

/** The inventory of summed entries. */
export function inventoryOfEntries(
  sums: EntrySums,
  { year, gwpSet, book, contracts }: AccountBasis,
): Inventory {
  return computeInventory({ year, gwpSet, factors: book, contracts, items: sums.items });
}

/** Location-based kilograms of CO2-equivalent of entries of one year, by region. */
export function entryWeigher(
  basis: Pick<AccountBasis, "year" | "gwpSet" | "book">,
): (entry: AccountEntry) => number {
  const byRegion = new Map<string, LocationRates>();
  return ({ gridRegion, activity, amount, unit }) => {
    if (amount === 0) return 0;
    let rates = byRegion.get(gridRegion);
    if (!rates) {
      rates = locationRates({ ...basis, gridRegion });
      byRegion.set(gridRegion, rates);
    }
    return unit === "kg"
      ? amount * rates.kgPerKg(refrigerantOf(activity))
      : amount * rates.kgPerUnit(fuelOf(activity) ?? "electricity");
  };
}

function fuelOf(activity: Fuel | Refrigerant): Fuel | null {
  return FUELS.find((fuel) => fuel === activity) ?? null;
}

function refrigerantOf(activity: Fuel | Refrigerant): Refrigerant {
  if (!isRefrigerant(activity)) {
    throw new RangeError(`kilograms of "${activity}": no such refrigerant`);
  }
  return activity;
}
