import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { CountMoments, countQuantile } from "@/lib/core/stats/count-distribution";
import { quantileSorted } from "@/lib/core/stats/quantile";
import type { ModelDraw } from "./draws";
import type { AgeingHeater } from "./exposure";
import { drawTable, fillFailures, fleetYears } from "./fleet-years";
import { failureAhead, lifeAsOf } from "./life-as-of";

/** A value with the band in which it lies with the stated confidence. */
export type Band = {
  readonly lower: number;
  readonly median: number;
  readonly upper: number;
};

/** How sure a band is unless said otherwise. */
export const BAND_CONFIDENCE = 0.9;

/** The band that holds the middle `confidence` of the values. */
export function bandOf(values: Iterable<number>, confidence = BAND_CONFIDENCE): Band {
  const sorted = Float64Array.from(values).sort();
  return {
    lower: quantileSorted(sorted, (1 - confidence) / 2),
    median: quantileSorted(sorted, 0.5),
    upper: quantileSorted(sorted, (1 + confidence) / 2),
  };
}

/**
 * Bands on a heater's chance of failing within each horizon: what is not known about the model, by
 * its draws. Luck is not in it: the chance itself is about luck.
 */
export function bandFailure(
  draws: readonly ModelDraw[],
  heater: AgeingHeater,
  {
    today,
    horizonsYears,
    confidence = BAND_CONFIDENCE,
  }: {
    readonly today: CalendarDay;
    readonly horizonsYears: readonly number[];
    readonly confidence?: number;
  },
): readonly Band[] {
  const lives = draws.map((draw) => lifeAsOf(draw, heater, today));
  return horizonsYears.map((years) => {
    requireAtLeastZero("horizonsYears", years);
    return bandOf(
      lives.map((life) => failureAhead(life, years)),
      confidence,
    );
  });
}

/** Failures expected in a year ahead and how many there may be. */
export type FailureCountBand = {
  /** Mean over the draws of the expected number. */
  readonly expected: number;
  /** Band on the expected number: what is not known about the model. */
  readonly expectedBand: Band;
  /** Band on the number itself: the same, and luck. Whole numbers. */
  readonly countBand: { readonly lower: number; readonly upper: number };
};

/**
 * First failures in each year ahead, with bands, if no heater is replaced before it fails. Given a
 * draw heaters fail independently.
 */
export function bandFailureCounts(
  draws: readonly ModelDraw[],
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
  years: number,
  {
    confidence = BAND_CONFIDENCE,
    each = 1,
  }: {
    readonly confidence?: number;
    /** Heaters that each of those given stands for: they are a sample of a large fleet. */
    readonly each?: number;
  } = {},
): readonly FailureCountBand[] {
  const counts = Array.from({ length: years }, () => draws.map(() => new CountMoments()));
  const fleet = fleetYears(heaters, today, years);
  const table = drawTable(draws, fleet.propertyIds);
  const chances = new Float64Array(draws.length * years);
  for (let i = 0; i < heaters.length; i++) {
    fillFailures(fleet, i, table, chances);
    for (let d = 0; d < draws.length; d++) {
      let before = 0;
      for (let year = 0; year < years; year++) {
        const by = chances[d * years + year];
        counts[year][d].add(Math.max(0, by - before), each);
        before = by;
      }
    }
  }
  return counts.map((ofDraws) => {
    const means = ofDraws.map(({ mean }) => mean);
    return {
      expected: means.reduce((sum, mean) => sum + mean, 0) / means.length,
      expectedBand: bandOf(means, confidence),
      countBand: {
        lower: countQuantile(ofDraws, (1 - confidence) / 2),
        upper: countQuantile(ofDraws, (1 + confidence) / 2),
      },
    };
  });
}

/** Bands of a fleet's 12-month chances, as columns in the order of the heaters. */
export type FleetBands = {
  /** Mean over the draws: the chance to rank by when the model is not certain. */
  readonly mean: Float64Array;
  readonly lower: Float64Array;
  readonly upper: Float64Array;
};

/**
 * Bands on the 12-month chance of every heater. Memory grows with the heaters given, not with the
 * draws: pass a large fleet in parts.
 */
export function bandFleet12Months(
  draws: readonly ModelDraw[],
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
  confidence = BAND_CONFIDENCE,
): FleetBands {
  const fleet = fleetYears(heaters, today, 1);
  const table = drawTable(draws, fleet.propertyIds);
  const mean = new Float64Array(heaters.length);
  const lower = new Float64Array(heaters.length);
  const upper = new Float64Array(heaters.length);
  const chances = new Float64Array(draws.length);
  for (let i = 0; i < heaters.length; i++) {
    fillFailures(fleet, i, table, chances);
    let sum = 0;
    for (let d = 0; d < chances.length; d++) sum += chances[d];
    chances.sort();
    mean[i] = sum / chances.length;
    lower[i] = quantileSorted(chances, (1 - confidence) / 2);
    upper[i] = quantileSorted(chances, (1 + confidence) / 2);
  }
  return { mean, lower, upper };
}
