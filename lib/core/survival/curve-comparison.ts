import { TECHNOLOGIES, type Technology } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR, daysBetween } from "@/lib/core/shared/calendar-day";
import { BAND_CONFIDENCE, type Band, bandOf } from "./bands";
import { type WatchedSpan, watchedSpan } from "./curves";
import { covariateHistory, fillPieceYears } from "./exposure";
import { type KaplanMeierStep, kaplanMeier, kaplanMeierBand } from "./kaplan-meier";
import type { LifeRecord } from "./life-record";
import { type AgeingModel, wearPath } from "./model";

/** What a model expects of the heaters on record, beside what the record says without a model. */
export type CurveComparison = {
  readonly technology: Technology;
  /** Records that are drawn, and failures among them. */
  readonly records: number;
  readonly failures: number;
  /** Records that are not: their install day is known to a bracket wider than two years. */
  readonly wideBrackets: number;
  /** Ages in whole years; the curves are of those alive at the first. */
  readonly ages: readonly number[];
  /** Expected share alive by each age under the model, with the band of its doubt. */
  readonly expected: readonly Band[];
  /** The same under another model, such as the prior. */
  readonly reference: readonly number[];
  /** Kaplan and Meier's share alive by each age with Greenwood's band. */
  readonly observed: readonly ObservedShare[];
};

export type ObservedShare = {
  readonly survival: number;
  readonly lower: number;
  readonly upper: number;
  /** Watched and alive at the age. */
  readonly atRisk: number;
};

/** Fewer failures of a kind than this make no curve. */
const FAILURES_FOR_A_CURVE = 10;
/** A curve starts and ends where at least so many are watched. */
const WATCHED_FOR_A_POINT = 10;
/** Without a model a life is only as long as its bracket's middle says, so wide ones are not drawn. */
const WIDEST_BRACKET_DAYS = 731;
/** Records of a kind on which the expected curve is worked out when there are more. */
const THIN_ABOVE = 4_000;

/**
 * Curves of each kind with failures enough, in the order of TECHNOLOGIES.
 *
 * Heaters differ in water and care and come under observation at different ages, so a curve of an
 * ordinary heater is not what Kaplan and Meier's estimates. Expected here is what the model says of
 * these heaters: at each age its hazards are averaged over those then watched, S = exp(−∫ mean
 * hazard), which Kaplan and Meier's curve follows if the model is right. Brackets count in their
 * middle on both sides.
 */
export function compareCurves(
  records: readonly LifeRecord[],
  today: CalendarDay,
  {
    draws,
    reference,
    confidence = BAND_CONFIDENCE,
  }: {
    readonly draws: readonly AgeingModel[];
    readonly reference: AgeingModel;
    readonly confidence?: number;
  },
): readonly CurveComparison[] {
  return TECHNOLOGIES.flatMap((technology) => {
    let wideBrackets = 0;
    const watched = records.flatMap((record) => {
      const { technology: kind, install } = record.heater;
      const span = kind === technology ? watchedSpan(record, today) : null;
      if (span === null) return [];
      if (daysBetween(install.earliest, install.latest) > WIDEST_BRACKET_DAYS) {
        wideBrackets++;
        return [];
      }
      return [{ record, span }];
    });
    const failures = watched.filter(({ span }) => span.failed).length;
    const ages = failures < FAILURES_FOR_A_CURVE ? [] : wellWatchedAges(watched);
    if (ages.length < 2) return [];
    const [start] = ages;
    const fromStart = watched
      .filter(({ span }) => span.exit > start)
      .map(({ record, span }) => ({
        record,
        span: { ...span, entry: Math.max(start, span.entry) },
      }));
    const stride = Math.ceil(fromStart.length / THIN_ABOVE);
    const part = fromStart.filter((_, i) => i % stride === 0);
    const steps = kaplanMeier(fromStart.map(({ span }) => span));
    const expected = expectedShares(part, ages, draws);
    return [
      {
        technology,
        records: watched.length,
        failures,
        wideBrackets,
        ages,
        expected: ages.map((_, k) =>
          bandOf(
            expected.map((shares) => shares[k]),
            confidence,
          ),
        ),
        reference: Array.from(expectedShares(part, ages, [reference])[0]),
        observed: ages.map((age) => ({
          ...observedShare(steps, age, confidence),
          atRisk: countWatched(fromStart, age, start),
        })),
      },
    ];
  });
}

