import type { Care, Heater, Home, Water } from "@/lib/core/heaters/heater";
import { hasTank } from "@/lib/core/heaters/vocabulary";
import { DAYS_PER_YEAR, dayNumber } from "@/lib/core/shared/calendar-day";
import {
  ANODE_INSPECTION_HOLDS,
  ANODE_PROTECTION,
  CARE_COVARIATES,
  type CareCovariate,
  COVARIATES,
  type Covariate,
  type CovariateValues,
  FLUSH_HOLDS,
  HARDNESS_CEILING_MG_PER_LITRE,
  HARDNESS_FLOOR,
  SETPOINT_FLOOR,
  TYPICAL_VALUES,
} from "./covariates";

/** What the model reads of a heater: all that is needed to hold the lives of many in memory. */
export type AgeingHeater = Pick<
  Heater,
  "id" | "propertyId" | "technology" | "install" | "setpointF" | "closedSystem" | "expansionControl"
> & {
  readonly home: Pick<Home, "bedrooms" | "occupants" | "homesServed">;
  readonly water: Pick<Water, "hardnessMgPerLitre" | "softened">;
  readonly care: Pick<Care, "flushDays" | "anodeReplacementDays" | "anodeInspection">;
};

/**
 * A heater's covariates as they changed over time. `values[i]` holds from `startDays[i]` (days since
 * 1970-01-01; the first is −Infinity) until the next start, and the last one holds for ever: care
 * that is not on record is not promised.
 */
export type CovariateHistory = {
  readonly startDays: readonly number[];
  readonly values: readonly CovariateValues[];
};

/** The rate of wear over time, in years of wear per year, in the same pieces. */
export type WearPath = {
  readonly startDays: readonly number[];
  readonly rates: readonly number[];
};

type Span = { readonly from: number; readonly to: number };

/**
 * The covariates of a heater from its record. What is not known takes its typical value. Water,
 * setpoint and use are taken to have been what they are now; anode and flushes follow the service
 * record, so that an anode replaced in year 6 changes wear after year 6 and nothing before.
 */
export function covariateHistory(heater: AgeingHeater): CovariateHistory {
  const constant = constantValues(heater);
  const spans = careSpans(heater);
  const days = [Number.NEGATIVE_INFINITY];
  for (const covariate of CARE_COVARIATES) {
    for (const { from, to } of spans[covariate]) days.push(from, to);
  }
  days.sort((a, b) => a - b);

  const startDays: number[] = [];
  const values: CovariateValues[] = [];
  let before = -1;
  for (const day of days) {
    // The state as bits. Where spans overlap or follow on one another nothing changes.
    let state = 0;
    CARE_COVARIATES.forEach((covariate, bit) => {
      if (spans[covariate].some(({ from, to }) => from <= day && day < to)) state |= 1 << bit;
    });
    if (state === before || day === Number.POSITIVE_INFINITY) continue;
    before = state;
    const at = { ...constant };
    CARE_COVARIATES.forEach((covariate, bit) => {
      at[covariate] = (state >> bit) & 1;
    });
    startDays.push(day);
    values.push(COVARIATES.map((covariate) => at[covariate]));
  }
  return { startDays, values };
}

/** When each kind of care was known to hold. */
function careSpans(heater: AgeingHeater): Record<CareCovariate, readonly Span[]> {
  const anode = hasTank(heater.technology)
    ? anodeSpans(heater)
    : { protectedSpans: [], spentSpans: [] };
  return {
    anodeProtected: anode.protectedSpans,
    anodeSpent: anode.spentSpans,
    flushed: daysToSpans(heater.care.flushDays.map(dayNumber), FLUSH_HOLDS.value),
  };
}

/** Covariates that do not change over the record, and zero for those that do. */
function constantValues(heater: AgeingHeater): Record<Covariate, number> {
  const { water, setpointF, home } = heater;
  const tank = hasTank(heater.technology);
  const softened = water.softened === "yes";
  return {
    hardness: softened ? 0 : hardnessValue(water.hardnessMgPerLitre),
    // Softened water matters through the anode, which only a tank has.
    softened: tank && softened ? 1 : TYPICAL_VALUES.softened.value,
    setpoint:
      setpointF === null
        ? TYPICAL_VALUES.setpoint.value
        : Math.max(0, setpointF - SETPOINT_FLOOR.value) / 10,
    closedSystem: tank ? closedSystemValue(heater) : TYPICAL_VALUES.closedSystem.value,
    anodeProtected: 0,
    anodeSpent: 0,
    flushed: 0,
    highDraw: highDrawValue(home),
  };
}

