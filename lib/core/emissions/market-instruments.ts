import { requireAtLeastZero } from "@/lib/core/shared/requirements";

/** A contract about the emissions of electricity bought, in the words of the GHG Protocol Scope 2 Guidance. */
export type Instrument = {
  readonly id: string;
  readonly kind: InstrumentKind;
  /** How much of the electricity it covers. */
  readonly covers:
    | { readonly kwh: number }
    /** Share of the electricity used, 0 to 1. */
    | { readonly share: number };
  /** Emission rate that it conveys, kg CO2e per kWh; 0 for most certificates. */
  readonly kgCo2ePerKwh: number;
  /** Year of generation. */
  readonly vintage: number;
  /** Market in which it was issued, for example "US". */
  readonly market: string;
  /** It conveys the claim to the emission rate. */
  readonly conveysRate: boolean;
  /** No other instrument makes the same claim. */
  readonly soleClaim: boolean;
  /** Tracked and retired (cancelled) for the one who reports. */
  readonly retired: boolean;
  readonly source: string;
  /** Place (a property) whose electricity alone it covers, as a tariff does; all of it when absent. */
  readonly place?: string | null;
};

/** In the order in which the guidance lets them be used, most precise first (table 6.3, order from memory). */
export const INSTRUMENT_KINDS = ["certificate", "contract", "supplier-rate"] as const;
export type InstrumentKind = (typeof INSTRUMENT_KINDS)[number];

/** Years that generation may lie from the year of use. "As close as possible" in the guidance; one year is our reading. */
export const VINTAGE_TOLERANCE_YEARS = 1;

/**
 * The quality criteria that an instrument does not meet, in words; empty when it may be used. GHG
 * Protocol Scope 2 Guidance (2015) table 7.1: the first three as quoted, the rest from memory.
 */
export function qualityProblems(
  instrument: Instrument,
  use: { readonly year: number; readonly market: string },
): readonly string[] {
  const problems: string[] = [];
  if (!instrument.conveysRate) problems.push("does not convey the emission rate");
  if (!instrument.soleClaim) problems.push("is not the only claim to the same generation");
  if (!instrument.retired) problems.push("is not tracked and retired for the reporter");
  if (Math.abs(instrument.vintage - use.year) > VINTAGE_TOLERANCE_YEARS) {
    problems.push(`its vintage ${instrument.vintage} is too far from ${use.year}`);
  }
  if (instrument.market !== use.market) {
    problems.push(`it was issued in ${instrument.market}, not in ${use.market}`);
  }
  return problems;
}

export type InstrumentUse = { readonly instrument: Instrument; readonly kwh: number };

export type Allocation = {
  readonly used: readonly InstrumentUse[];
  readonly refused: readonly {
    readonly instrument: Instrument;
    readonly reasons: readonly string[];
  }[];
  /** Kilowatt hours of sound instruments beyond the use: not counted. */
  readonly surplus: readonly InstrumentUse[];
  /** Electricity without an instrument: the residual mix, or the grid average, answers for it. */
  readonly uncoveredKwh: number;
};

/** How instruments were laid over several places. */
export type PlacedAllocation = Pick<Allocation, "refused" | "surplus"> & {
  readonly byPlace: ReadonlyMap<string, Pick<Allocation, "used" | "uncoveredKwh">>;
};

/**
 * Lays instruments over electricity used, certificates first, each kilowatt hour once. What exceeds the
 * use is not counted, so a surplus of certificates never makes emissions negative.
 *
 * @throws {RangeError} when a rate, an amount or the use is negative.
 */
export function allocateInstruments(
  kwh: number,
  instruments: readonly Instrument[],
  use: { readonly year: number; readonly market: string },
): Allocation {
  const { byPlace, refused, surplus } = allocateOverPlaces(
    new Map([["", kwh]]),
    instruments.map((instrument) => ({ ...instrument, place: null })),
    use,
  );
  const { used, uncoveredKwh } = byPlace.get("") ?? { used: [], uncoveredKwh: 0 };
  return { used, refused, surplus, uncoveredKwh };
}

/**
 * As {@link allocateInstruments}, over places. Within a kind an instrument of one place goes first and
 * stays there; one of the whole organisation is spread over what is still uncovered, in proportion.
 */
export function allocateOverPlaces(
  kwhByPlace: ReadonlyMap<string, number>,
  instruments: readonly Instrument[],
  use: { readonly year: number; readonly market: string },
): PlacedAllocation {
  const places = new Map<string, { kwh: number; uncoveredKwh: number; used: InstrumentUse[] }>();
  for (const [place, kwh] of kwhByPlace) {
    requireAtLeastZero("kwh", kwh);
    places.set(place, { kwh, uncoveredKwh: kwh, used: [] });
  }
  const refused: Allocation["refused"][number][] = [];
  const surplus: InstrumentUse[] = [];
  for (const instrument of inOrderOfUse(instruments)) {
    requireAtLeastZero(`instrument ${instrument.id} kgCo2ePerKwh`, instrument.kgCo2ePerKwh);
    const reasons = qualityProblems(instrument, use);
    if (reasons.length > 0) {
      refused.push({ instrument, reasons });
      continue;
    }
    const own = isPlaced(instrument) ? places.get(instrument.place) : undefined;
    const over = isPlaced(instrument) ? (own ? [own] : []) : [...places.values()];
    const kwh = over.reduce((sum, place) => sum + place.kwh, 0);
    const open = over.reduce((sum, place) => sum + place.uncoveredKwh, 0);
    const offered =
      "kwh" in instrument.covers ? instrument.covers.kwh : instrument.covers.share * kwh;
    requireAtLeastZero(`instrument ${instrument.id} amount`, offered);
    const taken = Math.min(offered, open);
    if (offered > taken && "kwh" in instrument.covers) {
      surplus.push({ instrument, kwh: offered - taken });
    }
    if (taken === 0) continue;
    for (const place of over) {
      const part = taken === open ? place.uncoveredKwh : (taken * place.uncoveredKwh) / open;
      if (part > 0) place.used.push({ instrument, kwh: part });
      place.uncoveredKwh -= part;
    }
  }
  for (const place of places.values()) {
    // Shares that make up the whole leave a rounding error behind, not electricity.
    if (place.uncoveredKwh < 1e-9 * place.kwh) place.uncoveredKwh = 0;
  }
  return { byPlace: places, refused, surplus };
}

function inOrderOfUse(instruments: readonly Instrument[]): readonly Instrument[] {
  return INSTRUMENT_KINDS.flatMap((kind) => {
    const ofKind = instruments.filter((instrument) => instrument.kind === kind);
    return [...ofKind.filter(isPlaced), ...ofKind.filter((instrument) => !isPlaced(instrument))];
  });
}

function isPlaced(instrument: Instrument): instrument is Instrument & { readonly place: string } {
  return typeof instrument.place === "string";
}
