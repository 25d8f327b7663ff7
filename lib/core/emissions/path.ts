import type { Fuel } from "@/lib/core/heaters/vocabulary";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import {
  type Basis,
  type GridOutlook,
  locationTotal,
  type MarketContracts,
  type Metering,
  type RefrigerantUse,
} from "./annual-emissions";
import type { FactorBook } from "./factors";
import type { GwpSet } from "./gases";
import { computeInventory, type Inventory, type InventoryItem } from "./inventory";

/** A heater's yearly energy, as the energy model or a meter gives it. */
export type EnergyUse = {
  readonly thermsPerYear: number;
  readonly kwhPerYear: number;
  readonly fuel: Fuel;
  /** Read from a meter, or computed; computed when absent. */
  readonly basis?: Basis;
};

/** A heater along the path: as it is and, where a plan swaps it, as it will be. */
export type PathHeater = {
  readonly id: string;
  readonly gridRegion: string;
  readonly meteredBy?: Metering;
  readonly before: EnergyUse;
  /** Charge and yearly leakage now; its end-of-life loss falls in the year of the swap. */
  readonly refrigerantBefore?: RefrigerantUse;
  readonly swap: {
    /** Year of the swap. */
    readonly year: number;
    /** Share of that year that passes before it, 0 to 1: 0.5 for a swap at mid-year. */
    readonly shareBefore: number;
    readonly after: EnergyUse;
    readonly refrigerantAfter?: RefrigerantUse;
  } | null;
};

/** The grid of a coming year as a share of the factor table's, entered by the user. */
export type OutlookPoint = {
  readonly year: number;
  readonly shareOfTable: number;
  /** The grid region it is about; every region without points of its own when absent. */
  readonly region?: string | null;
};

export type PathInput = {
  /** Years in order; the first is the one that the others are compared with. */
  readonly years: readonly number[];
  readonly heaters: readonly PathHeater[];
  /** Straight lines between the points, level outside them; empty keeps the table's latest factor. */
  readonly gridOutlook: readonly OutlookPoint[];
  /** Where the outlook was read; goes into the source of every factor that it makes. */
  readonly gridOutlookSource?: string;
  readonly gwpSet?: GwpSet;
  readonly factors?: FactorBook;
  readonly contracts?: MarketContracts;
};

export type PathYear = {
  readonly year: number;
  readonly inventory: Inventory;
  /** Share of the factor table's that regions without points of their own take; null: all of it. */
  readonly gridShare: number | null;
  /** Location-based change since the first year, kg CO2e, and what it comes from; the parts add up. */
  readonly change: {
    readonly total: number;
    readonly swaps: number;
    readonly grid: number;
  };
};

/**
 * Emissions year by year along a plan. The part of a year before a swap has the old heater, the rest
 * the new one. The change since the first year is split between swaps and grid by the average over
 * the two orders in which they can be changed (Shapley value), so that neither is favoured.
 *
 * @throws {RangeError} for an empty list of years, a share outside 0 to 1, or as `annualEmissions`.
 */
export function emissionPath(input: PathInput): readonly PathYear[] {
  const firstYear = input.years[0];
  if (firstYear === undefined) throw new RangeError("years must not be empty");
  const outlook = outlookOf(input.gridOutlook.filter(({ region }) => !region));
  const outlookByRegion = regionalOutlooks(input.gridOutlook);
  const fleets = new Map(input.years.map((year) => [year, fleetOf(input.heaters, year)]));
  const source = input.gridOutlookSource || UNNAMED_OUTLOOK;
  const account = (fleetYear: number, gridYear: number): Inventory => {
    const gridOutlook = outlookAt(outlook, gridYear, source);
    const gridOutlookByRegion = new Map(
      [...outlookByRegion].flatMap(([region, regional]) => {
        const at = outlookAt(regional, gridYear, source);
        return at ? [[region, at] as const] : [];
      }),
    );
    return computeInventory({
      gridOutlookByRegion,
      year: gridYear,
      items: fleets.get(fleetYear) as readonly InventoryItem[],
      ...(gridOutlook && { gridOutlook }),
      ...(input.gwpSet && { gwpSet: input.gwpSet }),
      ...(input.factors && { factors: input.factors }),
      ...(input.contracts && { contracts: input.contracts }),
    });
  };
  const first = account(firstYear, firstYear);
  const base = locationTotal(first.kgCo2e);
  return input.years.map((year) => {
    const inventory = account(year, year);
    const now = locationTotal(inventory.kgCo2e);
    const swapsOnly = locationTotal(account(year, firstYear).kgCo2e);
    const gridOnly = locationTotal(account(firstYear, year).kgCo2e);
    const swaps = (swapsOnly - base + (now - gridOnly)) / 2;
    return {
      year,
      inventory,
      gridShare: outlook(year),
      change: { total: now - base, swaps, grid: now - base - swaps },
    };
  });
}

