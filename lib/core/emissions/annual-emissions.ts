import type { HeaterMeters } from "@/lib/core/energy/meters";
import type { Fuel } from "@/lib/core/heaters/vocabulary";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { KILOGRAMS_PER_POUND } from "@/lib/core/shared/units";
import {
  type FactorBook,
  type FactorRow,
  findFactor,
  PUBLISHED_BOOK,
  type Refrigerant,
  refrigerantFactor,
} from "./factors";
import { DEFAULT_GWP_SET, GAS_GWP, type Gas, type GwpSet } from "./gases";
import { type Allocation, allocateInstruments, type Instrument } from "./market-instruments";

/** Energy of a year and what is needed to account for it. */
export type EmissionsInput = {
  readonly thermsPerYear: number;
  readonly kwhPerYear: number;
  /** What the therms are of; `electricity` where there are none. */
  readonly fuel: Fuel;
  readonly gridRegion: string;
  /** Year that is accounted for: it picks the vintage of each factor. */
  readonly year: number;
  readonly gwpSet?: GwpSet;
  /** Contracts about the electricity, for the market-based figure only. */
  readonly contracts?: MarketContracts;
  readonly refrigerant?: RefrigerantUse;
  /** Who buys the energy; the owner when absent. */
  readonly meteredBy?: Metering;
  /** Where the energy comes from; the model when absent. */
  readonly basis?: Basis;
  /** The user's expectation of the grid in this year. */
  readonly gridOutlook?: GridOutlook;
  /** Factors to use; the published ones when absent. */
  readonly factors?: FactorBook;
};

export type MarketContracts = {
  readonly instruments: readonly Instrument[];
  /** Market in which electricity is bought; instruments of another are refused. */
  readonly market: string;
  /**
   * Residual mix of the market; null takes the factor table's for the grid region or the market, and
   * where there is none the grid average, which is disclosed.
   */
  readonly residualMix: {
    readonly kgCo2ePerKwh: number;
    readonly vintage: number;
    readonly source: string;
  } | null;
};

/**
 * Energy bought by residents is not the owner's: it moves from scope 1 and 2 to scope 3, category 13
 * "downstream leased assets" (GHG Protocol, from memory).
 */
export type Metering = HeaterMeters;

/** A grid year as a share of the factor in the table, entered by the user. */
export type GridOutlook = { readonly shareOfTable: number; readonly source: string };

/** Refrigerant lost in a year: leakage of charges in service and what escapes at the end of life. */
export type RefrigerantUse = {
  readonly refrigerant: Refrigerant;
  readonly chargeKg: number;
  /** Share of the charge that leaks in a year, 0 to 1. */
  readonly annualLeakShare: number;
  /** Share of the charge that escapes at retirement in this year, 0 to 1; 0 while it stays in service. */
  readonly endOfLifeLossShare: number;
  /** `metered` when the loss was weighed; an estimate from the charge when absent. */
  readonly basis?: Basis;
};

/**
 * Where an amount comes from: read from a meter (or weighed, for a refrigerant), the model multiplied
 * by what the property's meters say, or the model alone. Lines of different bases are never merged.
 */
export const BASES = ["metered", "calibrated", "modelled"] as const;
export type Basis = (typeof BASES)[number];

/** 1 burnt or leaked by the owner, 2 electricity bought by the owner, 3 energy bought by residents. */
export type Scope = 1 | 2 | 3;

/** Location-based lines and market-based lines are two answers to one question: never add them. */
export type Method = "direct" | "location" | "market";

/** One term of the account: an amount of something times one factor. */
export type EmissionLine = {
  readonly scope: Scope;
  readonly method: Method;
  readonly source: "combustion" | "electricity" | "refrigerant";
  readonly gas: string;
  readonly amount: number;
  readonly amountUnit: "mmBtu" | "kWh" | "kg";
  /** Mass of the gas itself, kg. */
  readonly kg: number;
  readonly gwp: number;
  readonly kgCo2e: number;
  readonly basis: Basis;
  readonly factor: FactorRow;
};

