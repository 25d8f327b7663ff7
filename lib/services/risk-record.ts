import { regularizedGammaP, regularizedGammaQ } from "@/lib/core/stats/incomplete-gamma";

/** An interval of counts or of their means, both ends included. */
export type CountBand = { readonly low: number; readonly high: number };

/** Share of possible counts that a band holds. */
export const BAND_COVERAGE = 0.9;

/**
 * The central band of a count whose mean is one of several, each as likely: chance on top of doubt about
 * the mean. With one mean it is the band of a Poisson count. Independent failures that are not
 * rare vary a little less than a Poisson count, so the band errs on the wide side.
 *
 * @param means not empty, each zero or more
 */
export function countBand(means: readonly number[], coverage = BAND_COVERAGE): CountBand {
  if (means.length === 0) throw new RangeError("means must not be empty, got 0 values");
  const tail = (1 - coverage) / 2;
  return { low: countQuantile(means, tail), high: countQuantile(means, 1 - tail) };
}

/** Smallest count whose distribution function reaches `probability`. */
function countQuantile(means: readonly number[], probability: number): number {
  const reaches = (count: number): boolean => {
    let sum = 0;
    // P(N ≤ k) of a Poisson count is Q(k + 1, mean).
    for (const mean of means) sum += mean === 0 ? 1 : regularizedGammaQ(count + 1, mean);
    return sum / means.length >= probability;
  };
  let high = 1;
  while (!reaches(high)) high *= 2;
  let low = -1;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (reaches(middle)) high = middle;
    else low = middle;
  }
  return high;
}

/**
 * The means that a count does not speak against: exact limits of a Poisson mean (Garwood 1936).
 *
 * @param count whole number, zero or more
 */
export function meanBand(count: number, coverage = BAND_COVERAGE): CountBand {
  const tail = (1 - coverage) / 2;
  return {
    low: count === 0 ? 0 : solveRising((mean) => regularizedGammaP(count, mean), tail),
    high: solveRising((mean) => 1 - regularizedGammaQ(count + 1, mean), 1 - tail),
  };
}

/** Where a function that rises from 0 to 1 reaches a level. */
function solveRising(rising: (at: number) => number, level: number): number {
  let low = 0;
  let high = 1;
  while (rising(high) < level) high *= 2;
  while (high - low > 1e-9 * high) {
    const middle = (low + high) / 2;
    if (rising(middle) < level) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** A year of the record, all properties of interest added up. */
export type RecordYear = {
  readonly year: number;
  readonly heaterYears: number;
  readonly expected: number;
  /** The expected number under each draw from the model's own doubt; not empty. */
  readonly draws: readonly number[];
  readonly happened: number;
};

export type ComparedYear = RecordYear & {
  /** Where the count would fall by chance, if the model were right. */
  readonly chance: CountBand;
  /** The same with the model's own doubt. */
  readonly band: CountBand;
  readonly verdict: "as-expected" | "more" | "fewer";
};

export type RecordComparison = {
  readonly years: readonly ComparedYear[];
  readonly total: ComparedYear | null;
  /**
   * `too-little`: not enough on record to judge. `agrees`: chance alone explains the difference.
   * `off`: it does not, but the model's own doubt does. `contradicts`: nor does that.
   */
  readonly verdict: "too-little" | "agrees" | "off" | "contradicts";
};

/** Fewer failures than this, both expected and happened, say nothing about a model. */
const TOO_FEW = 10;

/** Holds the failures that a model expected in past years against those that happened. */
export function compareWithRecord(years: readonly RecordYear[]): RecordComparison {
  const compared = years.map(compareYear);
  if (years.length === 0) return { years: compared, total: null, verdict: "too-little" };
  const total = compareYear(addYears(years));
  return { years: compared, total, verdict: judge(total) };
}

function judge(total: ComparedYear): RecordComparison["verdict"] {
  if (Math.max(total.expected, total.happened) < TOO_FEW) return "too-little";
  if (total.verdict === "as-expected") return "agrees";
  return isWithin(total.happened, total.band) ? "off" : "contradicts";
}

function compareYear(year: RecordYear): ComparedYear {
  const chance = countBand([year.expected]);
  const verdict = isWithin(year.happened, chance)
    ? "as-expected"
    : year.happened > chance.high
      ? "more"
      : "fewer";
  return { ...year, chance, band: countBand(year.draws), verdict };
}

function isWithin(count: number, { low, high }: CountBand): boolean {
  return low <= count && count <= high;
}

function addYears(years: readonly RecordYear[]): RecordYear {
  return {
    year: years[0].year,
    heaterYears: sum(years.map(({ heaterYears }) => heaterYears)),
    expected: sum(years.map(({ expected }) => expected)),
    draws: sumColumns(years.map(({ draws }) => draws)),
    happened: sum(years.map(({ happened }) => happened)),
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

/** Sums arrays of one length place by place. */
function sumColumns(arrays: readonly (readonly number[])[]): readonly number[] {
  const [first = []] = arrays;
  return first.map((_, index) => sum(arrays.map((array) => array[index])));
}
