import type { Heater } from "@/lib/core/heaters/heater";
import { isFailureCause, type RetirementCause } from "@/lib/core/heaters/vocabulary";
import {
  type CalendarDay,
  DAYS_PER_YEAR,
  dayFromParts,
  dayNumber,
  dayOfNumber,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import { type CovariateHistory, covariateHistory, wearBetween } from "@/lib/core/survival/exposure";
import { failureAhead, lifeOfHistory } from "@/lib/core/survival/life-as-of";
import { type SurvivalModel, wearPath } from "@/lib/core/survival/model";
import { cumulativeHazard } from "@/lib/core/survival/weibull";

/** A heater with what the record holds of its life from first sight to its end. */
export type RecordedLife = {
  readonly heater: Heater;
  readonly isInService: boolean;
  /** First day on which its end would have been recorded: what failed before is unseen. */
  readonly recordedFrom: CalendarDay;
  /** Null while it stands. */
  readonly end: {
    readonly earliest: CalendarDay;
    readonly latest: CalendarDay;
    readonly cause: RetirementCause;
  } | null;
};

/** Failures of one property's heaters in one year; see {@link YearTally}. */
export type RiskYear = {
  readonly propertyId: string;
  readonly kind: "ahead" | "past";
  readonly year: number;
  readonly heaterYears: number;
  readonly expected: number;
  readonly draws: readonly number[];
  readonly happened: number | null;
};

/** Years ahead that are counted. */
export const YEARS_AHEAD = 10;
/** Calendar years back, the current one included, that are held against the record. */
export const YEARS_BACK = 20;
/** Points over an install bracket: enough for brackets of decades. */
const BRACKET_POINTS = 12;

/**
 * Adds up, life by life, the failures of each property's heaters by year.
 *
 * Ahead: the heaters in service that the model expects to fail first in each of the next
 * {@link YEARS_AHEAD} years, none being replaced before it fails.
 *
 * Past: for each calendar year the failures on record (leak and no heat), and those the model
 * expects of the same heaters over the time they were under observation in that year: the sum of
 * −ln of the chance of living through it. By the compensator of a counting process (Andersen, Borgan,
 * Gill, Keiding 1993, ch. II, from memory) this has the mean of the count if the model is right,
 * however heaters come and go. Observation begins at `recordedFrom` (left truncation) and ends with the
 * retirement, whatever its cause; a bracket of days counts at its middle.
 */
export class YearTally {
  private readonly years = new Map<string, Sums>();

  constructor(
    private readonly today: CalendarDay,
    private readonly model: SurvivalModel,
    /** Models from the model's own doubt; the expected numbers under each are kept beside. */
    private readonly draws: readonly SurvivalModel[],
  ) {}

  add(life: RecordedLife): void {
    const history = covariateHistory(life.heater);
    if (life.isInService) this.addAhead(life.heater, history);
    this.addPast(life, history);
  }

  /** The sums, by property, kind and year. */
  rows(): readonly RiskYear[] {
    return [...this.years.values()].map((sums) => ({
      propertyId: sums.propertyId,
      kind: sums.kind,
      year: sums.year,
      heaterYears: sums.heaterYears,
      expected: sums.expected[0],
      draws: Array.from(sums.expected.subarray(1)),
      happened: sums.kind === "past" ? sums.happened : null,
    }));
  }

  private addAhead(heater: Heater, history: CovariateHistory): void {
    const rows = Array.from({ length: YEARS_AHEAD }, (_, k) =>
      this.sumsOf(heater.propertyId, "ahead", k + 1),
    );
    for (const row of rows) row.heaterYears += 1;
    [this.model, ...this.draws].forEach((model, d) => {
      const life = lifeOfHistory(model, heater, history, this.today);
      let before = 0;
      for (let k = 0; k < YEARS_AHEAD; k++) {
        const by = failureAhead(life, k + 1);
        rows[k].expected[d] += Math.max(0, by - before);
        before = by;
      }
    });
  }

  private addPast(life: RecordedLife, history: CovariateHistory): void {
    const today = dayNumber(this.today);
    const ended = life.end ? middleOf(life.end.earliest, life.end.latest) : null;
    // A heater is under observation through the day on which it ends.
    const until = ended === null ? today : Math.min(ended, today) + 1;
    const firstYear = yearOf(this.today) - YEARS_BACK + 1;
    const from = Math.max(dayNumber(life.recordedFrom), dayNumber(dayFromParts(firstYear, 1, 1)));
    if (until <= from) return;

    const observed = observedYears(life, { from, until });
    if (observed.length === 0) return;
    const rows = observed.map(({ year }) => this.sumsOf(life.heater.propertyId, "past", year));
    observed.forEach(({ years }, k) => {
      rows[k].heaterYears += years;
    });
    if (life.end && isFailureCause(life.end.cause) && ended !== null && ended <= today) {
      rows[rows.length - 1].happened += 1;
    }
    const bounds = [observed[0].start, ...observed.map(({ end }) => end)];
    [this.model, ...this.draws].forEach((model, d) => {
      const added = expectedBetween(model, life, history, bounds);
      for (let k = 0; k < rows.length; k++) rows[k].expected[d] += added[k];
    });
  }

  private sumsOf(propertyId: string, kind: RiskYear["kind"], year: number): Sums {
    const key = `${propertyId} ${kind} ${year}`;
    let sums = this.years.get(key);
    if (!sums) {
      const expected = new Float64Array(1 + this.draws.length);
      sums = { propertyId, kind, year, heaterYears: 0, expected, happened: 0 };
      this.years.set(key, sums);
    }
    return sums;
  }
}

type Sums = {
  readonly propertyId: string;
  readonly kind: RiskYear["kind"];
  readonly year: number;
  heaterYears: number;
  /** Under the model, then under each draw. */
  readonly expected: Float64Array;
  happened: number;
};

/** The calendar years over which a life was observed; days are numbers, the last one not included. */
function observedYears(
  { heater }: RecordedLife,
  { from, until }: { readonly from: number; readonly until: number },
): readonly {
  readonly year: number;
  readonly start: number;
  readonly end: number;
  readonly years: number;
}[] {
  // Years of service are counted from the middle of the install bracket.
  const installed = Math.min(middleOf(heater.install.earliest, heater.install.latest), until);
  const begin = Math.max(from, Math.min(dayNumber(heater.install.earliest), until));
  const observed = [];
  for (let year = yearOf(dayOfNumber(begin)); ; year++) {
    const start = Math.max(begin, dayNumber(dayFromParts(year, 1, 1)));
    const next = dayNumber(dayFromParts(year + 1, 1, 1));
    const end = Math.min(until, next);
    if (end > start) {
      const years = Math.max(0, end - Math.max(start, installed)) / DAYS_PER_YEAR;
      observed.push({ year, start, end, years });
    }
    if (next >= until) return observed;
  }
}

/**
 * Failures that a model expects of one heater between days: −ln of the ratio of the chances of being
 * alive, given alive when it came under observation. An install day that is a bracket is integrated
 * over it: every day equally likely beforehand, weighted by the chance of living until first seen.
 *
 * @param bounds day numbers, rising; the first is where observation begins
 * @returns one number for each gap between bounds, zero or more
 */
export function expectedBetween(
  model: SurvivalModel,
  { heater, recordedFrom, end }: RecordedLife,
  history: CovariateHistory,
  bounds: readonly number[],
): Float64Array {
  const lifetime = model.lifetimes[heater.technology];
  const path = wearPath(model, heater.propertyId, history);
  const last = bounds[bounds.length - 1];
  const latest = Math.min(
    dayNumber(heater.install.latest),
    end ? dayNumber(end.latest) : last,
    last,
  );
  const earliest = Math.min(dayNumber(heater.install.earliest), latest);
  const rule = gaussLegendre(latest > earliest ? BRACKET_POINTS : 1);
  const firstSeen = dayNumber(recordedFrom);

  const size = rule.points.length;
  const logWeights = new Float64Array(size);
  const hazards = Array.from({ length: size }, () => new Float64Array(bounds.length));
  for (let i = 0; i < size; i++) {
    const installed = earliest + rule.points[i] * (latest - earliest);
    const entered = Math.max(firstSeen, installed);
    const hazardAtEntry = cumulativeHazard(lifetime, wearBetween(path, installed, entered));
    logWeights[i] = Math.log(rule.weights[i]) - hazardAtEntry;
    for (let k = 0; k < bounds.length; k++) {
      const exposure = wearBetween(path, installed, Math.max(entered, bounds[k]));
      hazards[i][k] = cumulativeHazard(lifetime, exposure) - hazardAtEntry;
    }
  }
  const expected = new Float64Array(bounds.length - 1);
  let before = logAlive(logWeights, hazards, 0);
  for (let k = 1; k < bounds.length; k++) {
    const after = logAlive(logWeights, hazards, k);
    expected[k - 1] = Math.max(0, before - after);
    before = after;
  }
  return expected;
}

/** ln Σ weight · exp(−hazard at bound k), through its largest term so that it cannot underflow. */
function logAlive(logWeights: Float64Array, hazards: readonly Float64Array[], k: number): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < logWeights.length; i++) {
    most = Math.max(most, logWeights[i] - hazards[i][k]);
  }
  let sum = 0;
  for (let i = 0; i < logWeights.length; i++) {
    sum += Math.exp(logWeights[i] - hazards[i][k] - most);
  }
  return most + Math.log(sum);
}

function middleOf(earliest: CalendarDay, latest: CalendarDay): number {
  return Math.floor((dayNumber(earliest) + dayNumber(latest)) / 2);
}
