import type { Fuel } from "@/lib/core/heaters/vocabulary";
import type { Evidence } from "@/lib/core/shared/sourced";
import { type Gas, GWP_SETS, type GwpSet } from "./gases";
import { GRID_RATES } from "./grid-rates";

/** One emission factor as it is stored, shown and exported: never a bare number. */
export type FactorRow = {
  /** Unique and readable: `grid-electricity/CAMX/2023/co2`. */
  readonly id: string;
  readonly activity: FactorActivity;
  /** Grid region or market; null where the factor holds everywhere. */
  readonly region: string | null;
  /** A gas, or the name of a refrigerant. */
  readonly gas: string;
  readonly value: number;
  readonly unit: FactorUnit;
  /** Year the factor describes; for combustion, of the rule's text. */
  readonly vintage: number;
  readonly source: string;
  readonly evidence: Evidence;
};

export type FactorActivity =
  | Exclude<Fuel, "electricity">
  | "grid-electricity"
  | "residual-mix"
  | "instrument"
  | "refrigerant"
  | "upstream-methane";

/** `gwp` is kg CO2e per kg; one mmBtu is a million Btu, ten therms, by higher heating value. */
export type FactorUnit = "kg/mmBtu" | "lb/MWh" | "kg/kWh" | "gwp";

const TABLE_C1 = "40 CFR 98 subpart C table C-1 (81 FR 89188, 2016), as quoted";
const TABLE_C2 = "40 CFR 98 subpart C table C-2 (89 FR 42220, 2024)";

const COMBUSTION_ROWS: readonly FactorRow[] = (
  [
    ["natural-gas", 53.06, 1.0e-3, 1.0e-4],
    ["propane", 62.87, 3.0e-3, 6.0e-4],
    // Household heating oil is distillate No. 2.
    ["fuel-oil", 73.96, 3.0e-3, 6.0e-4],
  ] as const
).flatMap(([fuel, co2, ch4, n2o]) => [
  combustionRow(fuel, "co2", co2, 2016, TABLE_C1, "quoted"),
  combustionRow(fuel, "ch4", ch4, 2024, TABLE_C2, "published"),
  combustionRow(fuel, "n2o", n2o, 2024, TABLE_C2, "published"),
]);

function combustionRow(
  activity: Exclude<Fuel, "electricity">,
  gas: Gas,
  value: number,
  vintage: number,
  source: string,
  evidence: Evidence,
): FactorRow {
  const id = `${activity}/${gas}`;
  return { id, activity, region: null, gas, value, unit: "kg/mmBtu", vintage, source, evidence };
}

const GRID_ROWS: readonly FactorRow[] = GRID_RATES.flatMap(
  ({ region, vintage, co2, ch4, n2o, source, evidence }) =>
    (
      [
        ["co2", co2],
        ["ch4", ch4],
        ["n2o", n2o],
      ] as const
    ).map(
      ([gas, value]): FactorRow => ({
        id: `grid-electricity/${region}/${vintage}/${gas}`,
        activity: "grid-electricity",
        region,
        gas,
        value,
        unit: "lb/MWh",
        vintage,
        source,
        evidence,
      }),
    ),
);

/** Published factors that ship with the program. An organisation's own rows are laid over them. */
export const PUBLISHED_FACTORS: readonly FactorRow[] = [...COMBUSTION_ROWS, ...GRID_ROWS];

/** Refrigerants of water heaters with their potentials over 100 years. */
export const REFRIGERANTS = ["R-134a", "R-513A", "R-410A", "R-290", "R-744"] as const;
export type Refrigerant = (typeof REFRIGERANTS)[number];

export function isRefrigerant(name: string): name is Refrigerant {
  return (REFRIGERANTS as readonly string[]).includes(name);
}

type Potential = readonly [gwp: number, source: string, evidence: Evidence];

const AS_BLEND = "44 % R-134a and 56 % R-1234yf by mass, computed from the blend";

