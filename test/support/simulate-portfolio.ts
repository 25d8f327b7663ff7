import type { Heater } from "@/lib/core/heaters/heater";
import type { RetirementCause, Technology } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  type CalendarDay,
  calendarDay,
  DAYS_PER_YEAR,
  dayNumber,
  dayOfNumber,
} from "@/lib/core/shared/calendar-day";
import { createRandom, type RandomSource } from "@/lib/core/stats/random";
import { covariateHistory, wearBetween } from "@/lib/core/survival/exposure";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { type AgeingModel, wearPath } from "@/lib/core/survival/model";
import { aHeater } from "./a-heater";

/** What an invented portfolio is drawn from. */
export type Truth = AgeingModel;

export type PortfolioTerms = {
  readonly truth: Truth;
  readonly seed: number;
  /** Heaters on record: those that lived until the records began. */
  readonly heaters: number;
  readonly properties: number;
  readonly recordYears: number;
  readonly technologies?: readonly Technology[];
};

export const PORTFOLIO_TODAY = calendarDay("2026-06-01");

/**
 * An invented portfolio that follows the model exactly: heaters put in over thirty years, seen only
 * if they lived until the records began, ended by failure, by planned swaps that know nothing of
 * the heater's state, or still in service; a fifth with an install bracket, a fifth of the failures
 * known to a bracket of days.
 */
export function simulatePortfolio({
  truth,
  seed,
  heaters,
  properties,
  recordYears,
  technologies = ["gas-storage", "gas-storage", "electric-storage"],
}: PortfolioTerms): readonly LifeRecord[] {
  const random = createRandom(seed);
  const observedFrom = addDays(PORTFOLIO_TODAY, -Math.round(recordYears * DAYS_PER_YEAR));
  const waters = Array.from({ length: properties }, () => ({
    hardness: Math.round(400 * random.nextUniform()),
    softened: random.nextUniform() < 0.15,
  }));
  const records: LifeRecord[] = [];
  while (records.length < heaters) {
    const property = Math.floor(random.nextUniform() * properties);
    const technology = technologies[Math.floor(random.nextUniform() * technologies.length)];
    const record = simulateLife(random, truth, {
      id: `heater-${records.length}`,
      propertyId: `property-${property}`,
      technology,
      water: waters[property],
      observedFrom,
    });
    if (record !== null) records.push(record);
  }
  return records;
}

function simulateLife(
  random: RandomSource,
  truth: Truth,
  given: {
    readonly id: string;
    readonly propertyId: string;
    readonly technology: Technology;
    readonly water: { readonly hardness: number; readonly softened: boolean };
    readonly observedFrom: CalendarDay;
  },
): LifeRecord | null {
  const chance = (share: number) => random.nextUniform() < share;
  const today = dayNumber(PORTFOLIO_TODAY);
  const installed = today - Math.round(30 * DAYS_PER_YEAR * random.nextUniform());
  const later = (years: number) =>
    dayOfNumber(installed + 30 + Math.round(years * DAYS_PER_YEAR * random.nextUniform()));
  const plain = aHeater();
  const flushes = chance(0.5) ? Array.from({ length: 6 }, () => later(20)).sort() : [];
  const whole = aHeater({
    id: given.id,
    propertyId: given.propertyId,
    technology: given.technology,
    install: {
      earliest: dayOfNumber(installed),
      latest: dayOfNumber(installed),
      evidence: "invoice",
    },
    setpointF: chance(0.2) ? null : [115, 120, 130, 140][Math.floor(4 * random.nextUniform())],
    closedSystem: chance(0.5) ? "yes" : "no",
    expansionControl: chance(0.3) ? "yes" : "no",
    water: {
      ...plain.water,
      hardnessMgPerLitre: given.water.hardness,
      softened: given.water.softened ? "yes" : "no",
    },
    home: { ...plain.home, bedrooms: 1, occupants: 1 + Math.floor(6 * random.nextUniform()) },
    care: {
      ...plain.care,
      flushDays: flushes,
      anodeReplacementDays: chance(0.4) ? [later(15)] : [],
      anodeInspection: chance(0.5)
        ? { day: later(20), state: chance(0.5) ? "spent" : "protected" }
        : null,
    },
  });

  const lifetime = truth.lifetimes[given.technology];
  const failsAtWear =
    lifetime.scaleYears * (-Math.log1p(-random.nextUniform())) ** (1 / lifetime.shape);
  const path = wearPath(truth, given.propertyId, covariateHistory(whole));
  const failed = dayOfWear(path, installed, failsAtWear);
  const swapped = installed + 60 + Math.floor(60 * DAYS_PER_YEAR * random.nextUniform());
  const ended = Math.min(failed, swapped);
  if (ended <= dayNumber(given.observedFrom)) return null;

  // A fifth of install days are remembered only to within three years around them.
  const early = Math.floor(1100 * random.nextUniform());
  const isBracket = chance(0.2);
  const heater: Heater = {
    ...whole,
    install: isBracket
      ? {
          earliest: dayOfNumber(installed - early),
          latest: dayOfNumber(installed + 1100 - early),
          evidence: "staff-estimate",
        }
      : whole.install,
  };
  const isNoticedLate = chance(0.2);
  if (ended > today) return { heater, observedFrom: given.observedFrom, retirement: null };
  const cause: RetirementCause = failed <= swapped ? "leak" : "planned";
  return {
    heater,
    observedFrom: given.observedFrom,
    retirement: {
      heaterId: given.id,
      earliest: dayOfNumber(isNoticedLate && cause === "leak" ? ended - 60 : ended),
      latest: dayOfNumber(isNoticedLate && cause === "leak" ? ended + 30 : ended),
      cause,
      emergency: cause === "leak",
    },
  };
}

/** First day by which a heater has gathered the wear; far away when it takes over 200 years. */
function dayOfWear(
  path: Parameters<typeof wearBetween>[0],
  installed: number,
  wear: number,
): number {
  let low = installed;
  let high = installed + Math.round(200 * DAYS_PER_YEAR);
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (wearBetween(path, installed, middle) < wear) low = middle;
    else high = middle;
  }
  return high;
}
