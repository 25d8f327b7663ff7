import { isFailureCause } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR, dayNumber } from "@/lib/core/shared/calendar-day";
import { BAND_CONFIDENCE, type Band, bandFailure } from "./bands";
import type { AgeingHeater } from "./exposure";
import type { WatchedLifetime } from "./kaplan-meier";
import type { LifeRecord } from "./life-record";
import type { AgeingModel } from "./model";

/** A point of a survival curve. */
export type CurvePoint = {
  /** Years from today. */
  readonly years: number;
  readonly survival: Band;
};

/** Chance that a heater is alive by years from today, with its band. */
export function heaterCurve(
  draws: readonly AgeingModel[],
  heater: AgeingHeater,
  {
    today,
    years,
    confidence = BAND_CONFIDENCE,
  }: {
    readonly today: CalendarDay;
    readonly years: readonly number[];
    readonly confidence?: number;
  },
): readonly CurvePoint[] {
  return bandFailure(draws, heater, { today, horizonsYears: years, confidence }).map(
    ({ lower, median, upper }, k) => ({
      years: years[k],
      survival: { lower: 1 - upper, median: 1 - median, upper: 1 - lower },
    }),
  );
}

/** A life as it was watched, in years of age, with the day on which it is taken to have begun. */
export type WatchedSpan = WatchedLifetime & {
  /** Days since 1970-01-01, halves allowed. */
  readonly installedDay: number;
};

/**
 * A record as a lifetime for the Kaplan-Meier curve. A bracket counts in its middle, so the curve is
 * rougher than the fit where many are wide.
 *
 * @returns null for a record that says nothing
 */
export function watchedSpan(
  { heater, observedFrom, retirement }: LifeRecord,
  today: CalendarDay,
): WatchedSpan | null {
  const installedDay = middle(heater.install.earliest, heater.install.latest);
  const ended = retirement !== null && retirement.earliest <= today;
  const failed = ended && isFailureCause(retirement.cause);
  const last = !ended
    ? dayNumber(today)
    : failed
      ? middle(retirement.earliest, retirement.latest)
      : dayNumber(retirement.earliest);
  const entry = Math.max(0, dayNumber(observedFrom) - installedDay) / DAYS_PER_YEAR;
  const exit = (last - installedDay) / DAYS_PER_YEAR;
  return exit > entry ? { installedDay, entry, exit, failed } : null;
}

function middle(earliest: CalendarDay, latest: CalendarDay): number {
  return (dayNumber(earliest) + dayNumber(latest)) / 2;
}
