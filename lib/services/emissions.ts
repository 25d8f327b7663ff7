import "server-only";
import {
  type EmissionLine,
  locationTotal,
  type ScopeTotals,
} from "@/lib/core/emissions/annual-emissions";
import {
  isGridRegion,
  PUBLISHED_BOOK,
  REFRIGERANTS,
  type Refrigerant,
} from "@/lib/core/emissions/factors";
import { computeInventory, type InventoryItem } from "@/lib/core/emissions/inventory";
import { type EnergyUse, emissionPath, type PathHeater } from "@/lib/core/emissions/path";
import {
  computeEnergy,
  type EnergyInput,
  energyInputOf,
  energyInputOfOption,
} from "@/lib/core/energy/annual-energy";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import type { OptionTerms } from "@/lib/core/planning/options";
import {
  type CalendarDay,
  dayFromParts,
  daysBetween,
  isLeapYear,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { listDoneRuns, loadPlannedSwaps, type PlannedSwaps } from "@/lib/data/emissions";
import { loadFleet } from "@/lib/data/fleet";
import { type CatalogueOption, ensureOptions, listOptions } from "@/lib/data/options";
import { withSql } from "@/lib/data/tenant";
import { listPropertyChoices, type PropertyChoice } from "@/lib/data/upkeep";
import { requireAction, type Viewer } from "./viewer";

/** The whole portfolio is accounted for at once while it is of this size; beyond it, a property at a time. */
const WHOLE_PORTFOLIO_HEATERS = 5_000;

/**
 * Whose energy counts as the owner's: all of it, or only what no home's own meter reads. Residents'
 * energy is then scope 3, category 13.
 */
export const BOUNDARIES = ["all", "meters"] as const;
export type Boundary = (typeof BOUNDARIES)[number];

export type EmissionsFilter = {
  readonly propertyId: string | null;
  readonly runId: string | null;
  readonly boundary: Boundary;
};

export type EmissionsYear = {
  readonly year: number;
  readonly planned: ScopeTotals;
  /** The fleet of today kept as it is. */
  readonly unchanged: ScopeTotals;
  readonly swaps: number;
};

export type EmissionsPage = {
  readonly properties: readonly PropertyChoice[];
  readonly propertyId: string | null;
  readonly needsProperty: boolean;
  readonly heaterCount: number;
  readonly year: number;
  readonly today: ScopeTotals;
  readonly thermsPerYear: number;
  readonly kwhPerYear: number;
  readonly lines: readonly EmissionLine[];
  readonly notes: readonly string[];
  /** What was assumed of the heaters, in words, and of how many. */
  readonly assumed: readonly { readonly words: string; readonly heaters: number }[];
  readonly byProperty: readonly {
    readonly name: string;
    readonly heaters: number;
    readonly gridRegion: string;
    readonly kgCo2e: ScopeTotals;
  }[];
  readonly plan: { readonly runId: string; readonly scenarioName: string } | null;
  readonly runs: readonly {
    readonly id: string;
    readonly name: string;
    readonly finishedAt: Date;
  }[];
  /** Empty without a plan. */
  readonly path: readonly EmissionsYear[];
};

/** The fleet's yearly account today and along a plan. */
export async function readEmissions(
  viewer: Viewer,
  filter: EmissionsFilter,
  today: CalendarDay,
): Promise<EmissionsPage> {
  requireAction(viewer, "record.read");
  const record = await withSql(viewer, async (client) => {
    const properties = await listPropertyChoices(client);
    const total = properties.reduce((sum, property) => sum + property.heaterCount, 0);
    const needsProperty = total > WHOLE_PORTFOLIO_HEATERS;
    const asked = properties.find((property) => property.id === filter.propertyId)?.id ?? null;
    const propertyId = asked ?? (needsProperty ? (properties[0]?.id ?? null) : null);
    const fleet = await loadFleet(client, { propertyId });
    await ensureOptions(client, viewer.organizationId);
    return {
      properties,
      needsProperty,
      propertyId,
      fleet,
      options: await listOptions(client),
      runs: await listDoneRuns(client),
      plan: await loadPlannedSwaps(client, filter.runId),
    };
  });
  const { fleet, plan } = record;
  const year = yearOf(today);
  const assumed = new Map<string, number>();
  const optionOf = new Map(record.options.map((option) => [option.code, option]));
  const heaters = fleet.heaters.map((heater): PathHeater => {
    const site = fleet.sites.get(heater.propertyId);
    if (!site) throw new RangeError(`heater ${heater.tag} stands in a property without a record`);
    const input = energyInputOf(heater, site, { today });
    for (const words of input.assumed) assumed.set(words, (assumed.get(words) ?? 0) + 1);
    return {
      id: heater.id,
      gridRegion: gridRegionOf(site),
      meteredBy: meteringOf(heater, filter.boundary),
      before: yearlyEnergy(input),
      swap: swapOf(heater, site, plan, optionOf, today),
    };
  });

  const inventory = computeInventory({ year, items: heaters.map(itemOf) });
  const kgOf = new Map(inventory.items.map((item) => [item.id, item.kgCo2e]));
  return {
    properties: record.properties,
    propertyId: record.propertyId,
    needsProperty: record.needsProperty,
    heaterCount: heaters.length,
    year,
    today: inventory.kgCo2e,
    thermsPerYear: sumOf(heaters, (heater) => heater.before.thermsPerYear),
    kwhPerYear: sumOf(heaters, (heater) => heater.before.kwhPerYear),
    lines: inventory.lines,
    notes: inventory.notes,
    assumed: [...assumed]
      .map(([words, count]) => ({ words, heaters: count }))
      .sort((a, b) => b.heaters - a.heaters),
    byProperty: byProperty(record.properties, fleet, kgOf),
    plan: plan && { runId: plan.runId, scenarioName: plan.scenarioName },
    runs: record.runs,
    path: plan && heaters.length > 0 ? pathOf(heaters, plan, year) : [],
  };
}

function gridRegionOf(site: Site): string {
  return isGridRegion(PUBLISHED_BOOK, site.gridRegion) ? site.gridRegion : "US";
}

/** A heater of one home is read by that home's meters; one that serves several by the owner's. */
function meteringOf(heater: Heater, boundary: Boundary): PathHeater["meteredBy"] {
  if (boundary === "all" || heater.unitId === null) return { fuel: "owner", electricity: "owner" };
  return { fuel: "resident", electricity: "resident" };
}

function yearlyEnergy(input: EnergyInput): EnergyUse {
  const { thermsPerYear, kwhPerYear } = computeEnergy(input);
  return { thermsPerYear, kwhPerYear, fuel: input.fuel };
}

function itemOf(heater: PathHeater): InventoryItem {
  const { id, gridRegion, meteredBy, before } = heater;
  return { id, gridRegion, ...(meteredBy && { meteredBy }), ...before };
}

function swapOf(
  heater: Heater,
  site: Site,
  plan: PlannedSwaps | null,
  options: ReadonlyMap<string, CatalogueOption>,
  today: CalendarDay,
): PathHeater["swap"] {
  const planned = plan?.swaps.get(heater.id);
  const option = planned && options.get(planned.optionCode);
  const period = plan?.terms.periods.find(({ id }) => id === planned?.period);
  if (!option || !period) return null;
  const { terms } = option;
  const start = period.start as CalendarDay;
  const swapYear = yearOf(start);
  const daysBefore = daysBetween(dayFromParts(swapYear, 1, 1), start);
  const refrigerantAfter = refrigerantOf(terms);
  return {
    year: swapYear,
    shareBefore: daysBefore / (isLeapYear(swapYear) ? 366 : 365),
    after: yearlyEnergy(
      energyInputOfOption(
        heater,
        site,
        {
          technology: terms.technology,
          volumeGal: terms.volumeGal,
          uniformEnergyFactor: terms.uniformEnergyFactor.value,
          inputWatts: null,
        },
        { today },
      ),
    ),
    ...(refrigerantAfter && { refrigerantAfter }),
  };
}

/** Share of a sealed, factory-charged circuit that leaks in a year; assumed, as in the plan's costs. */
export const ASSUMED_ANNUAL_LEAK_SHARE = 0.01;

function refrigerantOf(terms: OptionTerms) {
  const type = REFRIGERANTS.find(
    (known): known is Refrigerant => known === terms.refrigerant?.type,
  );
  if (!type || !terms.refrigerant) return null;
  return {
    refrigerant: type,
    chargeKg: terms.refrigerant.chargeKg.value,
    annualLeakShare: ASSUMED_ANNUAL_LEAK_SHARE,
    endOfLifeLossShare: 0,
  };
}

function pathOf(
  heaters: readonly PathHeater[],
  plan: PlannedSwaps,
  firstYear: number,
): readonly EmissionsYear[] {
  const lastPeriod = plan.terms.periods.at(-1);
  const lastYear = lastPeriod ? yearOf(lastPeriod.start as CalendarDay) : firstYear;
  const years = Array.from(
    { length: Math.max(1, lastYear - firstYear + 1) },
    (_, index) => firstYear + index,
  );
  const terms = { years, gridOutlook: [] };
  const planned = emissionPath({ ...terms, heaters });
  const unchanged = emissionPath({
    ...terms,
    heaters: heaters.map((heater) => ({ ...heater, swap: null })),
  });
  return years.map((year, index) => ({
    year,
    planned: (planned[index] as (typeof planned)[number]).inventory.kgCo2e,
    unchanged: (unchanged[index] as (typeof unchanged)[number]).inventory.kgCo2e,
    swaps: heaters.filter((heater) => heater.swap?.year === year).length,
  }));
}

function byProperty(
  properties: readonly PropertyChoice[],
  fleet: { readonly heaters: readonly Heater[]; readonly sites: ReadonlyMap<string, Site> },
  kgOf: ReadonlyMap<string, ScopeTotals>,
): EmissionsPage["byProperty"] {
  const sums = new Map<string, { heaters: number; kg: Record<keyof ScopeTotals, number> }>();
  for (const heater of fleet.heaters) {
    const kg = kgOf.get(heater.id);
    if (!kg) continue;
    const sum = sums.get(heater.propertyId) ?? {
      heaters: 0,
      kg: { scope1: 0, scope2Location: 0, scope2Market: 0, scope3: 0 },
    };
    sum.heaters += 1;
    for (const key of Object.keys(sum.kg) as (keyof ScopeTotals)[]) sum.kg[key] += kg[key];
    sums.set(heater.propertyId, sum);
  }
  return properties
    .flatMap(({ id, name }) => {
      const sum = sums.get(id);
      const site = fleet.sites.get(id);
      if (!sum || !site) return [];
      return [{ name, heaters: sum.heaters, gridRegion: gridRegionOf(site), kgCo2e: sum.kg }];
    })
    .sort((a, b) => locationTotal(b.kgCo2e) - locationTotal(a.kgCo2e));
}

function sumOf<T>(items: readonly T[], of: (item: T) => number): number {
  return items.reduce((sum, item) => sum + of(item), 0);
}