/** Kilograms of CO2-equivalent by scope. */
export type ScopeTotals = {
  readonly scope1: number;
  readonly scope2Location: number;
  readonly scope2Market: number;
  /** Energy bought by residents, location-based. */
  readonly scope3: number;
};

export type AnnualEmissions = {
  readonly year: number;
  readonly gwpSet: GwpSet;
  readonly lines: readonly EmissionLine[];
  readonly kgCo2e: ScopeTotals;
  /** How the contracts were used; null without electricity of the owner's. */
  readonly allocation: Allocation | null;
  /** What a reader must know: vintages off the year, a missing residual mix, refused instruments. */
  readonly notes: readonly string[];
};

const GASES: readonly Gas[] = ["co2", "ch4", "n2o"];
const MMBTU_PER_THERM = 0.1;

/**
 * A year's emissions by gas and scope, each line with the factor it came from. Electricity is
 * accounted for twice, location-based and market-based, as the GHG Protocol Scope 2 Guidance (2015)
 * asks where contracts exist. Method and sources: docs/methods/emissions.md.
 *
 * @throws {RangeError} for negative energy, a fuel that does not go with it, or a grid region without
 *   a factor (see `isGridRegion`).
 */
export function annualEmissions(input: EmissionsInput): AnnualEmissions {
  requireAtLeastZero("thermsPerYear", input.thermsPerYear);
  requireAtLeastZero("kwhPerYear", input.kwhPerYear);
  const gwpSet = input.gwpSet ?? DEFAULT_GWP_SET;
  const book = input.factors ?? PUBLISHED_BOOK;
  const notes = new Set<string>();
  const electricity = electricityLines(input, gwpSet, book, notes);
  const basis = input.basis ?? "modelled";
  const energyLines = [...combustionLines(input, gwpSet, book), ...electricity.lines];
  const lines = [
    ...energyLines.map((line): EmissionLine => ({ ...line, basis })),
    // A leak is an estimate from the charge, whatever the energy meters say, unless it was weighed.
    ...refrigerantLines(input, gwpSet).map(
      (line): EmissionLine => ({ ...line, basis: input.refrigerant?.basis ?? "modelled" }),
    ),
  ];
  return {
    year: input.year,
    gwpSet,
    lines,
    kgCo2e: totalsOf(lines),
    allocation: electricity.allocation,
    notes: [...notes],
  };
}

export const NO_TOTALS: ScopeTotals = {
  scope1: 0,
  scope2Location: 0,
  scope2Market: 0,
  scope3: 0,
};

export function addTotals(a: ScopeTotals, b: ScopeTotals): ScopeTotals {
  return {
    scope1: a.scope1 + b.scope1,
    scope2Location: a.scope2Location + b.scope2Location,
    scope2Market: a.scope2Market + b.scope2Market,
    scope3: a.scope3 + b.scope3,
  };
}

/** Sums lines by scope; location and market stay apart. */
export function totalsOf(lines: readonly EmissionLine[]): ScopeTotals {
  const totals = { scope1: 0, scope2Location: 0, scope2Market: 0, scope3: 0 };
  for (const line of lines) {
    if (line.scope === 1) totals.scope1 += line.kgCo2e;
    else if (line.scope === 3) totals.scope3 += line.kgCo2e;
    else if (line.method === "location") totals.scope2Location += line.kgCo2e;
    else totals.scope2Market += line.kgCo2e;
  }
  return totals;
}

/**
 * Everything that the energy emits, whoever buys it: scopes 1 and 3 and location-based scope 2. It does
 * not move when a meter changes hands, which makes it the figure to compare years and plans by.
 */
export function locationTotal({ scope1, scope2Location, scope3 }: ScopeTotals): number {
  return scope1 + scope2Location + scope3;
}

