import type { Retirement } from "@/lib/core/heaters/heater";
import { isFailureCause } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  addYears,
  type CalendarDay,
  DAYS_PER_YEAR,
  daysBetween,
  maxDay,
  minDay,
  yearsBetween,
} from "@/lib/core/shared/calendar-day";
import { type Outcome, success } from "@/lib/core/shared/outcome";
import type { Prediction } from "./calibration";
import type { AgeingHeater } from "./exposure";
import { fitRecords } from "./fit-records";
import { failureAhead, lifeAsOf } from "./life-as-of";
import type { LifeRecord } from "./life-record";
import type { SurvivalModel } from "./model";

/**
 * What was said on one day of the past, from nothing but what was on record by then, and what came
 * of it in the 12 months after.
 */
export type BackTestYear = {
  readonly origin: CalendarDay;
  /** Failures on record by the origin, from which the fit of that day learnt. */
  readonly failuresLearntFrom: number;
  /** Heaters that ended otherwise within the 12 months; they count for the part they were watched. */
  readonly endedOtherwise: number;
  readonly model: readonly Prediction[];
  readonly ageOnly: readonly Prediction[];
  readonly replaceAtTen: readonly Prediction[];
};

/**
 * Days a year apart from which 12 months can be predicted and checked by `today`: the latest first
 * is a year before today, and no origin is earlier than `earliest`.
 */
export function backTestOrigins(
  today: CalendarDay,
  earliest: CalendarDay,
  most: number,
): readonly CalendarDay[] {
  const origins: CalendarDay[] = [];
  for (let back = 1; back <= most; back++) {
    const origin = addYears(today, -back);
    if (origin < earliest) break;
    origins.push(origin);
  }
  return origins.reverse();
}

/**
 * Fits to what was known on `origin` and predicts the 12 months after it, beside two simpler ways:
 * age and technology only, and whether the heater is past ten years.
 */
export function backTestYear(
  records: readonly LifeRecord[],
  origin: CalendarDay,
): Outcome<BackTestYear> {
  const known = records.flatMap((record) => recordAsOf(record, origin) ?? []);
  const fit = fitRecords(known, { today: origin, method: "back-test" });
  if (!fit.ok) return fit;
  const ageFit = fitRecords(
    known.map((record) => ({ ...record, heater: ordinaryHeater(record.heater) })),
    { today: origin, method: "back-test, age only", learnProperties: false },
  );
  if (!ageFit.ok) return ageFit;
  const rule = learnRuleOfTen(known, origin);

  const windowEnd = addYears(origin, 1);
  const model: Prediction[] = [];
  const ageOnly: Prediction[] = [];
  const replaceAtTen: Prediction[] = [];
  let endedOtherwise = 0;
  for (const record of records) {
    const asOf = recordAsOf(record, origin);
    if (asOf === null || asOf.retirement !== null || record.heater.install.latest > origin)
      continue;
    const { happened, years } = outcomeBy(record.retirement, origin, windowEnd);
    if (years <= 0) continue;
    if (years < 1) endedOtherwise++;
    const { heater } = asOf;
    model.push({ probability: predict(fit.value.model, heater, origin, years), happened });
    ageOnly.push({
      probability: predict(ageFit.value.model, ordinaryHeater(heater), origin, years),
      happened,
    });
    replaceAtTen.push({ probability: rule(heater, years), happened });
  }
  return success({
    origin,
    failuresLearntFrom: fit.value.counts.failures,
    endedOtherwise,
    model,
    ageOnly,
    replaceAtTen,
  });
}

function predict(
  model: SurvivalModel,
  heater: AgeingHeater,
  origin: CalendarDay,
  years: number,
): number {
  return failureAhead(lifeAsOf(model, heater, origin), years);
}

