import type { Retirement } from "@/lib/core/heaters/heater";
import { isFailureCause, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR, dayNumber } from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import { COVARIATES, TYPICAL_VALUES } from "./covariates";
import { type AgeingHeater, covariateHistory, fillPieceYears } from "./exposure";
import { installPoints } from "./life-as-of";
import { ALIVE, FAILED, FAILED_WITHIN } from "./lifetimes";

/** A heater and what is known of its end: what the model learns from. */
export type LifeRecord = {
  readonly heater: AgeingHeater;
  /** Day from which its end would have been recorded; it is seen only because it lived that long. */
  readonly observedFrom: CalendarDay;
  /** How it ended, or null while it is in service. */
  readonly retirement: Retirement | null;
};

/**
 * Records as columns. Each heater has pieces (times of constant covariates) and points of the
 * quadrature over its install bracket; each point has, for each of three days, the years spent in
 * every piece: until the last day known alive (or of the failure), until the end of the bracket of
 * the failure, and until the day from which it was watched.
 */
export type RecordColumns = {
  readonly count: number;
  readonly technology: Uint8Array;
  /** Index into `properties`. */
  readonly property: Uint32Array;
  readonly properties: readonly string[];
  readonly outcome: Uint8Array;
  /** 1 where the heater may have been installed before it was watched. */
  readonly lateEntry: Uint8Array;
  readonly pieceStart: Uint32Array;
  /** Covariates less their typical values, piece by piece. */
  readonly x: Float64Array;
  /** Piece in which the heater failed, counted from its first. */
  readonly lastPiece: Uint32Array;
  readonly pointStart: Uint32Array;
  readonly pointWeight: Float64Array;
  /** Where a point's years begin in `years`: three runs of one number per piece. */
  readonly yearsStart: Uint32Array;
  readonly years: Float64Array;
};

export type PreparedRecords = {
  readonly columns: RecordColumns;
  readonly counts: RecordCounts;
  /** Records that were left out, with the reason; paths are heater ids. */
  readonly leftOut: readonly Problem[];
};

export type RecordCounts = {
  readonly used: number;
  readonly failures: number;
  /** Failures known to a bracket of days. */
  readonly bracketedFailures: number;
  /** Ended otherwise than by failing, or still in service. */
  readonly censored: number;
  /** Watched only from some age on. */
  readonly lateEntries: number;
  /** Install day known to a bracket. */
  readonly bracketedInstalls: number;
};

const WIDTH = COVARIATES.length;
const TYPICAL = COVARIATES.map((covariate) => TYPICAL_VALUES[covariate].value);

/** The days that matter for one record, as day numbers. */
type Span = {
  readonly earliest: number;
  readonly latest: number;
  readonly watchedFrom: number;
  readonly lower: number;
  readonly upper: number;
  readonly outcome: number;
};

/**
 * Turns records, as known on `today`, into columns, leaving out those that say nothing. The columns
 * take about half a kilobyte a record.
 */