const REFRIGERANT_GWP: Readonly<Record<Refrigerant, Readonly<Record<GwpSet, Potential>>>> = {
  "R-134a": {
    AR4: [1430, "IPCC AR4, as quoted in a trade fact sheet", "quoted"],
    AR5: [1300, "IPCC AR5, as quoted from the EPA Emission Factors Hub 2025", "quoted"],
    AR6: [1530, "IPCC AR6, as quoted in a trade fact sheet", "quoted"],
  },
  "R-513A": {
    AR4: [631, "IPCC AR4, as quoted in a trade fact sheet", "quoted"],
    AR5: [573, AS_BLEND, "assumed"],
    AR6: [673, "IPCC AR6, as quoted in a trade fact sheet", "quoted"],
  },
  "R-410A": {
    AR4: [2088, "IPCC AR4, half R-32 (675) and half R-125 (3500), from memory", "memory"],
    AR5: [1924, "IPCC AR5, half R-32 (677) and half R-125 (3170), from memory", "memory"],
    AR6: [2256, "IPCC AR6, half R-32 (771) and half R-125 (3740), from memory", "memory"],
  },
  "R-290": {
    AR4: [3, "propane, IPCC AR4 with indirect effects, from memory", "memory"],
    AR5: [3, "propane, as AR4, from memory", "memory"],
    AR6: [0.02, "propane, IPCC AR6, from memory", "memory"],
  },
  "R-744": {
    AR4: [1, "carbon dioxide, by definition", "published"],
    AR5: [1, "carbon dioxide, by definition", "published"],
    AR6: [1, "carbon dioxide, by definition", "published"],
  },
};

const VINTAGE_OF_SET: Readonly<Record<GwpSet, number>> = { AR4: 2007, AR5: 2013, AR6: 2021 };

const REFRIGERANT_ROWS: ReadonlyMap<string, FactorRow> = new Map(
  REFRIGERANTS.flatMap((refrigerant) =>
    GWP_SETS.map((set): [string, FactorRow] => {
      const [value, source, evidence] = REFRIGERANT_GWP[refrigerant][set];
      const id = `refrigerant/${refrigerant}/${set}`;
      const vintage = VINTAGE_OF_SET[set];
      const row: FactorRow = {
        id,
        activity: "refrigerant",
        region: null,
        gas: refrigerant,
        value,
        unit: "gwp",
        vintage,
        source,
        evidence,
      };
      return [id, row];
    }),
  ),
);

/** The potential of a refrigerant as a factor row. */
export function refrigerantFactor(refrigerant: Refrigerant, set: GwpSet): FactorRow {
  return REFRIGERANT_ROWS.get(`refrigerant/${refrigerant}/${set}`) as FactorRow;
}

/** Factors arranged for look-up; build once with {@link factorBookOf} and pass it on. */
export type FactorBook = ReadonlyMap<string, readonly FactorRow[]>;

/**
 * Arranges factor rows for look-up. Where two rows describe the same activity, region, gas and
 * vintage, the later one in the list holds: put an organisation's own rows last.
 */
export function factorBookOf(rows: readonly FactorRow[]): FactorBook {
  const book = new Map<string, FactorRow[]>();
  for (const row of rows) {
    const key = keyOf(row.activity, row.region, row.gas);
    const sameKey = (book.get(key) ?? []).filter((other) => other.vintage !== row.vintage);
    book.set(
      key,
      [...sameKey, row].sort((a, b) => a.vintage - b.vintage),
    );
  }
  return book;
}

export const PUBLISHED_BOOK: FactorBook = factorBookOf(PUBLISHED_FACTORS);

/**
 * The factor that holds for a year: the latest vintage not after it, else the earliest there is. The
 * row's own vintage says how far it is from the year asked for.
 *
 * @returns null when the book has no such factor at all.
 */
export function findFactor(
  book: FactorBook,
  wanted: {
    readonly activity: FactorActivity;
    readonly region: string | null;
    readonly gas: string;
    readonly year: number;
  },
): FactorRow | null {
  const rows = book.get(keyOf(wanted.activity, wanted.region, wanted.gas));
  if (!rows) return null;
  let found = rows[0] as FactorRow;
  for (const row of rows) if (row.vintage <= wanted.year) found = row;
  return found;
}

/** True when the book can price electricity of this grid region. */
export function isGridRegion(book: FactorBook, region: string): boolean {
  return book.has(keyOf("grid-electricity", region, "co2"));
}

function keyOf(activity: FactorActivity, region: string | null, gas: string): string {
  return `${activity}/${region ?? ""}/${gas}`;
}
