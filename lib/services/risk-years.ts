import { isFailureCause, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import {
  type CalendarDay,
  DAYS_PER_YEAR,
  dayFromParts,
  dayNumber,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import { COVARIATES, TYPICAL_VALUES } from "@/lib/core/survival/covariates";
import { covariateHistory, fillPieceYears } from "@/lib/core/survival/exposure";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { type AgeingModel, propertyEffect } from "@/lib/core/survival/model";

/** Failures in one year of one property's heaters, or of all; see {@link YearTally}. */
export type RiskYear = {
  /** Null for all properties together. */
  readonly propertyId: string | null;
  /** Ahead: `year` 1 is the 12 months from the day of the pass. Past: a calendar year. */
  readonly kind: "ahead" | "past";
  readonly year: number;
  /** Ahead: heaters in service. Past: years of service under observation within the year. */
  readonly heaterYears: number;
  readonly expected: number;
  /** The expected number under each draw. */
  readonly draws: readonly number[];
  /** Failures on record; null ahead. */
  readonly happened: number | null;
};

/** Years ahead that are counted. */
export const YEARS_AHEAD = 10;
/** Calendar years back, the current one included, that are held against the record. */
export const YEARS_BACK = 20;
/** Points over an install bracket: enough for sums over a fleet, whose errors average out. */
const BRACKET_POINTS = 8;

const WIDTH = COVARIATES.length;
const TYPICAL = COVARIATES.map((covariate) => TYPICAL_VALUES[covariate].value);

/**
 * Adds up, life by life, the failures of each property's heaters by year.
 *
 * Ahead: the heaters in service that are expected to fail first in each of the next
 * {@link YEARS_AHEAD} years, none being replaced before it fails.
 *
 * Past: for each calendar year the failures on record (leak and no heat), and those the model
 * expects of the same heaters over the time they were under observation in that year: the sum of
 * −ln of the chance of living through it. By the compensator of a counting process (Andersen, Borgan,
 * Gill, Keiding 1993, from memory) this has the mean of the count if the model is right, however
 * heaters come and go. Observation begins at `observedFrom` (left truncation) and ends with the
 * retirement, whatever its cause; a bracket of days counts at its middle.
 */
export class YearTally {
  private readonly sums = new Map<string, Sums>();
  private readonly models: readonly ModelColumns[];
  private readonly today: number;
  private readonly firstYear: number;
  /** Day numbers of the first days of the calendar years from `firstYear` to next year. */
  private readonly yearStarts: readonly number[];
  private logAlive = new Float64Array(64);

  /** @param draws models from the model's own doubt; what each expects is kept beside. */
  constructor(today: CalendarDay, model: AgeingModel, draws: readonly AgeingModel[]) {
    this.today = dayNumber(today);
    this.models = [model, ...draws].map((one) => new ModelColumns(one));
    this.firstYear = yearOf(today) - YEARS_BACK + 1;
    this.yearStarts = Array.from({ length: YEARS_BACK + 1 }, (_, k) =>
      dayNumber(dayFromParts(this.firstYear + k, 1, 1)),
    );
  }

  add(record: LifeRecord): void {
    const { retirement } = record;
    const { propertyId } = record.heater;
    const ended = retirement ? middleOf(retirement.earliest, retirement.latest) : null;
    if (ended !== null && ended > this.today) return;
    const isInService = retirement === null;
    // A heater is under observation through the day on which it ends.
    const until = ended === null ? this.today : ended + 1;
    const past = this.observedYears(record, until);
    if (past.length === 0 && !isInService) return;

    const marks = past.length > 0 ? [past[0].start, ...past.map(({ end }) => end)] : [];
    const aheadFrom = marks.length;
    if (isInService) {
      for (let k = 0; k <= YEARS_AHEAD; k++) marks.push(this.today + k * DAYS_PER_YEAR);
    }
    const pastSums = past.map(({ year }) =>
      this.sumsOf(this.sums, { propertyId, kind: "past", year }),
    );
    past.forEach(({ years }, k) => {
      pastSums[k].heaterYears += years;
    });
    if (retirement && past.length > 0 && isFailureCause(retirement.cause)) {
      pastSums[pastSums.length - 1].happened += 1;
    }
    const aheadSums = isInService
      ? Array.from({ length: YEARS_AHEAD }, (_, k) =>
          this.sumsOf(this.sums, { propertyId, kind: "ahead", year: k + 1 }),
        )
      : [];
    for (const sums of aheadSums) sums.heaterYears += 1;

    if (this.logAlive.length < marks.length) this.logAlive = new Float64Array(2 * marks.length);
    const { logAlive } = this;
    const life = new LifeColumns(record, until, marks);
    for (let d = 0; d < this.models.length; d++) {
      life.fillLogAlive(this.models[d], logAlive);
      for (let k = 0; k < pastSums.length; k++) {
        pastSums[k].expected[d] += Math.max(0, logAlive[k] - logAlive[k + 1]);
      }
      for (let k = 0; k < aheadSums.length; k++) {
        const start = logAlive[aheadFrom];
        const before = Math.exp(logAlive[aheadFrom + k] - start);
        const after = Math.exp(logAlive[aheadFrom + k + 1] - start);
        aheadSums[k].expected[d] += Math.max(0, before - after);
      }
    }
  }

  /** The sums, by property, kind and year; those of all properties have no property. */
  rows(): readonly RiskYear[] {
    const totals = new Map<string, Sums>();
    for (const sums of this.sums.values()) {
      const total = this.sumsOf(totals, { ...sums, propertyId: null });
      total.heaterYears += sums.heaterYears;
      total.happened += sums.happened;
      for (let d = 0; d < total.expected.length; d++) total.expected[d] += sums.expected[d];
    }
    return [...totals.values(), ...this.sums.values()].map((sums) => ({
      propertyId: sums.propertyId,
      kind: sums.kind,
      year: sums.year,
      heaterYears: sums.heaterYears,
      expected: sums.expected[0],
      draws: Array.from(sums.expected.subarray(1)),
      happened: sums.kind === "past" ? sums.happened : null,
    }));
  }

  /** The calendar years in which a life was under observation; each ends before its `end`. */
  private observedYears({ heater, observedFrom }: LifeRecord, until: number): ObservedYear[] {
    const observed: ObservedYear[] = [];
    const begin = Math.max(dayNumber(observedFrom), dayNumber(heater.install.earliest));
    // Years of service are counted from the middle of the install bracket.
    const installed = middleOf(heater.install.earliest, heater.install.latest);
    for (let k = 0; k < YEARS_BACK; k++) {
      const start = Math.max(begin, this.yearStarts[k]);
      const end = Math.min(until, this.yearStarts[k + 1]);
      if (end <= start) continue;
      const years = Math.max(0, end - Math.max(start, installed)) / DAYS_PER_YEAR;
      observed.push({ year: this.firstYear + k, start, end, years });
    }
    return observed;
  }

  private sumsOf(
    into: Map<string, Sums>,
    { propertyId, kind, year }: Pick<RiskYear, "propertyId" | "kind" | "year">,
  ): Sums {
    const key = `${propertyId} ${kind} ${year}`;
    let sums = into.get(key);
    if (!sums) {
      const expected = new Float64Array(this.models.length);
      sums = { propertyId, kind, year, heaterYears: 0, expected, happened: 0 };
      into.set(key, sums);
    }
    return sums;
  }
}

type ObservedYear = {
  readonly year: number;
  readonly start: number;
  readonly end: number;
  readonly years: number;
};

type Sums = {
  readonly propertyId: string | null;
  readonly kind: RiskYear["kind"];
  readonly year: number;
  heaterYears: number;
  /** Under the model, then under each draw. */
  readonly expected: Float64Array;
  happened: number;
};

/** A model as arrays, for passes over many lives. */
class ModelColumns {
  readonly coefficients: Float64Array;
  readonly shapes: Float64Array;
  readonly logScales: Float64Array;

  constructor(private readonly model: AgeingModel) {
    const { coefficients, lifetimes } = model;
    this.coefficients = Float64Array.from(COVARIATES, (covariate) => coefficients[covariate]);
    this.shapes = Float64Array.from(TECHNOLOGIES, (technology) => lifetimes[technology].shape);
    this.logScales = Float64Array.from(TECHNOLOGIES, (technology) =>
      Math.log(lifetimes[technology].scaleYears),
    );
  }

  effect(propertyId: string): number {
    return propertyEffect(this.model, propertyId);
  }
}

/**
 * One life as the years it has spent in each of its pieces of constant covariates by each mark, so
 * that another model needs no look at the record. An install day that is a bracket is integrated over
 * it, every day equally likely beforehand. Before a heater came under observation it cannot have
 * ended unseen and be on record, so a mark before that day counts as that day.
 */
class LifeColumns {
  private readonly technology: number;
  private readonly propertyId: string;
  private readonly pieces: number;
  /** Covariates less their typical values, piece by piece. */
  private readonly x: Float64Array;
  private readonly logWeights: Float64Array;
  /** Point by point, mark by mark, piece by piece. */
  private readonly years: Float64Array;
  private readonly rates: Float64Array;

  constructor(
    { heater, observedFrom }: LifeRecord,
    until: number,
    private readonly marks: readonly number[],
  ) {
    const { startDays, values } = covariateHistory(heater);
    this.technology = TECHNOLOGIES.indexOf(heater.technology);
    this.propertyId = heater.propertyId;
    this.pieces = startDays.length;
    this.rates = new Float64Array(this.pieces);
    this.x = new Float64Array(this.pieces * WIDTH);
    values.forEach((row, piece) => {
      for (let j = 0; j < WIDTH; j++) this.x[piece * WIDTH + j] = row[j] - TYPICAL[j];
    });
    const latest = Math.min(dayNumber(heater.install.latest), until);
    const earliest = Math.min(dayNumber(heater.install.earliest), latest);
    const rule = gaussLegendre(latest > earliest ? BRACKET_POINTS : 1);
    this.logWeights = rule.weights.map(Math.log);
    this.years = new Float64Array(rule.points.length * marks.length * this.pieces);
    const seenFrom = dayNumber(observedFrom);
    let at = 0;
    for (const point of rule.points) {
      const installed = earliest + point * (latest - earliest);
      const entered = Math.max(seenFrom, installed);
      for (const mark of marks) {
        const row = this.years.subarray(at, at + this.pieces);
        fillPieceYears(startDays, installed, Math.max(entered, mark), row);
        at += this.pieces;
      }
    }
  }

  /** ln of the chance of being alive at each mark, up to a constant, into `logAlive`. */
  fillLogAlive(model: ModelColumns, logAlive: Float64Array): void {
    const { pieces, x, years, rates, logWeights } = this;
    const shape = model.shapes[this.technology];
    const level = model.effect(this.propertyId) - model.logScales[this.technology];
    for (let piece = 0; piece < pieces; piece++) {
      let logRate = level;
      for (let j = 0; j < WIDTH; j++) logRate += model.coefficients[j] * x[piece * WIDTH + j];
      // Wear in units of the scale: the hazard is this to the power of the shape.
      rates[piece] = Math.exp(logRate);
    }
    const points = logWeights.length;
    const stride = this.marks.length * pieces;
    for (let mark = 0; mark < this.marks.length; mark++) {
      // Through a running largest term, so that old brackets cannot underflow.
      let most = Number.NEGATIVE_INFINITY;
      let sum = 0;
      for (let point = 0; point < points; point++) {
        let wear = 0;
        const start = point * stride + mark * pieces;
        for (let piece = 0; piece < pieces; piece++) wear += rates[piece] * years[start + piece];
        const term = logWeights[point] - Math.exp(shape * Math.log(wear));
        if (term > most) {
          sum = sum * Math.exp(most - term) + 1;
          most = term;
        } else {
          sum += Math.exp(term - most);
        }
      }
      logAlive[mark] = points === 1 ? most : most + Math.log(sum);
    }
  }
}

function middleOf(earliest: CalendarDay, latest: CalendarDay): number {
  return Math.floor((dayNumber(earliest) + dayNumber(latest)) / 2);
}
