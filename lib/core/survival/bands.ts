import type { Heater } from "@/lib/core/heaters/heater";
import { TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR, dayNumber } from "@/lib/core/shared/calendar-day";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import { CountMoments, countQuantile } from "@/lib/core/stats/count-distribution";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import { quantileSorted } from "@/lib/core/stats/quantile";
import { COVARIATES, TYPICAL_VALUES } from "./covariates";
import type { ModelDraw } from "./draws";
import { covariateHistory, fillPieceYears } from "./exposure";
import { failureAhead, installPoints, lifeAsOf } from "./life-as-of";

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
  heater: Heater,
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
  heaters: readonly Heater[],
  today: CalendarDay,
  years: number,
  confidence = BAND_CONFIDENCE,
): readonly FailureCountBand[] {
  const counts = Array.from({ length: years }, () => draws.map(() => new CountMoments()));
  const fleet = new FleetYears(heaters, today, years);
  const cumulative = new Float64Array(years);
  draws.forEach((draw, d) => {
    const rates = new DrawRates(draw);
    for (let i = 0; i < fleet.count; i++) {
      fleet.fillFailures(i, rates, cumulative);
      for (let year = 0; year < years; year++) {
        const within = Math.max(0, cumulative[year] - (year === 0 ? 0 : cumulative[year - 1]));
        counts[year][d].add(within);
      }
    }
  });
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
  heaters: readonly Heater[],
  today: CalendarDay,
  confidence = BAND_CONFIDENCE,
): FleetBands {
  const fleet = new FleetYears(heaters, today, 1);
  const mean = new Float64Array(fleet.count);
  const lower = new Float64Array(fleet.count);
  const upper = new Float64Array(fleet.count);
  const rates = draws.map((draw) => new DrawRates(draw));
  const chance = new Float64Array(1);
  const chances = new Float64Array(draws.length);
  for (let i = 0; i < fleet.count; i++) {
    let sum = 0;
    for (let d = 0; d < rates.length; d++) {
      fleet.fillFailures(i, rates[d], chance);
      chances[d] = chance[0];
      sum += chance[0];
    }
    chances.sort();
    mean[i] = sum / rates.length;
    lower[i] = quantileSorted(chances, (1 - confidence) / 2);
    upper[i] = quantileSorted(chances, (1 + confidence) / 2);
  }
  return { mean, lower, upper };
}

const WIDTH = COVARIATES.length;
const TYPICAL = COVARIATES.map((covariate) => TYPICAL_VALUES[covariate].value);

/** A draw as arrays, for passes over many heaters. */
class DrawRates {
  readonly coefficients: Float64Array;
  readonly shapes: Float64Array;
  readonly logScales: Float64Array;
  private readonly effects: Readonly<Record<string, number>>;

  constructor({ coefficients, lifetimes, propertyEffects }: ModelDraw) {
    this.coefficients = Float64Array.from(COVARIATES, (covariate) => coefficients[covariate]);
    this.shapes = Float64Array.from(TECHNOLOGIES, (technology) => lifetimes[technology].shape);
    this.logScales = Float64Array.from(TECHNOLOGIES, (technology) =>
      Math.log(lifetimes[technology].scaleYears),
    );
    this.effects = propertyEffects;
  }

  effect(propertyId: string): number {
    return this.effects[propertyId] ?? 0;
  }
}

/**
 * A fleet as the years that each heater has spent and will spend in each of its pieces of constant
 * covariates, so that another draw needs no look at the records.
 */
class FleetYears {
  readonly count: number;
  private readonly technology: Uint8Array;
  private readonly propertyIds: readonly string[];
  private readonly pieces: {
    /** Covariates less their typical values, piece by piece. */
    readonly x: Float64Array;
    /** Point by point of the install bracket: years so far in each piece. */
    readonly years: Float64Array;
    /** Year by year ahead: years from today in each piece. */
    readonly ahead: Float64Array;
    readonly weights: Float64Array;
  }[];
  private rates = new Float64Array(16);
  private hazards = new Float64Array(16);

  constructor(
    heaters: readonly Heater[],
    today: CalendarDay,
    private readonly yearsAhead: number,
  ) {
    this.count = heaters.length;
    this.technology = Uint8Array.from(heaters, ({ technology }) =>
      TECHNOLOGIES.indexOf(technology),
    );
    this.propertyIds = heaters.map(({ propertyId }) => propertyId);
    const day = dayNumber(today);
    this.pieces = heaters.map((heater) => {
      const { startDays, values } = covariateHistory(heater);
      const width = startDays.length;
      const latest = Math.min(dayNumber(heater.install.latest), day);
      const earliest = Math.min(dayNumber(heater.install.earliest), latest);
      const rule = gaussLegendre(installPoints((latest - earliest) / DAYS_PER_YEAR));
      const years = new Float64Array(rule.points.length * width);
      rule.points.forEach((point, k) => {
        const installed = earliest + point * (latest - earliest);
        fillPieceYears(startDays, installed, day, years.subarray(k * width, (k + 1) * width));
      });
      const ahead = new Float64Array(yearsAhead * width);
      for (let year = 0; year < yearsAhead; year++) {
        const end = day + (year + 1) * DAYS_PER_YEAR;
        fillPieceYears(startDays, day, end, ahead.subarray(year * width, (year + 1) * width));
      }
      const x = new Float64Array(width * WIDTH);
      values.forEach((row, p) => {
        for (let j = 0; j < WIDTH; j++) x[p * WIDTH + j] = row[j] - TYPICAL[j];
      });
      return { x, years, ahead, weights: rule.weights };
    });
  }

  /** Chance that heater i fails within 1, 2, … years, alive today, into `chances`. */
  fillFailures(i: number, draw: DrawRates, chances: Float64Array): void {
    const { x, years, ahead, weights } = this.pieces[i];
    const shape = draw.shapes[this.technology[i]];
    const level = draw.effect(this.propertyIds[i]) - draw.logScales[this.technology[i]];
    const width = x.length / WIDTH;
    if (this.rates.length < width) this.rates = new Float64Array(2 * width);
    const { rates, hazards } = this;
    for (let p = 0; p < width; p++) {
      let logRate = level;
      for (let j = 0; j < WIDTH; j++) logRate += draw.coefficients[j] * x[p * WIDTH + j];
      // Wear in units of the scale: the hazard is this to the power of the shape.
      rates[p] = Math.exp(logRate);
    }
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < weights.length; k++) {
      hazards[k] = wearOf(rates, years, k * width, width) ** shape;
      least = Math.min(least, hazards[k]);
    }
    for (let year = 0; year < this.yearsAhead; year++) {
      const added = wearOf(rates, ahead, year * width, width);
      let alive = 0;
      let failed = 0;
      for (let k = 0; k < weights.length; k++) {
        const weight = weights.length === 1 ? 1 : weights[k] * Math.exp(least - hazards[k]);
        const after = (wearOf(rates, years, k * width, width) + added) ** shape;
        alive += weight;
        failed -= weight * Math.expm1(hazards[k] - after);
      }
      chances[year] = Math.min(1, failed / alive);
    }
  }
}

function wearOf(rates: Float64Array, years: Float64Array, start: number, width: number): number {
  let wear = 0;
  for (let p = 0; p < width; p++) wear += rates[p] * years[start + p];
  return wear;
}
