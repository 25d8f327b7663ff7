import { TECHNOLOGIES, type Technology } from "@/lib/core/heaters/vocabulary";
import { normalQuantile } from "@/lib/core/stats/normal";
import { BAND_CONFIDENCE, type Band, bandOf } from "./bands";
import { COVARIATES, type Covariate } from "./covariates";
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
  /** What became of it, in a plain sentence. */
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
  return {
    quantity: "mean-life",
    subject: technology,
    failures,
    prior,
    posterior,
    learnt,
    sentence: lifeInWords(failures, learnt, prior, posterior),
  };
}

function shapeQuantity(
  technology: Technology,
  failures: number,
  { learning }: RecordFit,
): LearntQuantity {
  const { prior, posterior, learnt } = learning[shapeIndex(TECHNOLOGIES.indexOf(technology))];
  const bands = { prior: normalBand(prior, Math.exp), posterior: normalBand(posterior, Math.exp) };
  return {
    quantity: "shape",
    subject: technology,
    failures,
    ...bands,
    learnt,
    sentence: shapeInWords(failures, learnt, bands.prior, bands.posterior),
  };
}

function wearQuantity(
  covariate: Covariate,
  failures: number,
  { learning }: RecordFit,
): LearntQuantity {
  const { prior, posterior, learnt } = learning[coefficientIndex(COVARIATES.indexOf(covariate))];
  const bands = {
    prior: normalBand(prior, Math.expm1),
    posterior: normalBand(posterior, Math.expm1),
  };
  return {
    quantity: "wear",
    subject: covariate,
    failures,
    ...bands,
    learnt,
    sentence: learnt
      ? wearInWords(bands.prior, bands.posterior)
      : "The record says too little; what was believed stands.",
  };
}

function normalBand(
  { mean, standardDeviation }: { readonly mean: number; readonly standardDeviation: number },
  scale: (value: number) => number,
): Band {
  const away = normalQuantile((1 + BAND_CONFIDENCE) / 2) * standardDeviation;
  return { lower: scale(mean - away), median: scale(mean), upper: scale(mean + away) };
}

/** Medians nearer than this, in proportion, are called the same. */
const ABOUT = 0.03;

function lifeInWords(failures: number, learnt: boolean, prior: Band, posterior: Band): string {
  if (!learnt) return `${count(failures)} ${says(failures)} too little; what was believed stands.`;
  if (failures === 0) return "None has failed yet; the record of the other kinds moves it.";
  const ratio = posterior.median / prior.median;
  const change =
    Math.abs(Math.log(ratio)) < ABOUT
      ? "about as long as"
      : ratio > 1
        ? "longer than"
        : "shorter than";
  return `Lives ${change} believed, by ${count(failures)}; ${narrower(prior, posterior, Math.log)}`;
}

function shapeInWords(failures: number, learnt: boolean, prior: Band, posterior: Band): string {
  if (!learnt) return `${count(failures)} ${says(failures)} too little; what was believed stands.`;
  if (failures === 0) return "None has failed yet; taken from the other kinds.";
  const ratio = posterior.median / prior.median;
  const change =
    Math.abs(Math.log(ratio)) < ABOUT
      ? "bunch around one age about as believed"
      : ratio > 1
        ? "bunch more around one age than believed"
        : "are spread over more ages than believed";
  return `Failures ${change}; ${narrower(prior, posterior, Math.log)}`;
}

function wearInWords(prior: Band, posterior: Band): string {
  const { lower, median, upper } = posterior;
  const does = median > 0 ? "Speeds wear up" : "Slows wear down";
  const was = prior.median > 0 ? "speed it up" : "slow it down";
  const size = Math.log1p(Math.abs(median)) - Math.log1p(Math.abs(prior.median));
  const than =
    median > 0 !== prior.median > 0
      ? `, where it was believed to ${was}`
      : Math.abs(size) < ABOUT / 2
        ? " about as much as believed"
        : ` ${size > 0 ? "more" : "less"} than believed`;
  const doubt = lower < 0 && upper > 0 ? " It may still do nothing." : "";
  return `${does}${than}; ${narrower(prior, posterior, Math.log1p)}${doubt}`;
}

/** How much narrower the range has become, on the scale on which it was learnt. */
function narrower(prior: Band, posterior: Band, scale: (value: number) => number): string {
  const width = ({ lower, upper }: Band) => scale(upper) - scale(lower);
  const times = width(prior) / width(posterior);
  return times < 1.5
    ? "the range is a little narrower."
    : `the range is ${times < 3 ? times.toFixed(1) : times.toFixed(0)} times narrower.`;
}

const says = (failures: number): string => (failures === 1 ? "says" : "say");
const count = (failures: number): string =>
  `${new Intl.NumberFormat("en-US").format(failures)} ${failures === 1 ? "failure" : "failures"}`;
