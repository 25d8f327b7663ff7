import { TECHNOLOGIES, TECHNOLOGY_LABELS, type Technology } from "@/lib/core/heaters/vocabulary";
import { normalQuantile } from "@/lib/core/stats/normal";
import { BAND_CONFIDENCE, type Band, bandOf } from "./bands";
import { COVARIATE_LABELS, COVARIATES, type Covariate } from "./covariates";
import { drawModels } from "./draws";
import type { RecordFit } from "./fit-records";
import { type AgeingModel, PRIOR_MODEL, type SurvivalModel } from "./model";
import { coefficientIndex, shapeIndex } from "./parameters";
import { meanLife } from "./weibull";

/** A number of the model as people think of it, before and after the record was read. */
export type LearntQuantity = {
  /**
   * `mean-life` of an ordinary heater, in years; `shape` of its law; `wear`: the change of the rate
   * of wear per unit of a covariate, as a share (0.1 is 10 % faster).
   */
  readonly quantity: "mean-life" | "shape" | "wear";
  readonly subject: Technology | Covariate;
  /** Of the kind, or of all kinds for a covariate. */
  readonly failures: number;
  readonly prior: Band;
  readonly posterior: Band;
  /** False when the record leaves the prior's spread all but unchanged: the prior speaks. */
  readonly learnt: boolean;
  /** The same in a plain sentence. */
  readonly sentence: string;
};

/** Draws behind the bands of mean lives. */
const DRAWS = { count: 1_000, seed: 1, propertyIds: [] };
/** A quantity counts as learnt when its band has shrunk at least this far. */
const LEARNT_BELOW = 0.9;

/**
 * What a fit learnt, number by number, against what was believed before: the kinds that are on
 * record, then the covariates. Bands hold 90 %.
 */
export function describeLearning(fit: RecordFit): readonly LearntQuantity[] {
  const before = drawModels(PRIOR_MODEL, DRAWS);
  const after = drawModels(fit.model, DRAWS);
  const kinds = fit.technologies.flatMap(({ technology, failures }) => [
    meanLifeQuantity(technology, failures, before, after),
    shapeQuantity(technology, failures, fit),
  ]);
  const { failures } = fit.counts;
  return [...kinds, ...COVARIATES.map((covariate) => wearQuantity(covariate, failures, fit))];
}

function meanLifeQuantity(
  technology: Technology,
  failures: number,
  before: readonly AgeingModel[],
  after: readonly AgeingModel[],
): LearntQuantity {
  const band = (draws: readonly AgeingModel[], model: SurvivalModel | null) => {
    const lives = draws.map(({ lifetimes }) => meanLife(lifetimes[technology]));
    return model === null
      ? bandOf(lives)
      : { ...bandOf(lives), median: meanLife(model.lifetimes[technology]) };
  };
  const prior = band(before, PRIOR_MODEL);
  const posterior = band(after, null);
  const width = ({ lower, upper }: Band) => Math.log(upper / lower);
  const learnt = width(posterior) < LEARNT_BELOW * width(prior);
  const label = TECHNOLOGY_LABELS[technology];
  return {
    quantity: "mean-life",
    subject: technology,
    failures,
    prior,
    posterior,
    learnt,
    sentence: !learnt
      ? `${label}: ${count(failures)} on record say too little; ${years(posterior.median)} (${span(posterior)}) is close to what was believed before.`
      : failures === 0
        ? `${label}: none has failed yet; the record of other kinds moves what was believed, ${years(prior.median)} (${span(prior)}), to ${years(posterior.median)} (${span(posterior)}).`
        : `${label}: an ordinary one lasts ${years(posterior.median)} on average here (nine in ten ${span(posterior)}), by ${count(failures)} on record; before, ${years(prior.median)} (${span(prior)}).`,
  };
}

function shapeQuantity(
  technology: Technology,
  failures: number,
  { learning }: RecordFit,
): LearntQuantity {
  const { prior, posterior, learnt } = learning[shapeIndex(TECHNOLOGIES.indexOf(technology))];
  const label = TECHNOLOGY_LABELS[technology];
  const bands = { prior: normalBand(prior, Math.exp), posterior: normalBand(posterior, Math.exp) };
  const { median } = bands.posterior;
  const steeper = median > bands.prior.median ? "bunch more" : "spread more";
  return {
    quantity: "shape",
    subject: technology,
    failures,
    ...bands,
    learnt,
    sentence: !learnt
      ? `${label}: how closely failures bunch around one age is not settled by ${count(failures)}.`
      : failures === 0
        ? `${label}: how closely failures bunch around one age is taken from the other kinds (shape ${median.toFixed(1)}, nine in ten ${span(bands.posterior)}).`
        : `${label}: failures ${steeper} around one age than was believed (shape ${median.toFixed(1)}, nine in ten ${span(bands.posterior)}; before, ${bands.prior.median.toFixed(1)}).`,
  };
}

function wearQuantity(
  covariate: Covariate,
  failures: number,
  { learning }: RecordFit,
): LearntQuantity {
  const { prior, posterior, learnt } = learning[coefficientIndex(COVARIATES.indexOf(covariate))];
  const label = COVARIATE_LABELS[covariate];
  const bands = {
    prior: normalBand(prior, Math.expm1),
    posterior: normalBand(posterior, Math.expm1),
  };
  const { lower, median, upper } = bands.posterior;
  const change = `${percent(median)} wear (nine in ten ${percent(lower)} to ${percent(upper)})`;
  return {
    quantity: "wear",
    subject: covariate,
    failures,
    ...bands,
    learnt,
    sentence: learnt
      ? `${label}: ${change}; before, ${percent(bands.prior.median)} (${percent(bands.prior.lower)} to ${percent(bands.prior.upper)}).`
      : `${label}: the record says too little; the range believed before stands, ${change}.`,
  };
}

function normalBand(
  { mean, standardDeviation }: { readonly mean: number; readonly standardDeviation: number },
  scale: (value: number) => number,
): Band {
  const away = normalQuantile((1 + BAND_CONFIDENCE) / 2) * standardDeviation;
  return { lower: scale(mean - away), median: scale(mean), upper: scale(mean + away) };
}

const years = (value: number): string => `${value.toFixed(1)} years`;
const span = ({ lower, upper }: Band): string => `${lower.toFixed(1)} to ${upper.toFixed(1)}`;
const count = (failures: number): string =>
  `${new Intl.NumberFormat("en-US").format(failures)} ${failures === 1 ? "failure" : "failures"}`;

function percent(share: number): string {
  const rounded = Math.round(100 * share);
  if (rounded === 0) return "±0 %";
  return `${rounded > 0 ? "+" : "−"}${Math.abs(rounded)} %`;
}