/** Day on which a retirement is taken to have been: a failure in the middle of its bracket. */
function endOf({ cause, earliest, latest }: Retirement): CalendarDay {
  if (!isFailureCause(cause)) return earliest;
  return addDays(earliest, Math.floor(daysBetween(earliest, latest) / 2));
}

/**
 * Whether a heater failed by the end of the window, and the years of it in which it was watched: all
 * of it, or until it ended otherwise.
 */
function outcomeBy(
  retirement: Retirement | null,
  origin: CalendarDay,
  windowEnd: CalendarDay,
): { happened: boolean; years: number } {
  if (retirement === null) return { happened: false, years: 1 };
  const end = endOf(retirement);
  if (isFailureCause(retirement.cause)) return { happened: end <= windowEnd, years: 1 };
  return { happened: false, years: Math.min(1, yearsBetween(origin, end)) };
}

/** A record as it stood on a day of the past; null when the heater was not on record yet. */
export function recordAsOf(record: LifeRecord, day: CalendarDay): LifeRecord | null {
  const { heater, observedFrom, retirement } = record;
  if (observedFrom > day || heater.install.earliest > day) return null;
  const { care } = heater;
  const until = (days: readonly CalendarDay[]) => days.filter((done) => done <= day);
  const asOf: AgeingHeater = {
    ...heater,
    care: {
      ...care,
      flushDays: until(care.flushDays),
      anodeReplacementDays: until(care.anodeReplacementDays),
      anodeInspection:
        care.anodeInspection && care.anodeInspection.day <= day ? care.anodeInspection : null,
    },
  };
  return { heater: asOf, observedFrom, retirement: retirementAsOf(retirement, day) };
}

function retirementAsOf(retirement: Retirement | null, day: CalendarDay): Retirement | null {
  if (retirement === null || retirement.earliest > day) return null;
  if (retirement.latest <= day) return retirement;
  // Gone by a later day than this one: on this day only its last sighting was known.
  return { ...retirement, latest: retirement.earliest, cause: "other" };
}

/** The heater with all but its technology and age forgotten. */
function ordinaryHeater(heater: AgeingHeater): AgeingHeater {
  return {
    ...heater,
    closedSystem: "unknown",
    expansionControl: "unknown",
    setpointF: null,
    home: { ...heater.home, occupants: null, bedrooms: null },
    water: { ...heater.water, hardnessMgPerLitre: null, softened: "unknown" },
    care: { ...heater.care, flushDays: [], anodeReplacementDays: [], anodeInspection: null },
  };
}

const RULE_AGE_YEARS = 10;

/**
 * The rule of thumb as a forecast: one rate of failure before ten years of age and one after, each
 * the failures on record over the years watched (with half a failure and a year added, so that
 * neither is zero).
 */
function learnRuleOfTen(
  known: readonly LifeRecord[],
  origin: CalendarDay,
): (heater: AgeingHeater, years: number) => number {
  const failures = [0.5, 0.5];
  const watched = [1, 1];
  for (const { heater, observedFrom, retirement } of known) {
    const turnsTen = addDays(middleOf(heater), Math.round(RULE_AGE_YEARS * DAYS_PER_YEAR));
    const from = maxDay(middleOf(heater), observedFrom);
    const to = retirement?.earliest ?? origin;
    watched[0] += Math.max(0, yearsBetween(from, minDay(to, turnsTen)));
    watched[1] += Math.max(0, yearsBetween(maxDay(from, turnsTen), to));
    if (retirement && isFailureCause(retirement.cause)) failures[Number(to >= turnsTen)]++;
  }
  return (heater, years) => {
    const isOld = yearsBetween(middleOf(heater), origin) >= RULE_AGE_YEARS;
    const rate = failures[Number(isOld)] / watched[Number(isOld)];
    return -Math.expm1(-rate * years);
  };
}

function middleOf({ install }: AgeingHeater): CalendarDay {
  return addDays(install.earliest, Math.floor(daysBetween(install.earliest, install.latest) / 2));
}