type LineOfUnknownBasis = Omit<EmissionLine, "basis">;

function combustionLines(
  { fuel, thermsPerYear, meteredBy, year }: EmissionsInput,
  gwpSet: GwpSet,
  book: FactorBook,
): readonly LineOfUnknownBasis[] {
  if (thermsPerYear === 0) return [];
  if (fuel === "electricity") {
    throw new RangeError(`thermsPerYear ${thermsPerYear} needs a fuel that burns, got electricity`);
  }
  const mmbtu = thermsPerYear * MMBTU_PER_THERM;
  return GASES.map((gas) => {
    const factor = requireFactor(
      findFactor(book, { activity: fuel, region: null, gas, year }),
      fuel,
    );
    const kg = mmbtu * factor.value;
    const gwp = GAS_GWP[gwpSet][gas];
    return {
      scope: meteredBy?.fuel === "resident" ? 3 : 1,
      method: "direct",
      source: "combustion",
      gas,
      amount: mmbtu,
      amountUnit: "mmBtu",
      kg,
      gwp,
      kgCo2e: kg * gwp,
      factor,
    };
  });
}

function refrigerantLines(
  { refrigerant }: EmissionsInput,
  gwpSet: GwpSet,
): readonly LineOfUnknownBasis[] {
  if (!refrigerant) return [];
  requireAtLeastZero("refrigerant.chargeKg", refrigerant.chargeKg);
  const lostShare =
    requireAtLeastZero("refrigerant.annualLeakShare", refrigerant.annualLeakShare) +
    requireAtLeastZero("refrigerant.endOfLifeLossShare", refrigerant.endOfLifeLossShare);
  const kg = refrigerant.chargeKg * lostShare;
  if (kg === 0) return [];
  const factor = refrigerantFactor(refrigerant.refrigerant, gwpSet);
  return [
    {
      scope: 1,
      method: "direct",
      source: "refrigerant",
      gas: refrigerant.refrigerant,
      amount: kg,
      amountUnit: "kg",
      kg,
      gwp: factor.value,
      kgCo2e: kg * factor.value,
      factor,
    },
  ];
}

function electricityLines(
  input: EmissionsInput,
  gwpSet: GwpSet,
  book: FactorBook,
  notes: Set<string>,
): { readonly lines: readonly LineOfUnknownBasis[]; readonly allocation: Allocation | null } {
  const kwh = input.kwhPerYear;
  if (kwh === 0) return { lines: [], allocation: null };
  const rows = gridFactors(input, book, notes);
  const gridLines = (amount: number, scope: Scope, method: Method): LineOfUnknownBasis[] =>
    rows.map((factor) => {
      const kg = ((amount * factor.value) / 1000) * KILOGRAMS_PER_POUND;
      const gwp = GAS_GWP[gwpSet][factor.gas as Gas];
      const line = { scope, method, source: "electricity", gas: factor.gas } as const;
      return { ...line, amount, amountUnit: "kWh", kg, gwp, kgCo2e: kg * gwp, factor };
    });

  if (input.meteredBy?.electricity === "resident") {
    return { lines: gridLines(kwh, 3, "location"), allocation: null };
  }
  const location = gridLines(kwh, 2, "location");
  const { instruments, market, residualMix } = input.contracts ?? NO_CONTRACTS;
  const allocation = allocateInstruments(kwh, instruments, { year: input.year, market });
  for (const { instrument, reasons } of allocation.refused) {
    notes.add(`${instrument.id} was not used: ${reasons.join("; ")}`);
  }
  const covered = allocation.used.map((use) =>
    rateLine(use.kwh, {
      id: `instrument/${use.instrument.id}`,
      activity: "instrument",
      region: use.instrument.market,
      value: use.instrument.kgCo2ePerKwh,
      vintage: use.instrument.vintage,
      source: use.instrument.source,
    }),
  );
  return {
    lines: [...location, ...covered, ...uncoveredLines()],
    allocation,
  };

  function uncoveredLines(): readonly LineOfUnknownBasis[] {
    if (allocation.uncoveredKwh === 0) return [];
    const inTable = residualMix === null ? residualMixOf(input, market, book) : null;
    if (inTable !== null) {
      if (inTable.vintage !== input.year) {
        notes.add(
          `the residual mix of ${inTable.region} is of ${inTable.vintage}, used for ${input.year}`,
        );
      }
      return [rateLine(allocation.uncoveredKwh, inTable)];
    }
    if (residualMix === null) {
      notes.add(
        input.contracts
          ? "no residual mix is given: the grid average stands for electricity without a contract"
          : "no contracts are given: market-based equals location-based",
      );
      return gridLines(allocation.uncoveredKwh, 2, "market");
    }
    return [
      rateLine(allocation.uncoveredKwh, {
        id: `residual-mix/${market}/${residualMix.vintage}`,
        activity: "residual-mix",
        region: market,
        value: requireAtLeastZero("residualMix.kgCo2ePerKwh", residualMix.kgCo2ePerKwh),
        vintage: residualMix.vintage,
        source: residualMix.source,
      }),
    ];
  }
}

