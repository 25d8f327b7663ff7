import { TECHNOLOGIES, type Technology } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { choleskyFactor, choleskyInverse } from "@/lib/core/stats/matrix";
import { type Maximum, maximize } from "@/lib/core/stats/maximize";
import {
  type ArrowCurvature,
  arrowCurvature,
  arrowLogDeterminant,
  reducedFactor,
} from "./arrow-curvature";
import {
  type LifeRecord,
  prepareRecords,
  type RecordColumns,
  type RecordCounts,
} from "./life-record";
import { ALIVE } from "./lifetimes";
import type { ModelUncertainty, SurvivalModel } from "./model";
import {
  COMMON_PARAMETERS,
  type CommonPrior,
  coefficientsOf,
  commonPrior,
  lifetimesOf,
  parameterName,
} from "./parameters";
import { PROPERTY_EFFECT_PRIOR } from "./priors";
import { evaluateRecords } from "./record-likelihood";

/** What the portfolio's own record says, on top of the prior. */
export type RecordFit = {
  readonly model: SurvivalModel;
  readonly counts: RecordCounts;
  /** Records left out and why; `path` is the heater's id. */
  readonly leftOut: readonly Problem[];
  readonly logLikelihood: number;
  /** Spread of properties' effects on ln(rate of wear) that the records suggest. */
  readonly propertyStandardDeviation: number;
  /** What was learnt about each common parameter, in their order. */
  readonly learning: readonly ParameterLearning[];
  /** Kinds with a record, in the order of TECHNOLOGIES. */
  readonly technologies: readonly TechnologyRecord[];
  /** Properties with a record. */
  readonly properties: readonly PropertyLearning[];
  readonly iterations: number;
};

export type ParameterLearning = {
  /** Such as "life of gas-storage", on the scale of ln(years), ln(shape) or ln(rate of wear). */
  readonly parameter: string;
  readonly prior: { readonly mean: number; readonly standardDeviation: number };
  readonly posterior: { readonly mean: number; readonly standardDeviation: number };
  /** False when the records leave the prior's spread all but unchanged: the prior speaks. */
  readonly learnt: boolean;
};

export type TechnologyRecord = {
  readonly technology: Technology;
  readonly records: number;
  readonly failures: number;
};

export type PropertyLearning = {
  readonly propertyId: string;
  readonly records: number;
  readonly failures: number;
  /** Its effect on ln(rate of wear), drawn towards none by the spread of properties. */
  readonly effect: number;
  readonly standardDeviation: number;
  /** Weight of its own record in that effect, 0 to 1; the rest is the fleet's. */
  readonly ownWeight: number;
  /** What its own record alone would say; null where that is next to nothing. */
  readonly aloneEffect: number | null;
};

/**
 * Version of the way from records to a model, and of the form of that model: raised with every
 * change after which stored models can no longer be read.
 */
export const FIT_METHOD = "record-1";

/** A parameter counts as learnt when its spread has shrunk at least this far. */
const LEARNT_BELOW = 0.9;
/** Spreads of properties' effects that are compared, from none to speak of to very different. */
const SPREADS = [0.02, 0.035, 0.06, 0.1, 0.17, 0.3, 0.5];
/** Spread that leaves properties no effect of their own. */
const NO_SPREAD = 1e-4;
/** Records from which the spread of properties is chosen on a part of them. */
const THIN_ABOVE = 20_000;
/** Fewer properties than this cannot say how different properties are. */
const PROPERTIES_FOR_SPREAD = 5;

/**
 * Learns from the portfolio's own record: the maximum of the posterior density and the normal
 * approximation around it (Laplace).
 *
 * Planned swaps, damage and other ends censor; a heater counts only from the day it was watched;
 * failures and installations known to a bracket are integrated over it. The effects of properties
 * are drawn towards zero by a common spread: its mean given the records, by the marginal likelihood
 * (Laplace) of each of {@link SPREADS} and a half-normal prior of scale 0.2.
 *
 * With no failures the answer is the prior, moved by those that have lived.
 */
