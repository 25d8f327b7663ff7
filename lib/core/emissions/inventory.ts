import {
  type AnnualEmissions,
  annualEmissions,
  type Basis,
  type EmissionLine,
  type EmissionsInput,
  type MarketContracts,
  type ScopeTotals,
  totalsOf,
} from "./annual-emissions";
import { allocateInstruments, type Instrument } from "./market-instruments";

/** One heater's or one building's energy in an inventory. */
export type InventoryItem = Omit<
  EmissionsInput,
  "year" | "gwpSet" | "contracts" | "factors" | "gridOutlook"
> & {
  readonly id: string;
};

export type InventoryInput = Pick<
  EmissionsInput,
  "year" | "gwpSet" | "contracts" | "factors" | "gridOutlook"
> & {
  readonly items: readonly InventoryItem[];
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
  readonly notes: readonly string[];
};

/**
 * The inventory of a fleet. Contracts are the organisation's, not a heater's: they are laid over the
 * owner's electricity as a whole and every item takes the same shares of them.
 *
 * @throws {RangeError} as {@link annualEmissions}.
 */
export function computeInventory(input: InventoryInput): Inventory {
  const contracts = input.contracts && spreadContracts(input.contracts, input);
  const accounts = input.items.map((item) => ({
    id: item.id,
    account: annualEmissions({ ...item, ...yearOf(input), ...(contracts && { contracts }) }),
  }));
  const lines = mergeLines(accounts.map(({ account }) => account));
  const notes = new Set(accounts.flatMap(({ account }) => account.notes));
  return {
    year: input.year,
    kgCo2e: totalsOf(lines),
    kgCo2eByGas: sumBy(lines, (line) => line.gas),
    kgCo2eByBasis: { metered: 0, modelled: 0, ...sumBy(lines, (line) => line.basis) },
    lines,
    items: accounts.map(({ id, account }) => ({ id, kgCo2e: account.kgCo2e })),
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

function yearOf({ year, gwpSet, factors, gridOutlook }: InventoryInput) {
  return {
    year,
    ...(gwpSet && { gwpSet }),
    ...(factors && { factors }),
    ...(gridOutlook && { gridOutlook }),
  };
}

/** Contracts with kilowatt hours turned into shares of the owner's whole electricity. */
function spreadContracts(
  contracts: MarketContracts,
  { items, year }: InventoryInput,
): MarketContracts {
  const ownerKwh = items.reduce(
    (sum, item) => sum + (item.meteredBy?.electricity === "resident" ? 0 : item.kwhPerYear),
    0,
  );
  const use = { year, market: contracts.market };
  const { used, refused } = allocateInstruments(ownerKwh, contracts.instruments, use);
  const instruments: Instrument[] = [
    ...used.map(({ instrument, kwh }) => ({ ...instrument, covers: { share: kwh / ownerKwh } })),
    ...refused.map(({ instrument }) => instrument),
  ];
  return { ...contracts, instruments };
}