/** The factor table's residual mix: of the grid region, else of the whole market. */
function residualMixOf(
  { gridRegion, year }: EmissionsInput,
  market: string,
  book: FactorBook,
): FactorRow | null {
  const wanted = { activity: "residual-mix", gas: "co2e", year } as const;
  return (
    findFactor(book, { ...wanted, region: gridRegion }) ??
    findFactor(book, { ...wanted, region: market })
  );
}

const NO_CONTRACTS: MarketContracts = { instruments: [], market: "US", residualMix: null };

/** A market-based line from a rate that states all gases as one figure. */
function rateLine(
  kwh: number,
  row: Pick<FactorRow, "id" | "activity" | "region" | "value" | "vintage" | "source"> & {
    readonly evidence?: FactorRow["evidence"];
  },
): LineOfUnknownBasis {
  const factor: FactorRow = { evidence: "entered", ...row, gas: "co2e", unit: "kg/kWh" };
  const kg = kwh * factor.value;
  return {
    scope: 2,
    method: "market",
    source: "electricity",
    gas: "co2e",
    amount: kwh,
    amountUnit: "kWh",
    kg,
    gwp: 1,
    kgCo2e: kg,
    factor,
  };
}

function gridFactors(
  { gridRegion, year, gridOutlook }: EmissionsInput,
  book: FactorBook,
  notes: Set<string>,
): readonly FactorRow[] {
  const rows = GASES.map((gas) =>
    requireFactor(
      findFactor(book, { activity: "grid-electricity", region: gridRegion, gas, year }),
      `grid region ${gridRegion}`,
    ),
  );
  if (new Set(rows.map((row) => row.vintage)).size > 1) {
    notes.add(`the gases of grid region ${gridRegion} are of different vintages`);
  }
  if (gridOutlook) return rows.map((row) => outlookRow(row, year, gridOutlook));
  for (const row of rows) {
    if (row.vintage !== year) {
      notes.add(`the grid factor of ${gridRegion} is of ${row.vintage}, used for ${year}`);
    }
  }
  return rows;
}

function outlookRow(row: FactorRow, year: number, outlook: GridOutlook): FactorRow {
  const share = requireAtLeastZero("gridOutlook.shareOfTable", outlook.shareOfTable);
  return {
    ...row,
    id: `${row.id}@${year}`,
    value: row.value * share,
    vintage: year,
    source: `${outlook.source}: ${share} of ${row.source}`,
    evidence: "entered",
  };
}

function requireFactor(row: FactorRow | null, what: string): FactorRow {
  if (row === null) throw new RangeError(`no emission factor for ${what}`);
  return row;
}