export function fitRecords(
  records: readonly LifeRecord[],
  {
    today,
    method,
    learnProperties = true,
    prior = commonPrior(),
    onProgress = () => undefined,
  }: {
    readonly today: CalendarDay;
    /** Name of the fit, shown beside its answers. */
    readonly method: string;
    readonly learnProperties?: boolean;
    readonly prior?: CommonPrior;
    /** Is told the share of the work that is done, 0 to 1. */
    readonly onProgress?: (share: number) => void;
  },
): Outcome<RecordFit> {
  const { columns, counts, leftOut } = prepareRecords(records, today);
  const precision = invert(prior.covariance);
  let fits = 0;
  const fitAt = (data: RecordColumns, spread: number, start: Float64Array) => {
    const fit = fitAtSpread(data, prior, precision, spread, start);
    onProgress(++fits / (SPREADS.length + 1));
    return fit;
  };
  const chosen = learnProperties
    ? chooseSpread(thinned(records, today) ?? columns, prior.mean, fitAt)
    : { spread: NO_SPREAD, common: prior.mean };
  const fit = fitAt(columns, chosen.spread, startAt(chosen.common, columns));
  if (fit === null) {
    return failure({
      path: "records",
      message:
        "no maximum was found: look for install days or ages far from the truth in the records",
    });
  }
  const { point, evaluation } = fit.maximum;
  const covariance = choleskyInverse(fit.factor, COMMON_PARAMETERS);
  const uncertainty = uncertaintyOf(
    columns.properties,
    evaluation.curvature,
    covariance,
    chosen.spread,
  );
  return success({
    model: {
      method,
      lifetimes: lifetimesOf(point),
      coefficients: coefficientsOf(point),
      propertyEffects: Object.fromEntries(
        columns.properties.map((id, g) => [id, point[COMMON_PARAMETERS + g]]),
      ),
      uncertainty,
    },
    counts,
    leftOut,
    logLikelihood: fit.logLikelihood,
    propertyStandardDeviation: chosen.spread,
    learning: learningOf(prior, point, covariance),
    technologies: technologyRecords(columns),
    properties: propertyLearning(columns, point, uncertainty),
    iterations: fit.maximum.iterations,
  });
}

type Fit = {
  readonly maximum: Maximum<ArrowCurvature>;
  readonly factor: Float64Array;
  /** Without the prior. */
  readonly logLikelihood: number;
  /** ln of the marginal likelihood of the spread, up to a constant, with its prior. */
  readonly evidence: number;
};

/**
 * The mean of the spread of properties' effects given the records, over {@link SPREADS}, and the
 * common parameters to start from. The list is even in ln(spread), hence the factor `spread`.
 */
function chooseSpread(
  columns: RecordColumns,
  common: Float64Array,
  fitAt: (data: RecordColumns, spread: number, start: Float64Array) => Fit | null,
): { readonly spread: number; readonly common: Float64Array } {
  const unknown = { spread: PROPERTY_EFFECT_PRIOR.standardDeviation, common };
  if (columns.properties.length < PROPERTIES_FOR_SPREAD) return unknown;
  const tried: {
    readonly spread: number;
    readonly evidence: number;
    readonly common: Float64Array;
  }[] = [];
  let start = startAt(common, columns);
  for (const spread of SPREADS) {
    const fit = fitAt(columns, spread, start);
    if (fit === null) continue;
    start = Float64Array.from(fit.maximum.point);
    tried.push({ spread, evidence: fit.evidence + Math.log(spread), common: start });
  }
  if (tried.length === 0) return unknown;
  const most = Math.max(...tried.map(({ evidence }) => evidence));
  let total = 0;
  let mean = 0;
  for (const { spread, evidence } of tried) {
    const weight = Math.exp(evidence - most);
    total += weight;
    mean += weight * spread;
  }
  const likeliest = tried.find(({ evidence }) => evidence === most);
  return { spread: mean / total, common: likeliest?.common ?? common };
}

/** Columns of a part of the records when there are many; null when there are not. */
function thinned(records: readonly LifeRecord[], today: CalendarDay): RecordColumns | null {
  if (records.length <= THIN_ABOVE) return null;
  const stride = Math.ceil(records.length / THIN_ABOVE);
  return prepareRecords(
    records.filter((_, i) => i % stride === 0),
    today,
  ).columns;
}

/** The common parameters given, and no effects of properties. */
function startAt(common: Float64Array, columns: RecordColumns): Float64Array {
  const start = new Float64Array(COMMON_PARAMETERS + columns.properties.length);
  start.set(common.subarray(0, COMMON_PARAMETERS));
  return start;
}

