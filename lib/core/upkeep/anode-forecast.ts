import {
  addDays,
  type CalendarDay,
  DAYS_PER_YEAR,
  daysBetween,
} from "@/lib/core/shared/calendar-day";
import { requirePositive } from "@/lib/core/shared/requirements";

/** A look at an anode. */
export type AnodeInspection = {
  readonly day: CalendarDay;
  readonly state: "protected" | "spent";
  /** Judged share of the metal left, 0 to 1; null when only the state was noted. */
  readonly remainingFraction: number | null;
};

export type AnodeTerms = {
  /** Day the anode was fitted, as a bracket. */
  readonly fitted: { readonly earliest: CalendarDay; readonly latest: CalendarDay };
  /** Median life of an anode in this water, years. */
  readonly medianYears: number;
  /** Standard deviation of ln(life). */
  readonly logSpread: number;
  /** Looks at this anode since it was fitted. */
  readonly inspections: readonly AnodeInspection[];
};

export type AnodeForecast = {
  /** Chance that the anode is spent today. */
  readonly chanceSpentToday: number;
  /** First day on which that chance reaches the share asked for; may lie in the past. */
  readonly dueOn: CalendarDay;
  /** First day on which it is likelier spent than not. */
  readonly likelySpentOn: CalendarDay;
};

/** Standard deviation of a judged remaining fraction: a rod is judged to about a tenth (assumed). */
const FRACTION_ERROR = 0.1;
/** Chance that a state is noted wrongly (assumed); it also keeps contradicting notes from ending in nothing. */
const STATE_ERROR = 0.02;
/** Lives are told apart within this many standard deviations of the median. */
const REACH = 5;
const LIFE_CELLS = 200;
const FITTED_POINTS = 8;

/**
 * When an anode is used up, by Bayes' rule on a grid of lives.
 *
 * The life L is log-normal beforehand. An inspection at age a that finds metal says L > a, one that
 * finds none says L ≤ a (each noted wrongly once in fifty), and one that judges the fraction f left
 * says that 1 − a/L is near f. The day of fitting is integrated over its bracket, each day equally
 * likely beforehand. Depletion is taken as steady in time; see docs/methods/upkeep.md.
 *
 * @param chance the chance of being spent at which the anode is due, between 0 and 1.
 * @throws {RangeError} when `chance` is not between 0 and 1, the bracket falls, or the median or the
 *   spread is not above zero.
 */
export function forecastAnode(
  { fitted, medianYears, logSpread, inspections }: AnodeTerms,
  today: CalendarDay,
  chance = 0.1,
): AnodeForecast {
  if (!(chance > 0 && chance < 1)) {
    throw new RangeError(`chance must be between 0 and 1, got ${chance}`);
  }
  requirePositive("medianYears", medianYears);
  requirePositive("logSpread", logSpread);
  const bracketDays = daysBetween(fitted.earliest, fitted.latest);
  if (bracketDays < 0) {
    throw new RangeError(`fitted must rise, got ${fitted.earliest} to ${fitted.latest}`);
  }

  const looks = inspections.map(({ day, state, remainingFraction }) => ({
    sinceEarliestDays: daysBetween(fitted.earliest, day),
    state,
    remainingFraction,
  }));
  const cells = cellsOf(bracketDays, medianYears * DAYS_PER_YEAR, logSpread, looks);
  const dayAt = (share: number) => addDays(fitted.earliest, Math.floor(quantile(cells, share)));
  return {
    chanceSpentToday: chanceSpentBy(cells, daysBetween(fitted.earliest, today)),
    dueOn: dayAt(chance),
    likelySpentOn: dayAt(0.5),
  };
}

/** Cells of the grid: the anode ends between `from` and `to`, days since the earliest fitting. */
type Cells = {
  /** One cell begins where the one before ends: the day of fitting is known. */
  readonly isOrdered: boolean;
  readonly from: Float64Array;
  readonly to: Float64Array;
  /** Posterior chance of each cell; they sum to 1. */
  readonly chance: Float64Array;
};

function cellsOf(
  bracketDays: number,
  medianDays: number,
  logSpread: number,
  looks: readonly Look[],
): Cells {
  const fittedPoints = bracketDays === 0 ? 1 : FITTED_POINTS;
  const count = LIFE_CELLS * fittedPoints;
  const from = new Float64Array(count);
  const to = new Float64Array(count);
  const chance = new Float64Array(count);
  const lifeAt = (edge: number) =>
    medianDays * Math.exp(logSpread * REACH * ((2 * edge) / LIFE_CELLS - 1));
  let total = 0;
  let shortest = lifeAt(0);
  for (let cell = 0; cell < LIFE_CELLS; cell++) {
    const deviate = REACH * ((2 * (cell + 0.5)) / LIFE_CELLS - 1);
    const priorWeight = Math.exp(-0.5 * deviate * deviate);
    const middle = lifeAt(cell + 0.5);
    const longest = lifeAt(cell + 1);
    for (let point = 0; point < fittedPoints; point++) {
      const fittedDay = ((point + 0.5) / fittedPoints) * bracketDays;
      let weight = priorWeight;
      for (const look of looks) {
        weight *= likelihood(look, (look.sinceEarliestDays - fittedDay) / middle);
      }
      const index = cell * fittedPoints + point;
      from[index] = fittedDay + shortest;
      to[index] = fittedDay + longest;
      chance[index] = weight;
      total += weight;
    }
    shortest = longest;
  }
  for (let index = 0; index < count; index++) chance[index] = (chance[index] as number) / total;
  return { isOrdered: bracketDays === 0, from, to, chance };
}

/** Chance that the anode is spent by a day; the end is spread evenly over its cell. */
function chanceSpentBy({ from, to, chance }: Cells, day: number): number {
  let sum = 0;
  for (let index = 0; index < chance.length; index++) {
    const start = from[index] as number;
    if (day <= start) continue;
    const end = to[index] as number;
    sum += (chance[index] as number) * (day >= end ? 1 : (day - start) / (end - start));
  }
  return Math.min(1, sum);
}

/** Day by which the chance reaches `share`, to a tenth of a day. */
function quantile(cells: Cells, share: number): number {
  const { from, to, chance } = cells;
  if (cells.isOrdered) {
    let before = 0;
    for (let index = 0; index < chance.length; index++) {
      const here = chance[index] as number;
      if (before + here >= share) {
        const [start, end] = [from[index] as number, to[index] as number];
        return start + ((end - start) * (share - before)) / here;
      }
      before += here;
    }
    return to.at(-1) as number;
  }
  let low = 0;
  let high = to.at(-1) as number;
  while (high - low > 0.1) {
    const middle = (low + high) / 2;
    if (chanceSpentBy(cells, middle) >= share) high = middle;
    else low = middle;
  }
  return high;
}

type Look = Omit<AnodeInspection, "day"> & { readonly sinceEarliestDays: number };

/** How well a look agrees with an anode of which the share `used` (age over life) is gone. */
function likelihood(
  { state, remainingFraction }: Omit<AnodeInspection, "day">,
  used: number,
): number {
  // The anode was there to be looked at: a day of fitting after the look is all but excluded.
  if (used < 0) return 1e-9;
  const agrees = state === "spent" ? used >= 1 : used < 1;
  const byState = agrees ? 1 - STATE_ERROR : STATE_ERROR;
  if (remainingFraction === null) return byState;
  const miss = (remainingFraction - Math.max(0, 1 - used)) / FRACTION_ERROR;
  return byState * Math.exp(-0.5 * miss * miss) + 1e-9;
}
