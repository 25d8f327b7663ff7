import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import { compareModels, type ModelComparison } from "./compare-models";
import { type CurveComparison, compareCurves } from "./curve-comparison";
import { drawModels } from "./draws";
import type { PropertyLearning, RecordFit, TechnologyRecord } from "./fit-records";
import { describeLearning, type LearntQuantity } from "./learning";
import type { LifeRecord, RecordCounts } from "./life-record";
import { PRIOR_MODEL, type SurvivalModel } from "./model";

/** All that is shown of a fit, kept with it so that nothing need be computed to show it. */
export type FitReport = {
  readonly counts: RecordCounts;
  /** First day from which any end was recorded; null without records. */
  readonly recordsBegin: CalendarDay | null;
  readonly leftOut: LeftOut;
  readonly logLikelihood: number;
  readonly iterations: number;
  readonly technologies: readonly TechnologyRecord[];
  readonly learning: readonly LearntQuantity[];
  /** Spread of properties' effects on ln(rate of wear). */
  readonly propertyStandardDeviation: number;
  readonly properties: readonly PropertyLearning[];
  readonly curves: readonly CurveComparison[];
  /** Against the model that was in use when the fit was made. */
  readonly comparison: ModelComparison;
};

/** Records that could not be learnt from. */
export type LeftOut = {
  readonly total: number;
  /** Most frequent first. */
  readonly reasons: readonly { readonly reason: string; readonly records: number }[];
  /** The first of each reason; paths are heater ids. */
  readonly named: readonly Problem[];
};

/** Draws behind the bands of the curves. */
const CURVE_DRAWS = { count: 100, seed: 1 };
/** Records of one reason that are kept by name. */
const NAMED_PER_REASON = 50;

export function reportFit(
  fit: RecordFit,
  records: readonly LifeRecord[],
  {
    today,
    inUse,
    leftOutBefore = [],
    onProgress = () => undefined,
  }: {
    readonly today: CalendarDay;
    readonly inUse: SurvivalModel;
    /** Records that were left out before they came here. */
    readonly leftOutBefore?: readonly Problem[];
    /** Is told the share of the work that is done, 0 to 1. */
    readonly onProgress?: (share: number) => void;
  },
): FitReport {
  const propertyIds = fit.properties.map(({ propertyId }) => propertyId);
  const curves = compareCurves(records, today, {
    draws: drawModels(fit.model, { ...CURVE_DRAWS, propertyIds }),
    reference: PRIOR_MODEL,
  });
  onProgress(0.3);
  const inService = records.flatMap(({ heater, retirement }) =>
    retirement === null && heater.install.earliest <= today ? [heater] : [],
  );
  const comparison = compareModels(fit.model, inUse, inService, today);
  onProgress(1);
  return {
    counts: fit.counts,
    recordsBegin: records.reduce<CalendarDay | null>(
      (first, { observedFrom }) => (first === null || observedFrom < first ? observedFrom : first),
      null,
    ),
    leftOut: summarizeLeftOut([...leftOutBefore, ...fit.leftOut]),
    logLikelihood: fit.logLikelihood,
    iterations: fit.iterations,
    technologies: fit.technologies,
    learning: describeLearning(fit),
    propertyStandardDeviation: fit.propertyStandardDeviation,
    properties: fit.properties,
    curves,
    comparison,
  };
}

/** Problems counted by reason, with the first of each by name. */
export function summarizeLeftOut(problems: readonly Problem[]): LeftOut {
  const ofReason = new Map<string, Problem[]>();
  const countOf = new Map<string, number>();
  for (const problem of problems) {
    const named = ofReason.get(problem.message) ?? [];
    if (named.length < NAMED_PER_REASON) named.push(problem);
    ofReason.set(problem.message, named);
    countOf.set(problem.message, (countOf.get(problem.message) ?? 0) + 1);
  }
  return {
    total: problems.length,
    reasons: [...countOf]
      .map(([reason, records]) => ({ reason, records }))
      .sort((a, b) => b.records - a.records),
    named: [...ofReason.values()].flat(),
  };
}