function fitAtSpread(
  columns: RecordColumns,
  prior: CommonPrior,
  precision: Float64Array,
  spread: number,
  start: Float64Array,
): Fit | null {
  const weight = 1 / spread ** 2;
  /** Adds the prior's pull to a gradient and gives what the prior takes off the value. */
  const pull = (parameters: Float64Array, gradient: Float64Array): number => {
    let penalty = 0;
    const away = Float64Array.from(prior.mean, (mean, i) => parameters[i] - mean);
    for (let i = 0; i < COMMON_PARAMETERS; i++) {
      let towards = 0;
      for (let j = 0; j < COMMON_PARAMETERS; j++) {
        towards += precision[i * COMMON_PARAMETERS + j] * away[j];
      }
      gradient[i] -= towards;
      penalty += (towards * away[i]) / 2;
    }
    for (let g = COMMON_PARAMETERS; g < parameters.length; g++) {
      gradient[g] -= weight * parameters[g];
      penalty += (weight * parameters[g] ** 2) / 2;
    }
    return penalty;
  };
  const evaluate = (parameters: Float64Array) => {
    const { value, gradient, curvature } = evaluateRecords(columns, parameters);
    const common = curvature.common.map((entry, i) => entry + precision[i]);
    const diagonal = curvature.diagonal.map((entry) => entry + weight);
    return {
      value: value - pull(parameters, gradient),
      gradient,
      curvature: arrowCurvature(COMMON_PARAMETERS, common, curvature.cross, diagonal),
    };
  };
  const maximum = maximize(evaluate, start);
  if (!maximum.converged) return null;
  const factor = reducedFactor(maximum.evaluation.curvature);
  if (factor === null) return null;
  const properties = columns.properties.length;
  const evidence =
    maximum.evaluation.value -
    properties * Math.log(spread) -
    arrowLogDeterminant(maximum.evaluation.curvature, factor) / 2 -
    (spread / 0.2) ** 2 / 2;
  const { point, evaluation } = maximum;
  const logLikelihood = evaluation.value + pull(point, new Float64Array(point.length));
  return { maximum, factor, logLikelihood, evidence };
}

function invert(covariance: Float64Array): Float64Array {
  const factor = choleskyFactor(covariance, COMMON_PARAMETERS);
  if (factor === null) throw new RangeError("prior.covariance must be positive definite");
  return choleskyInverse(factor, COMMON_PARAMETERS);
}

function uncertaintyOf(
  properties: readonly string[],
  { cross, diagonal }: ArrowCurvature,
  covariance: Float64Array,
  spread: number,
): ModelUncertainty {
  return {
    covariance: Array.from(covariance),
    properties: Object.fromEntries(
      properties.map((id, g) => {
        const row = cross.subarray(g * COMMON_PARAMETERS, (g + 1) * COMMON_PARAMETERS);
        return [
          id,
          {
            slopes: Array.from(row, (entry) => (entry === 0 ? 0 : -entry / diagonal[g])),
            variance: 1 / diagonal[g],
          },
        ];
      }),
    ),
    propertyStandardDeviation: spread,
  };
}

function learningOf(
  prior: CommonPrior,
  point: Float64Array,
  covariance: Float64Array,
): readonly ParameterLearning[] {
  return Array.from(prior.mean, (mean, i) => {
    const diagonal = i * COMMON_PARAMETERS + i;
    const before = Math.sqrt(prior.covariance[diagonal]);
    const after = Math.sqrt(covariance[diagonal]);
    return {
      parameter: parameterName(i),
      prior: { mean, standardDeviation: before },
      posterior: { mean: point[i], standardDeviation: after },
      learnt: after < LEARNT_BELOW * before,
    };
  });
}

function technologyRecords({ technology, outcome }: RecordColumns): readonly TechnologyRecord[] {
  const records = new Uint32Array(TECHNOLOGIES.length);
  const failures = new Uint32Array(TECHNOLOGIES.length);
  for (let i = 0; i < technology.length; i++) {
    records[technology[i]]++;
    if (outcome[i] !== ALIVE) failures[technology[i]]++;
  }
  return TECHNOLOGIES.map((name, t) => ({
    technology: name,
    records: records[t],
    failures: failures[t],
  })).filter((record) => record.records > 0);
}

/** Weight of a property's own record below which what it says alone is not worth a number. */
const WORTH_A_NUMBER = 0.05;

/**
 * At the maximum the pull of a property's own record, I · (alone − u), equals that of the spread,
 * u / τ², I being the curvature of its record: hence its weight I / (I + 1 / τ²) and what it would
 * say alone.
 */
function propertyLearning(
  { properties, property, outcome, count }: RecordColumns,
  point: Float64Array,
  uncertainty: ModelUncertainty,
): readonly PropertyLearning[] {
  const records = new Uint32Array(properties.length);
  const failures = new Uint32Array(properties.length);
  for (let i = 0; i < count; i++) {
    records[property[i]]++;
    if (outcome[i] !== ALIVE) failures[property[i]]++;
  }
  const { covariance, propertyStandardDeviation } = uncertainty;
  return properties.map((propertyId, g) => {
    const { slopes, variance } = uncertainty.properties[propertyId];
    let total = variance;
    for (let i = 0; i < COMMON_PARAMETERS; i++) {
      for (let j = 0; j < COMMON_PARAMETERS; j++) {
        total += slopes[i] * covariance[i * COMMON_PARAMETERS + j] * slopes[j];
      }
    }
    const effect = point[COMMON_PARAMETERS + g];
    const ownWeight = Math.max(0, 1 - variance / propertyStandardDeviation ** 2);
    return {
      propertyId,
      records: records[g],
      failures: failures[g],
      effect,
      standardDeviation: Math.sqrt(total),
      ownWeight,
      aloneEffect: ownWeight < WORTH_A_NUMBER ? null : effect / ownWeight,
    };
  });
}
