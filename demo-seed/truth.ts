import type { Technology } from "@/lib/core/heaters/vocabulary";

/**
 * The stated truth behind the demo: how its heaters really wear and fail. Every number here is
 * invented for the demo (not a finding about real heaters), chosen so that gas tanks last about 12
 * to 13 years. The generator draws lifetimes from these numbers and the risk model sees only the
 * records, so the model's estimates can be held against this page.
 *
 * A heater gathers exposure (years of wear) at the rate `wearRate`; it fails when its exposure
 * reaches a Weibull draw with the shape and scale of its technology.
 */
export type TrueLifetime = {
  /** Weibull shape, no unit. */
  readonly shape: number;
  /** Weibull scale in years of exposure, which are years under the reference conditions. */
  readonly scaleYears: number;
};

/** Technologies that the demo holds. */
export type DemoTechnology = Extract<
  Technology,
  | "gas-storage"
  | "gas-instantaneous"
  | "electric-storage"
  | "heat-pump-storage"
  | "heat-pump-plug-in"
>;

export const TRUE_LIFETIMES: Readonly<Record<DemoTechnology, TrueLifetime>> = {
  "gas-storage": { shape: 3.2, scaleYears: 19.5 },
  "gas-instantaneous": { shape: 3.4, scaleYears: 23.5 },
  "electric-storage": { shape: 3, scaleYears: 20.5 },
  "heat-pump-storage": { shape: 2.8, scaleYears: 19 },
  "heat-pump-plug-in": { shape: 2.8, scaleYears: 18 },
};

/**
 * Logarithms of the factors by which conditions multiply the rate of wear. All are zero under the
 * reference conditions: soft water that is not softened, 120 °F or less, an open system, an anode
 * with metal left, not flushed lately, fewer than five people.
 */
export const TRUE_WEAR = {
  /** Per 100 mg/L of hardness (as CaCO3) above 60 mg/L, where the water is not softened. */
  hardnessPer100MgPerLitre: 0.12,
  softened: 0.1,
  /** Per 10 °F of setpoint above 120 °F. */
  setpointPer10F: 0.08,
  closedWithoutExpansionControl: 0.2,
  /** While the anode of a tank is spent. */
  anodeSpent: 0.35,
  /** While the last flush is no older than {@link FLUSH_HOLDS_YEARS}. */
  flushed: -0.1,
  /** Five or more people on one heater's home. */
  highDraw: 0.1,
} as const;

/** How long a flush slows wear. */
export const FLUSH_HOLDS_YEARS = 2;

/** Years until an anode is spent: log-normal, median halved in softened water. */
export const TRUE_ANODE = { medianYears: 6, softenedMedianYears: 3, logSpread: 0.25 } as const;

/** Ends that are not failures: constant rates per heater and year, whatever its condition. */
export const TRUE_OTHER_ENDS = { otherPerYear: 0.003, damagePerYear: 0.001 } as const;

/** Share of failures of tanks that are leaks, the rest is heat not worth repairing. */
export const TRUE_LEAK_SHARE = { tank: 0.69, tankless: 0.2 } as const;

/** What holds for a heater through its whole life. */
export type LastingConditions = {
  readonly hardnessMgPerLitre: number;
  readonly softened: boolean;
  readonly setpointF: number;
  readonly closedWithoutExpansionControl: boolean;
  readonly highDraw: boolean;
};

/** Years of wear gathered per year under lasting conditions, with a live anode and no flush. */
export function baseWearRate(conditions: LastingConditions): number {
  const excessHardness = conditions.softened
    ? 0
    : Math.max(0, conditions.hardnessMgPerLitre - 60) / 100;
  return Math.exp(
    TRUE_WEAR.hardnessPer100MgPerLitre * excessHardness +
      (conditions.softened ? TRUE_WEAR.softened : 0) +
      (TRUE_WEAR.setpointPer10F * Math.max(0, conditions.setpointF - 120)) / 10 +
      (conditions.closedWithoutExpansionControl ? TRUE_WEAR.closedWithoutExpansionControl : 0) +
      (conditions.highDraw ? TRUE_WEAR.highDraw : 0),
  );
}

/** Factors of the passing conditions, applied to tanks only. */
export const SPENT_FACTOR = Math.exp(TRUE_WEAR.anodeSpent);
export const FLUSHED_FACTOR = Math.exp(TRUE_WEAR.flushed);

/**
 * What the owner's meters truly read: the model's energy of the month times the property's factor
 * times a noise of the month, which is normal around 1. By position in a cycle of 24 properties.
 */
export const TRUE_METERS = {
  factorByPosition: new Map([
    [0, 1.08],
    [3, 0.93],
    [4, 0.88],
    [7, 1.15],
    [9, 0.97],
    [14, 1.04],
    [16, 1.12],
    [21, 0.85],
  ]) as ReadonlyMap<number, number>,
  /** Standard deviation of a month's noise, as a share. */
  monthlyNoise: 0.04,
} as const;
