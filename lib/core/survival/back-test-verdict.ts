import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { BackTestYear } from "./back-test";
import {
  type Calibration,
  calibrate,
  compareBrier,
  type Prediction,
  type Scores,
  scorePredictions,
} from "./calibration";

/** A forecasting rule against the model: scores, and whether the difference is more than luck. */
export type BaselineComparison = {
  readonly scores: Scores;
  /** Share of the baseline's Brier score that the model saves; below 0 when it does worse. */
  readonly brierSaved: number;
  /** 90 % sure that the model's Brier score is the lower one. */
  readonly modelIsBetter: boolean;
  readonly baselineIsBetter: boolean;
};

export type BackTest = {
  readonly origins: readonly CalendarDay[];
  readonly endedOtherwise: number;
  readonly calibration: Calibration;
  readonly ageOnly: BaselineComparison;
  readonly replaceAtTen: BaselineComparison;
  readonly verdict: Verdict;
};

export type Verdict = {
  /** `good` and `poor` are said only where there are failures enough to tell. */
  readonly grade: "good" | "mixed" | "poor" | "too-few";
  /** Such as "Predicted 41, happened 38." */
  readonly headline: string;
  readonly sentences: readonly string[];
};

/** Puts the years of a back-test together; null when no heater was predicted. */
export function summarizeBackTest(years: readonly BackTestYear[]): BackTest | null {
  const model = years.flatMap((year) => year.model);
  if (model.length === 0) return null;
  const calibration = calibrate(model);
  const ageOnly = compareWith(
    model,
    years.flatMap((year) => year.ageOnly),
  );
  const replaceAtTen = compareWith(
    model,
    years.flatMap((year) => year.replaceAtTen),
  );
  return {
    origins: years.map(({ origin }) => origin),
    endedOtherwise: years.reduce((sum, year) => sum + year.endedOtherwise, 0),
    calibration,
    ageOnly,
    replaceAtTen,
    verdict: judge(calibration, ageOnly, replaceAtTen),
  };
}

/** Normal point of a one-sided statement that is right nine times in ten. */
const NINE_IN_TEN = 1.2816;

function compareWith(
  model: readonly Prediction[],
  baseline: readonly Prediction[],
): BaselineComparison {
  const scores = scorePredictions(baseline);
  const { difference, standardError } = compareBrier(model, baseline);
  return {
    scores,
    brierSaved: scores.brier === 0 ? 0 : -difference / scores.brier,
    modelIsBetter: difference < -NINE_IN_TEN * standardError,
    baselineIsBetter: difference > NINE_IN_TEN * standardError,
  };
}

/** Failures below which a back-test says nothing about quality. */
const ENOUGH_FAILURES = 20;

function judge(
  calibration: Calibration,
  ageOnly: BaselineComparison,
  replaceAtTen: BaselineComparison,
): Verdict {
  const { expected, observed, expectedBand, groups, slope, topTenthShare } = calibration;
  const headline = `Predicted ${Math.round(expected)}, happened ${observed}.`;
  if (observed < ENOUGH_FAILURES) {
    return {
      grade: "too-few",
      headline,
      sentences: [
        `${observed} failures are too few to judge the model by; at least ${ENOUGH_FAILURES} are needed. Until then read its chances as published lifetimes, little more.`,
      ],
    };
  }
  const total = observed >= expectedBand.lower && observed <= expectedBand.upper;
  const agreeing = groups.filter(({ agrees }) => agrees).length;
  const spread = slope === null || Math.abs(slope.value - 1) <= 1.96 * slope.standardError;
  const sentences = [
    total
      ? `Chance alone allows ${expectedBand.lower} to ${expectedBand.upper} failures, so the total fits.`
      : `Chance alone allows ${expectedBand.lower} to ${expectedBand.upper} failures, so the model predicts too ${observed > expected ? "few" : "many"}.`,
    `In ${agreeing} of ${groups.length} groups from low to high risk the stated chance lies within the 90 % interval of what happened.`,
    describeSlope(slope),
    ...(topTenthShare === null
      ? []
      : [
          `The tenth of heaters ranked highest had ${Math.round(100 * topTenthShare)} % of the failures.`,
        ]),
    describeComparison("going by age and technology alone", ageOnly),
    describeComparison("asking only whether a heater is past ten years", replaceAtTen),
  ];
  const fits = total && agreeing >= groups.length - 3 && spread;
  const beaten = ageOnly.baselineIsBetter || replaceAtTen.baselineIsBetter;
  const useful = ageOnly.modelIsBetter || replaceAtTen.modelIsBetter;
  const grade =
    fits && useful && !beaten ? "good" : beaten || (!total && !spread) ? "poor" : "mixed";
  return { grade, headline, sentences };
}

function describeSlope(slope: Calibration["slope"]): string {
  if (slope === null) return "The spread of the chances could not be judged.";
  const { value, standardError } = slope;
  const measured = `(slope ${value.toFixed(2)} ± ${standardError.toFixed(2)}, 1 is right)`;
  if (value < 1 - 1.96 * standardError) {
    return `The chances are too bold: high ones were too high and low ones too low ${measured}.`;
  }
  if (value > 1 + 1.96 * standardError) {
    return `The chances are too timid: heaters differ more than it says ${measured}.`;
  }
  return `High and low chances are spread about right ${measured}.`;
}

function describeComparison(rule: string, comparison: BaselineComparison): string {
  const percent = Math.abs(100 * comparison.brierSaved).toFixed(1);
  if (comparison.modelIsBetter) {
    return `It did better than ${rule}: its Brier score is ${percent} % lower.`;
  }
  if (comparison.baselineIsBetter) {
    return `It did worse than ${rule}: its Brier score is ${percent} % higher.`;
  }
  return `It did no better than ${rule}, as far as these failures can tell.`;
}
