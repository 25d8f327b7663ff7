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
  /** Electricity without an instrument: the residual mix, or the grid average, answers for it. */
  readonly uncoveredKwh: number;
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
  requireAtLeastZero("kwh", kwh);
  const used: InstrumentUse[] = [];
  const refused: Allocation["refused"][number][] = [];
  let uncoveredKwh = kwh;
  for (const kind of INSTRUMENT_KINDS) {
    for (const instrument of instruments) {
      if (instrument.kind !== kind) continue;
      requireAtLeastZero(`instrument ${instrument.id} kgCo2ePerKwh`, instrument.kgCo2ePerKwh);
      const reasons = qualityProblems(instrument, use);
      if (reasons.length > 0) {
        refused.push({ instrument, reasons });
        continue;
      }
      const offered =
        "kwh" in instrument.covers ? instrument.covers.kwh : instrument.covers.share * kwh;
      requireAtLeastZero(`instrument ${instrument.id} amount`, offered);
      const taken = Math.min(offered, uncoveredKwh);
      if (taken > 0) used.push({ instrument, kwh: taken });
      uncoveredKwh -= taken;
    }
  }
  // Shares that make up the whole leave a rounding error behind, not electricity.
  if (uncoveredKwh < 1e-9 * kwh) uncoveredKwh = 0;
  return { used, refused, uncoveredKwh };
}
