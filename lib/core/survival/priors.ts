import type { Technology } from "@/lib/core/heaters/vocabulary";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import type { Covariate } from "./covariates";

/** A sourced number and how far it may be off: one standard deviation, on the scale named. */
export type Prior = SourcedValue & {
  readonly standardDeviation: number;
};

/** What is believed of a technology's lifetime before any record of this portfolio is read. */
export type LifetimePrior = {
  /** Mean life in years of an ordinary heater; the spread is that of ln(mean life). */
  readonly meanLife: Prior;
  /** Weibull shape; the spread is that of ln(shape). */
  readonly shape: Prior;
};

const EXPERT_RANGE = "expert range, no source";

/**
 * The shape is not published for heaters of known age at failure; the federal energy model uses a
 * Weibull law with a delay, and claims data (which see failures only) suggest a steeper one. 2.5
 * lets one in three outlive 15 years where the mean is 13. The spread is wide: 90 % of it lies
 * between 1.5 and 4.1.
 */
const SHAPE: Prior = prior(2.5, "", EXPERT_RANGE, "assumed", 0.3);

export const LIFETIME_PRIORS: Readonly<Record<Technology, LifetimePrior>> = {
  "gas-storage": {
    meanLife: prior(
      13,
      "years",
      "US DOE rule 75 FR 20112 (2010), from memory; one home in 13 replaces each year (DOE Market Profile 2009, as quoted) agrees",
      "memory",
      0.15,
    ),
    shape: SHAPE,
  },
  "electric-storage": {
    meanLife: prior(13, "years", "US DOE rule 75 FR 20112 (2010), from memory", "memory", 0.15),
    shape: SHAPE,
  },
  "gas-instantaneous": {
    meanLife: prior(20, "years", "US DOE rule 75 FR 20112 (2010), from memory", "memory", 0.2),
    shape: SHAPE,
  },
  "electric-instantaneous": {
    meanLife: prior(17, "years", EXPERT_RANGE, "assumed", 0.3),
    shape: SHAPE,
  },
  "heat-pump-storage": {
    meanLife: prior(
      13,
      "years",
      "taken as equal to an electric tank, as federal rulemaking does, from memory; few have grown old yet",
      "memory",
      0.25,
    ),
    shape: SHAPE,
  },
  "heat-pump-plug-in": { meanLife: prior(12, "years", EXPERT_RANGE, "assumed", 0.3), shape: SHAPE },
  "heat-pump-split": { meanLife: prior(14, "years", EXPERT_RANGE, "assumed", 0.3), shape: SHAPE },
  "heat-pump-central": {
    meanLife: prior(15, "years", EXPERT_RANGE, "assumed", 0.35),
    shape: SHAPE,
  },
};

/**
 * Part of the spreads above that all technologies of a portfolio share: an owner whose gas tanks
 * outlive the published figure has reason to expect the same of the electric ones.
 */
export const SHARED_LIFE_STANDARD_DEVIATION = 0.1;
export const SHARED_SHAPE_STANDARD_DEVIATION = 0.2;

/** Standard deviation of a property's own effect on ln(rate of wear) before its record is read. */
export const PROPERTY_EFFECT_PRIOR: Prior = prior(
  0,
  "ln of the rate of wear",
  EXPERT_RANGE,
  "assumed",
  0.1,
);

/**
 * Coefficients of the rate of wear: each multiplies wear by exp(coefficient) per unit of its
 * covariate. Directions have sources; sizes on *lifetime* do not, so all are wide.
 */
export const COEFFICIENT_PRIORS: Readonly<Record<Covariate, Prior>> = {
  hardness: prior(
    0.1,
    "per 100 mg/L",
    `${EXPERT_RANGE}; scale builds with hardness in the Battelle study of 2009 (industry-funded) as quoted, while the ASHRAE four-city tests (Talbert et al. 1986, as quoted) found little effect on gas tanks`,
    "assumed",
    0.08,
  ),
  softened: prior(
    0.1,
    "",
    `${EXPERT_RANGE}; magnesium anodes were consumed much faster in any softened water (Talbert et al. 1986, as quoted)`,
    "assumed",
    0.12,
  ),
  setpoint: prior(
    0.06,
    "per 10 °F",
    `${EXPERT_RANGE}; scaling and corrosion rise with temperature`,
    "assumed",
    0.05,
  ),
  closedSystem: prior(
    0.15,
    "",
    `${EXPERT_RANGE}; expansion control is required by IPC 607.3 because closed feeds strain tanks`,
    "assumed",
    0.15,
  ),
  anodeProtected: prior(-0.2, "", `${EXPERT_RANGE}; common practice`, "assumed", 0.15),
  anodeSpent: prior(0.25, "", `${EXPERT_RANGE}; common practice`, "assumed", 0.2),
  flushed: prior(-0.08, "", `${EXPERT_RANGE}; common practice`, "assumed", 0.08),
  highDraw: prior(0.1, "per doubling", EXPERT_RANGE, "assumed", 0.1),
};

function prior(
  value: number,
  unit: string,
  source: string,
  evidence: SourcedValue["evidence"],
  standardDeviation: number,
): Prior {
  return { value, unit, source, evidence, standardDeviation };
}
