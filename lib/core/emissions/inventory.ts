import {
  type AnnualEmissions,
  annualEmissions,
  type Basis,
  type EmissionLine,
  type EmissionsInput,
  type GridOutlook,
  type MarketContracts,
  type ScopeTotals,
  totalsOf,
} from "./annual-emissions";
import {
  type Allocation,
  allocateOverPlaces,
  type Instrument,
  type PlacedAllocation,
} from "./market-instruments";

/** One heater's or one building's energy in an inventory. */
export type InventoryItem = Omit<
  EmissionsInput,
  "year" | "gwpSet" | "contracts" | "factors" | "gridOutlook"
> & {
  readonly id: string;
  /** Where it stands (a property), for instruments that cover one place only. */
  readonly place?: string;
};

export type InventoryInput = Pick<
  EmissionsInput,
  "year" | "gwpSet" | "contracts" | "factors" | "gridOutlook"
> & {
  readonly items: readonly InventoryItem[];
  /** Outlooks of single grid regions; a region without one follows `gridOutlook`. */
  readonly gridOutlookByRegion?: ReadonlyMap<string, GridOutlook>;
};

/** A year's account of a fleet. */
export type Inventory = {
  readonly year: number;
  readonly kgCo2e: ScopeTotals;
  /** CO2-equivalent by gas, location-based (scope 2 by market left out, so that nothing counts twice). */
  readonly kgCo2eByGas: Readonly<Record<string, number>>;
  /** The same total by where its energy figures come from. */
  readonly kgCo2eByBasis: Readonly<Record<Basis, number>>;
  /** One line for each factor, scope, method and basis: what an auditor recomputes. */
  readonly lines: readonly EmissionLine[];
  readonly items: readonly { readonly id: string; readonly kgCo2e: ScopeTotals }[];
  /** How the organisation's contracts were laid over its electricity; null without contracts. */
  readonly allocation: Allocation | null;
  readonly notes: readonly string[];
};

/**
 * The inventory of a fleet. Contracts are the organisation's, not a heater's: they are laid over the
 * owner's electricity as a whole and every item takes the same shares of them.
 *
 * @throws {RangeError} as {@link annualEmissions}.
 */
export function computeInventory(input: InventoryInput): Inventory {
  const placed = input.contracts ? placeContracts(input.contracts, input) : null;
  const accounts = input.items.map((item) => {
    const contracts = placed?.contractsAt(item.place ?? NO_PLACE);
    return {
      id: item.id,
      account: annualEmissions({
        ...item,
        ...yearOf(input, item.gridRegion),
        ...(contracts && { contracts }),
      }),
    };
  });
  const lines = mergeLines(accounts.map(({ account }) => account));
  const notes = new Set(accounts.flatMap(({ account }) => account.notes));
  return {
    year: input.year,
    kgCo2e: totalsOf(lines),
    kgCo2eByGas: sumBy(lines, (line) => line.gas),
    kgCo2eByBasis: {
      metered: 0,
      calibrated: 0,
      modelled: 0,
      ...sumBy(lines, (line) => line.basis),
    },
    lines,
    items: accounts.map(({ id, account }) => ({ id, kgCo2e: account.kgCo2e })),
    allocation: placed?.allocation ?? null,
    notes: [...notes],
  };
}

/** Adds lines that share scope, method, basis and factor, so that the fleet's account is as short as one heater's. */
export function mergeLines(accounts: readonly AnnualEmissions[]): readonly EmissionLine[] {
  const merged = new Map<string, EmissionLine>();
  for (const account of accounts) {
    for (const line of account.lines) {
      const key = `${line.scope}/${line.method}/${line.basis}/${line.factor.id}/${line.gwp}`;
      const before = merged.get(key);
      merged.set(
        key,
        before
          ? {
              ...before,
              amount: before.amount + line.amount,
              kg: before.kg + line.kg,
              kgCo2e: before.kgCo2e + line.kgCo2e,
            }
          : line,
      );
    }
  }
  return [...merged.values()];
}

/** CO2-equivalent of the lines by a key of theirs; market-based lines left out, so that nothing counts twice. */
function sumBy(
  lines: readonly EmissionLine[],
  keyOf: (line: EmissionLine) => string,
): Readonly<Record<string, number>> {
  const sums: Record<string, number> = {};
  for (const line of lines) {
    if (line.method === "market") continue;
    sums[keyOf(line)] = (sums[keyOf(line)] ?? 0) + line.kgCo2e;
  }
  return sums;
}

function yearOf(
  { year, gwpSet, factors, gridOutlook, gridOutlookByRegion }: InventoryInput,
  region: string,
) {
  const outlook = gridOutlookByRegion?.get(region) ?? gridOutlook;
  return {
    year,
    ...(gwpSet && { gwpSet }),
    ...(factors && { factors }),
    ...(outlook && { gridOutlook: outlook }),
  };
}

/** Stands for items that name no place. */
const NO_PLACE = "";

/**
 * Contracts laid over the owner's electricity, place by place, with kilowatt hours turned into shares
 * of the place's own, so that every item there takes the same shares.
 */
function placeContracts(
  contracts: MarketContracts,
  { items, year }: InventoryInput,
): { contractsAt: (place: string) => MarketContracts; allocation: Allocation } {
  const ownerKwh = new Map<string, number>();
  for (const item of items) {
    const place = item.place ?? NO_PLACE;
    const kwh = item.meteredBy?.electricity === "resident" ? 0 : item.kwhPerYear;
    ownerKwh.set(place, (ownerKwh.get(place) ?? 0) + kwh);
  }
  const placed = allocateOverPlaces(ownerKwh, contracts.instruments, {
    year,
    market: contracts.market,
  });
  const byPlace = new Map(
    [...placed.byPlace].map(([place, { used }]): [string, MarketContracts] => {
      const kwh = ownerKwh.get(place) ?? 0;
      const instruments: Instrument[] = [
        ...used.map((use) => ({ ...use.instrument, covers: { share: use.kwh / kwh } })),
        ...placed.refused.map(({ instrument }) => instrument),
      ];
      return [place, { ...contracts, instruments }];
    }),
  );
  return {
    contractsAt: (place) => byPlace.get(place) ?? { ...contracts, instruments: [] },
    allocation: wholeOf(placed),
  };
}

/** The places' allocations as the organisation's one. */
function wholeOf({ byPlace, refused, surplus }: PlacedAllocation): Allocation {
  const kwhOf = new Map<Instrument, number>();
  let uncoveredKwh = 0;
  for (const place of byPlace.values()) {
    uncoveredKwh += place.uncoveredKwh;
    for (const { instrument, kwh } of place.used) {
      kwhOf.set(instrument, (kwhOf.get(instrument) ?? 0) + kwh);
    }
  }
  const used = [...kwhOf].map(([instrument, kwh]) => ({ instrument, kwh }));
  return { used, refused, surplus, uncoveredKwh };
}
