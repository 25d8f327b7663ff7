import { type Interval, wilsonInterval } from "@/lib/core/stats/binomial";
import { CountMoments, countQuantile } from "@/lib/core/stats/count-distribution";
import { denseCurvature, maximize } from "@/lib/core/stats/maximize";

/** A chance that was stated and what came of it. */
export type Prediction = {
  readonly probability: number;
  readonly happened: boolean;
};

/** Predictions of about the same chance, held against what happened. */
export type CalibrationGroup = {
  readonly heaters: number;
  /** Mean stated chance. */
  readonly expectedShare: number;
  readonly observedShare: number;
  readonly expected: number;
  readonly observed: number;
  /** Wilson's 90 % interval around the observed share. */
  readonly interval: Interval;
  /** True when the stated chance lies in the interval. */
  readonly agrees: boolean;
};

export type Scores = {
  /** Mean squared difference of chance and outcome (Brier 1950); 0 is perfect. */
  readonly brier: number;
  /** Mean −ln of the chance given to what happened (Good 1952); 0 is perfect. */
  readonly logarithmic: number;
};

export type Calibration = {
  readonly heaters: number;
  readonly expected: number;
  readonly observed: number;
  /** 90 % band on the number of failures if the stated chances are right: luck only. */
  readonly expectedBand: { readonly lower: number; readonly upper: number };
  /** Ten groups of equal size by stated chance, lowest first; fewer when there are fewer heaters. */
  readonly groups: readonly CalibrationGroup[];
  readonly scores: Scores;
  /**
   * Slope of ln odds of the outcome on ln odds of the chance (Cox 1958): 1 when the spread of the
   * chances is right, below 1 when they are too bold. Null when the outcomes are all alike or do not
   * settle it.
   */
  readonly slope: { readonly value: number; readonly standardError: number } | null;
  /** Share of the failures among the tenth of the heaters with the highest chances. */
  readonly topTenthShare: number | null;
};

const GROUPS = 10;
const CONFIDENCE = 0.9;

/** Holds predictions against outcomes. Order does not matter; there must be at least one. */
export function calibrate(predictions: readonly Prediction[]): Calibration {
  if (predictions.length === 0) throw new RangeError("predictions must not be empty, got 0");
  const sorted = [...predictions].sort(
    (a, b) => a.probability - b.probability || Number(a.happened) - Number(b.happened),
  );
  const moments = new CountMoments();
  for (const { probability } of sorted) moments.add(probability);
  const observed = sorted.filter(({ happened }) => happened).length;
  const groups = Math.min(GROUPS, sorted.length);
  const top = sorted.slice(Math.floor(sorted.length * 0.9));
  return {
    heaters: sorted.length,
    expected: moments.mean,
    observed,
    expectedBand: {
      lower: countQuantile([moments], (1 - CONFIDENCE) / 2),
      upper: countQuantile([moments], (1 + CONFIDENCE) / 2),
    },
    groups: Array.from({ length: groups }, (_, g) =>
      groupOf(
        sorted.slice(
          Math.round((g * sorted.length) / groups),
          Math.round(((g + 1) * sorted.length) / groups),
        ),
      ),
    ),
    scores: scorePredictions(sorted),
    slope: calibrationSlope(sorted),
    topTenthShare: observed === 0 ? null : top.filter(({ happened }) => happened).length / observed,
  };
}

function groupOf(predictions: readonly Prediction[]): CalibrationGroup {
  const heaters = predictions.length;
  const expected = predictions.reduce((sum, { probability }) => sum + probability, 0);
  const observed = predictions.filter(({ happened }) => happened).length;
  const interval = wilsonInterval(observed, heaters, CONFIDENCE);
  const expectedShare = expected / heaters;
  return {
    heaters,
    expected,
    observed,
    expectedShare,
    observedShare: observed / heaters,
    interval,
    agrees: expectedShare >= interval.lower && expectedShare <= interval.upper,
  };
}

/** Scores of predictions; a chance of exactly 0 or 1 is taken as one in a million away from it. */
export function scorePredictions(predictions: readonly Prediction[]): Scores {
  let brier = 0;
  let logarithmic = 0;
  for (const { probability, happened } of predictions) {
    brier += (probability - Number(happened)) ** 2;
    const bounded = bound(probability);
    logarithmic -= Math.log(happened ? bounded : 1 - bounded);
  }
  return { brier: brier / predictions.length, logarithmic: logarithmic / predictions.length };
}

/** Mean of one score less the other, with its standard error over the heaters; below 0: `a` wins. */
export function compareBrier(
  a: readonly Prediction[],
  b: readonly Prediction[],
): { readonly difference: number; readonly standardError: number } {
  if (a.length !== b.length) {
    throw new RangeError(`predictions must pair up, got ${a.length} and ${b.length}`);
  }
  const differences = a.map(({ probability, happened }, i) => {
    const outcome = Number(happened);
    return (probability - outcome) ** 2 - (b[i].probability - outcome) ** 2;
  });
  const mean = differences.reduce((sum, value) => sum + value, 0) / a.length;
  const square = differences.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { difference: mean, standardError: Math.sqrt(square) / a.length };
}

const bound = (probability: number): number => Math.min(1 - 1e-6, Math.max(1e-6, probability));

/** Logistic regression of the outcome on an intercept and the ln odds of the chance. */
function calibrationSlope(predictions: readonly Prediction[]): Calibration["slope"] {
  const observed = predictions.filter(({ happened }) => happened).length;
  if (observed === 0 || observed === predictions.length) return null;
  const logOdds = predictions.map(({ probability }) => {
    const bounded = bound(probability);
    return Math.log(bounded / (1 - bounded));
  });
  const { point, evaluation, converged } = maximize(
    (parameters) => {
      const gradient = new Float64Array(2);
      const matrix = new Float64Array(4);
      let value = 0;
      predictions.forEach(({ happened }, i) => {
        const level = parameters[0] + parameters[1] * logOdds[i];
        const chance = 1 / (1 + Math.exp(-level));
        value += happened ? -Math.log1p(Math.exp(-level)) : -Math.log1p(Math.exp(level));
        const away = Number(happened) - chance;
        const weight = chance * (1 - chance);
        gradient[0] += away;
        gradient[1] += away * logOdds[i];
        matrix[0] += weight;
        matrix[1] += weight * logOdds[i];
        matrix[3] += weight * logOdds[i] ** 2;
      });
      matrix[2] = matrix[1];
      return { value, gradient, curvature: denseCurvature(matrix, 2) };
    },
    Float64Array.of(0, 1),
  );
  const unit = evaluation.curvature.solve(Float64Array.of(0, 1), 0);
  if (!converged || unit === null) return null;
  return { value: point[1], standardError: Math.sqrt(unit[1]) };
}