function hardnessValue(hardnessMgPerLitre: number | null): number {
  if (hardnessMgPerLitre === null) return TYPICAL_VALUES.hardness.value;
  const counted = Math.min(hardnessMgPerLitre, HARDNESS_CEILING_MG_PER_LITRE);
  return Math.max(0, counted - HARDNESS_FLOOR.value) / 100;
}

/** Both answers are needed; a closed feed of unknown control counts as an ordinary heater does. */
function closedSystemValue({ closedSystem, expansionControl }: AgeingHeater): number {
  if (closedSystem === "no" || expansionControl === "yes") return 0;
  if (closedSystem === "yes" && expansionControl === "no") return 1;
  return TYPICAL_VALUES.closedSystem.value;
}

function highDrawValue({ occupants, bedrooms, homesServed }: AgeingHeater["home"]): number {
  if (occupants === null || bedrooms === null || homesServed !== 1 || occupants <= 0) {
    return TYPICAL_VALUES.highDraw.value;
  }
  return Math.min(2, Math.max(0, Math.log2(occupants / (bedrooms + 1))));
}

/**
 * When the anode was known to be sound and when it was known to be spent. A replacement protects
 * for the life of an anode in this water, an inspection that found it sound for the time between
 * inspections; one that found it spent holds until the next replacement. Otherwise it is not known.
 */
function anodeSpans({ care, water }: AgeingHeater): {
  protectedSpans: readonly Span[];
  spentSpans: readonly Span[];
} {
  const replaced = care.anodeReplacementDays.map(dayNumber);
  const life = ANODE_PROTECTION[water.softened === "yes" ? "softened" : "plain"].value;
  const protectedSpans = daysToSpans(replaced, life);
  const inspection = care.anodeInspection;
  if (!inspection || inspection.state === "unknown") return { protectedSpans, spentSpans: [] };

  const inspected = dayNumber(inspection.day);
  if (inspection.state === "protected") {
    const sound = daysToSpans([inspected], ANODE_INSPECTION_HOLDS.value);
    return { protectedSpans: [...protectedSpans, ...sound], spentSpans: [] };
  }
  const renewed = Math.min(...replaced.filter((day) => day >= inspected));
  return {
    protectedSpans: protectedSpans
      .map((span) =>
        span.from < inspected ? { from: span.from, to: Math.min(span.to, inspected) } : span,
      )
      .filter((span) => span.from < span.to),
    spentSpans: inspected < renewed ? [{ from: inspected, to: renewed }] : [],
  };
}

function daysToSpans(days: readonly number[], years: number): readonly Span[] {
  return days.map((from) => ({ from, to: from + Math.round(years * DAYS_PER_YEAR) }));
}

/**
 * Years spent in each piece of a history from one day to another, into `years`; zero everywhere
 * when `toDay` is not after `fromDay`.
 */
export function fillPieceYears(
  startDays: readonly number[],
  fromDay: number,
  toDay: number,
  years: Float64Array,
): void {
  for (let i = 0; i < startDays.length; i++) {
    const from = Math.max(fromDay, startDays[i]);
    const to = i + 1 < startDays.length ? Math.min(toDay, startDays[i + 1]) : toDay;
    years[i] = to > from ? (to - from) / DAYS_PER_YEAR : 0;
  }
}

/**
 * Years of wear gathered from one day to another: ∫ rate ds over the path.
 *
 * @param fromDay days since 1970-01-01, fractions allowed
 * @returns zero when `toDay` is not after `fromDay`
 */
export function wearBetween(path: WearPath, fromDay: number, toDay: number): number {
  const { startDays, rates } = path;
  let wearDays = 0;
  for (let i = 0; i < rates.length; i++) {
    const from = Math.max(fromDay, startDays[i]);
    const to = i + 1 < rates.length ? Math.min(toDay, startDays[i + 1]) : toDay;
    if (to > from) wearDays += rates[i] * (to - from);
  }
  return wearDays / DAYS_PER_YEAR;
}