export function prepareRecords(
  records: readonly LifeRecord[],
  today: CalendarDay,
): PreparedRecords {
  const leftOut: Problem[] = [];
  const kept: { record: LifeRecord; span: Span }[] = [];
  for (const record of records) {
    const span = spanOf(record, dayNumber(today));
    if (typeof span === "string") leftOut.push({ path: record.heater.id, message: span });
    else kept.push({ record, span });
  }

  const properties: string[] = [];
  const propertyIndex = new Map<string, number>();
  const technology = new Uint8Array(kept.length);
  const property = new Uint32Array(kept.length);
  const outcome = new Uint8Array(kept.length);
  const lateEntry = new Uint8Array(kept.length);
  const lastPiece = new Uint32Array(kept.length);
  const pieceStart = new Uint32Array(kept.length + 1);
  const pointStart = new Uint32Array(kept.length + 1);
  const x = new Numbers();
  const pointWeight = new Numbers();
  const yearsStart = new Numbers();
  const years = new Numbers();

  kept.forEach(({ record: { heater }, span }, i) => {
    technology[i] = TECHNOLOGIES.indexOf(heater.technology);
    outcome[i] = span.outcome;
    lateEntry[i] = Number(span.watchedFrom > span.earliest);
    let index = propertyIndex.get(heater.propertyId);
    if (index === undefined) {
      index = properties.push(heater.propertyId) - 1;
      propertyIndex.set(heater.propertyId, index);
    }
    property[i] = index;

    const history = covariateHistory(heater);
    const pieces = history.startDays.length;
    const row = x.extend(pieces * WIDTH);
    history.values.forEach((values, p) => {
      for (let j = 0; j < WIDTH; j++) row[p * WIDTH + j] = values[j] - TYPICAL[j];
    });
    pieceStart[i + 1] = pieceStart[i] + pieces;
    lastPiece[i] = history.startDays.findLastIndex((start) => start < span.lower);

    const rule = gaussLegendre(installPoints((span.latest - span.earliest) / DAYS_PER_YEAR));
    pointStart[i + 1] = pointStart[i] + rule.points.length;
    rule.points.forEach((point, k) => {
      const installed = span.earliest + point * (span.latest - span.earliest);
      pointWeight.extend(1)[0] = rule.weights[k];
      yearsStart.extend(1)[0] = years.length;
      for (const until of [span.lower, span.upper, span.watchedFrom]) {
        fillPieceYears(history.startDays, installed, until, years.extend(pieces));
      }
    });
  });

  return {
    columns: {
      count: kept.length,
      technology,
      property,
      properties,
      outcome,
      lateEntry,
      pieceStart,
      x: x.finish(),
      lastPiece,
      pointStart,
      pointWeight: pointWeight.finish(),
      yearsStart: Uint32Array.from(yearsStart.finish()),
      years: years.finish(),
    },
    counts: countRecords(kept.map(({ span }) => span)),
    leftOut,
  };
}

/** A column that grows. */
class Numbers {
  length = 0;
  private values = new Float64Array(1_024);

  /** Adds `count` numbers and gives them, to be filled before the next are added. */
  extend(count: number): Float64Array {
    const from = this.length;
    this.length += count;
    if (this.length > this.values.length) {
      const grown = new Float64Array(Math.max(this.length, 2 * this.values.length));
      grown.set(this.values);
      this.values = grown;
    }
    return this.values.subarray(from, this.length);
  }

  finish(): Float64Array {
    return this.values.slice(0, this.length);
  }
}

/** The days of a record, or why it says nothing. */
function spanOf({ heater, observedFrom, retirement }: LifeRecord, today: number): Span | string {
  const watchedFrom = dayNumber(observedFrom);
  const earliest = dayNumber(heater.install.earliest);
  const ended = retirement !== null && dayNumber(retirement.earliest) <= today;
  const failed = ended && isFailureCause(retirement.cause);
  const first = ended ? dayNumber(retirement.earliest) : today;
  const last = failed ? Math.min(dayNumber(retirement.latest), today) : first;
  if (!TECHNOLOGIES.includes(heater.technology)) return "its kind is not one the model knows";
  if (earliest > last) {
    return ended ? "its end is before its installation" : "its installation is still to come";
  }
  if (last < watchedFrom || (!failed && first <= watchedFrom)) {
    return ended
      ? "its end is before the day from which ends were recorded"
      : "it has been on record for no time yet";
  }
  if (!failed) {
    const latest = Math.min(dayNumber(heater.install.latest), first);
    return { earliest, latest, watchedFrom, lower: first, upper: first, outcome: ALIVE };
  }
  if (first === last) {
    // A failure on the day of installation or of the first record counts from half a day.
    const lower = Math.max(first, watchedFrom + 0.5, earliest + 0.5);
    const latest = Math.min(dayNumber(heater.install.latest), lower - 0.5);
    return { earliest, latest, watchedFrom, lower, upper: lower, outcome: FAILED };
  }
  const upper = Math.max(last, watchedFrom + 0.5);
  const lower = Math.max(first, watchedFrom, earliest);
  const latest = Math.min(dayNumber(heater.install.latest), lower);
  return { earliest, latest, watchedFrom, lower, upper, outcome: FAILED_WITHIN };
}

function countRecords(spans: readonly Span[]): RecordCounts {
  const count = (holds: (span: Span) => boolean) => spans.filter(holds).length;
  return {
    used: spans.length,
    failures: count(({ outcome }) => outcome !== ALIVE),
    bracketedFailures: count(({ outcome }) => outcome === FAILED_WITHIN),
    censored: count(({ outcome }) => outcome === ALIVE),
    lateEntries: count(({ watchedFrom, earliest }) => watchedFrom > earliest),
    bracketedInstalls: count(({ earliest, latest }) => latest > earliest),
  };
}