/** Fleet of a year, gathered so that heaters alike in region, fuel, meter and basis make one item. */
function fleetOf(heaters: readonly PathHeater[], year: number): readonly InventoryItem[] {
  const groups = new Map<string, { item: InventoryItem; therms: number; kwh: number }>();
  const refrigerants: InventoryItem[] = [];
  const add = (heater: PathHeater, use: EnergyUse, share: number) => {
    if (share === 0) return;
    const meter = heater.meteredBy;
    const basis = use.basis ?? "modelled";
    const key = `${heater.gridRegion}/${use.fuel}/${meter?.fuel}/${meter?.electricity}/${basis}`;
    let group = groups.get(key);
    if (!group) {
      const item = { ...heaterItem(heater, key), fuel: use.fuel, basis };
      group = { item, therms: 0, kwh: 0 };
      groups.set(key, group);
    }
    group.therms += share * use.thermsPerYear;
    group.kwh += share * use.kwhPerYear;
  };
  const addRefrigerant = (heater: PathHeater, use: RefrigerantUse | undefined, share: number) => {
    if (!use) return;
    // Retirement falls in the swap's year whatever the share of the year served.
    const retires = heater.swap?.year === year && use === heater.refrigerantBefore;
    if (share === 0 && !retires) return;
    refrigerants.push({
      ...heaterItem(heater, `${heater.id}/refrigerant`),
      refrigerant: {
        ...use,
        annualLeakShare: use.annualLeakShare * share,
        endOfLifeLossShare: retires ? use.endOfLifeLossShare : 0,
      },
    });
  };
  for (const heater of heaters) {
    const before = shareBefore(heater, year);
    add(heater, heater.before, before);
    addRefrigerant(heater, heater.refrigerantBefore, before);
    if (heater.swap) {
      add(heater, heater.swap.after, 1 - before);
      addRefrigerant(heater, heater.swap.refrigerantAfter, 1 - before);
    }
  }
  return [
    ...[...groups.values()].map(({ item, therms, kwh }) => ({
      ...item,
      thermsPerYear: therms,
      kwhPerYear: kwh,
    })),
    ...refrigerants,
  ];
}

function heaterItem(heater: PathHeater, id: string): InventoryItem {
  return {
    id,
    gridRegion: heater.gridRegion,
    fuel: "electricity",
    thermsPerYear: 0,
    kwhPerYear: 0,
    ...(heater.meteredBy && { meteredBy: heater.meteredBy }),
  };
}

/** Share of a year that the heater of today serves. */
function shareBefore({ swap }: PathHeater, year: number): number {
  if (!swap || year < swap.year) return 1;
  if (year > swap.year) return 0;
  if (!(swap.shareBefore >= 0 && swap.shareBefore <= 1)) {
    throw new RangeError(`swap.shareBefore must be from 0 to 1, got ${swap.shareBefore}`);
  }
  return swap.shareBefore;
}

type Outlook = (year: number) => number | null;

/** Stands in for an outlook whose source nobody named. */
const UNNAMED_OUTLOOK = "the user's outlook";

function outlookAt(outlook: Outlook, year: number, source: string): GridOutlook | undefined {
  const shareOfTable = outlook(year);
  return shareOfTable === null ? undefined : { shareOfTable, source };
}

function regionalOutlooks(points: readonly OutlookPoint[]): ReadonlyMap<string, Outlook> {
  const regions = new Set(points.flatMap(({ region }) => (region ? [region] : [])));
  return new Map(
    [...regions].map((region) => [
      region,
      outlookOf(points.filter((point) => point.region === region)),
    ]),
  );
}

/** The outlook as a function of the year; null for every year when there are no points. */
function outlookOf(points: readonly OutlookPoint[]): Outlook {
  const sorted = [...points].sort((a, b) => a.year - b.year);
  for (const point of sorted) requireAtLeastZero("gridOutlook.shareOfTable", point.shareOfTable);
  return (year) => {
    const next = sorted.find((point) => point.year >= year);
    const last = sorted.findLast((point) => point.year <= year);
    if (!next || !last) return (next ?? last)?.shareOfTable ?? null;
    if (next.year === last.year) return next.shareOfTable;
    const along = (year - last.year) / (next.year - last.year);
    return last.shareOfTable + along * (next.shareOfTable - last.shareOfTable);
  };
}