type Watched = { readonly record: LifeRecord; readonly span: WatchedSpan };

/** Whole years of age from the first to the last at which enough are watched. */
function wellWatchedAges(watched: readonly Watched[]): readonly number[] {
  const oldest = Math.ceil(watched.reduce((most, { span }) => Math.max(most, span.exit), 0));
  const isWell = Array.from(
    { length: oldest + 1 },
    (_, age) => countWatched(watched, age, age) >= WATCHED_FOR_A_POINT,
  );
  const first = isWell.indexOf(true);
  const last = isWell.lastIndexOf(true);
  return first === -1 ? [] : Array.from({ length: last - first + 1 }, (_, k) => first + k);
}

/** Watched at an age; at the start of the curve, those who enter on it count. */
function countWatched(watched: readonly Watched[], age: number, start: number): number {
  return watched.filter(
    ({ span }) => (span.entry < age || (age === start && span.entry <= age)) && span.exit > age,
  ).length;
}

function observedShare(
  steps: readonly KaplanMeierStep[],
  age: number,
  confidence: number,
): Omit<ObservedShare, "atRisk"> {
  const step = steps.findLast(({ t }) => t <= age);
  if (!step) return { survival: 1, lower: 1, upper: 1 };
  return { survival: step.survival, ...kaplanMeierBand(step, confidence) };
}

/** Draw by draw, the expected share alive at each age. */
function expectedShares(
  watched: readonly Watched[],
  ages: readonly number[],
  draws: readonly AgeingModel[],
): readonly Float64Array[] {
  const years = new Float64Array(ages.length);
  const hazards = draws.map(() => new Float64Array(ages.length));
  for (const { record, span } of watched) {
    addHazards(record, span, ages, draws, years, hazards);
  }
  return hazards.map((added) => {
    const shares = new Float64Array(ages.length);
    let cumulative = 0;
    shares[0] = 1;
    for (let k = 1; k < ages.length; k++) {
      // The mean hazard of those watched in the year before this age, times the year.
      if (years[k] > 0) cumulative += (added[k] / years[k]) * (ages[k] - ages[k - 1]);
      shares[k] = Math.exp(-cumulative);
    }
    return shares;
  });
}

/** Adds one life's years watched and hazard gathered in the year before each age. */
function addHazards(
  { heater }: LifeRecord,
  { installedDay, entry, exit }: WatchedSpan,
  ages: readonly number[],
  draws: readonly AgeingModel[],
  years: Float64Array,
  hazards: readonly Float64Array[],
): void {
  const history = covariateHistory(heater);
  const pieces = history.startDays.length;
  const marks: { readonly k: number; readonly from: Float64Array; readonly to: Float64Array }[] =
    [];
  const piecesAt = (age: number) => {
    const row = new Float64Array(pieces);
    fillPieceYears(history.startDays, installedDay, installedDay + age * DAYS_PER_YEAR, row);
    return row;
  };
  for (let k = 1; k < ages.length; k++) {
    const from = Math.max(entry, ages[k - 1]);
    const to = Math.min(exit, ages[k]);
    if (to <= from) continue;
    years[k] += to - from;
    marks.push({ k, from: piecesAt(from), to: piecesAt(to) });
  }
  draws.forEach((draw, d) => {
    const { rates } = wearPath(draw, heater.propertyId, history);
    const { shape, scaleYears } = draw.lifetimes[heater.technology];
    const hazardOf = (row: Float64Array) => {
      let wear = 0;
      for (let p = 0; p < pieces; p++) wear += rates[p] * row[p];
      return (wear / scaleYears) ** shape;
    };
    for (const { k, from, to } of marks) hazards[d][k] += hazardOf(to) - hazardOf(from);
  });
}
