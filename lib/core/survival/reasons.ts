import type { Heater } from "@/lib/core/heaters/heater";
import { TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { COVARIATES, type Covariate, TYPICAL_VALUES } from "./covariates";
import { type CovariateHistory, covariateHistory } from "./exposure";
import { failureAhead, lifeOfHistory } from "./life-as-of";
import { propertyEffect, type SurvivalModel } from "./model";

/** What a reason can be about. At most eight, so that the exact split stays cheap. */
export const RISK_FACTORS = [
  "hardness",
  "softened",
  "setpoint",
  "closedSystem",
  "anode",
  "flush",
  "draw",
  "property",
] as const;
export type RiskFactor = (typeof RISK_FACTORS)[number];

export const RISK_FACTOR_LABELS: Readonly<Record<RiskFactor, string>> = {
  hardness: "Water hardness",
  softened: "Softened water",
  setpoint: "Setpoint",
  closedSystem: "Closed cold feed",
  anode: "Anode",
  flush: "Flushing",
  draw: "People in the home",
  property: "This property's record",
};

const FACTOR_COVARIATES: Readonly<Record<RiskFactor, readonly Covariate[]>> = {
  hardness: ["hardness"],
  softened: ["softened"],
  setpoint: ["setpoint"],
  closedSystem: ["closedSystem"],
  anode: ["anodeProtected", "anodeSpent"],
  flush: ["flushed"],
  draw: ["highDraw"],
  property: [],
};

/** One factor's part in a heater's 12-month failure probability. */
export type RiskReason = {
  readonly factor: RiskFactor;
  readonly label: string;
  /** Change in probability, −1 to 1. */
  readonly change: number;
  readonly sentence: string;
};

export type RiskExplanation = {
  /** 12-month failure probability of an ordinary heater of the same technology and install day. */
  readonly baselineProbability: number;
  /** 12-month failure probability of this heater: the baseline and all changes added. */
  readonly probability: number;
  readonly baselineSentence: string;
  /** Factors in which the heater differs from an ordinary one, the largest change first. */
  readonly factors: readonly RiskReason[];
};

/**
 * Splits the difference between a heater's 12-month failure probability and that of an ordinary
 * heater of its technology and age over the factors in which they differ.
 *
 * The parts are Shapley values (Shapley 1953), exact: a factor's part is its change averaged over
 * every order in which the factors can be set from ordinary to this heater's. They sum to the
 * difference, and equal factors get equal parts.
 */
export function explainRisk(
  model: SurvivalModel,
  heater: Heater,
  today: CalendarDay,
): RiskExplanation {
  const history = covariateHistory(heater);
  const active = RISK_FACTORS.filter((factor) => differs(model, heater, history, factor));
  const values = new Float64Array(1 << active.length);
  for (let set = 0; set < values.length; set++) {
    const kept = new Set(active.filter((_, k) => set & (1 << k)));
    values[set] = failureAhead(lifeOfHistory(maskModel(model, kept), heater, history, today), 1);
  }
  const parts = shapleyValues(values, active.length);
  const reasons = active.map((factor, k) => ({
    factor,
    label: RISK_FACTOR_LABELS[factor],
    change: parts[k],
    sentence: `${describe(factor, heater, model)}: ${formatChange(parts[k])}.`,
  }));
  reasons.sort((a, b) => Math.abs(b.change) - Math.abs(a.change));

  const { ageYears, ageIsEstimated } = lifeOfHistory(model, heater, history, today);
  const age = `${ageIsEstimated ? "about " : ""}${Math.round(ageYears)} years old`;
  return {
    baselineProbability: values[0],
    probability: values[values.length - 1],
    baselineSentence: `An ordinary heater of this kind (${TECHNOLOGY_LABELS[heater.technology].toLowerCase()}), ${age}: ${formatPercent(values[0])} in 12 months.`,
    factors: reasons,
  };
}

/** True when the factor changes the heater's wear at any time of its record. */
function differs(
  model: SurvivalModel,
  heater: Heater,
  history: CovariateHistory,
  factor: RiskFactor,
): boolean {
  if (factor === "property") return propertyEffect(model, heater.propertyId) !== 0;
  return FACTOR_COVARIATES[factor].some((covariate) => {
    const j = COVARIATES.indexOf(covariate);
    const typical = TYPICAL_VALUES[covariate].value;
    return history.values.some((values) => values[j] !== typical);
  });
}

/** The model with every factor outside `kept` set to its ordinary value. */
function maskModel(model: SurvivalModel, kept: ReadonlySet<RiskFactor>): SurvivalModel {
  const coefficients = { ...model.coefficients };
  for (const factor of RISK_FACTORS) {
    if (kept.has(factor)) continue;
    // A coefficient of zero is the same as the covariate at its typical value.
    for (const covariate of FACTOR_COVARIATES[factor]) coefficients[covariate] = 0;
  }
  return {
    ...model,
    coefficients,
    propertyEffects: kept.has("property") ? model.propertyEffects : {},
  };
}

/**
 * Shapley values of a game given by the value of each coalition.
 *
 * @param values value of each set of players, the set being the bits of the index
 * @param players number of players, at most 8 here
 */
export function shapleyValues(values: ArrayLike<number>, players: number): Float64Array {
  const parts = new Float64Array(players);
  // Share of the orders in which exactly `size` players come before a given one.
  const share = Array.from(
    { length: players },
    (_, size) => 1 / (players * choose(players - 1, size)),
  );
  for (let set = 0; set < values.length; set++) {
    const size = countBits(set);
    for (let k = 0; k < players; k++) {
      if (set & (1 << k)) continue;
      parts[k] += share[size] * (values[set | (1 << k)] - values[set]);
    }
  }
  return parts;
}

function choose(n: number, k: number): number {
  let value = 1;
  for (let i = 1; i <= k; i++) value = (value * (n - k + i)) / i;
  return value;
}

function countBits(set: number): number {
  let count = 0;
  for (let rest = set; rest !== 0; rest &= rest - 1) count++;
  return count;
}

function formatPercent(probability: number): string {
  return `${(100 * probability).toFixed(1)} %`;
}

function formatChange(change: number): string {
  const points = Math.abs(100 * change).toFixed(1);
  if (points === "0.0") return "changes the chance by less than 0.1 points";
  return change > 0 ? `adds ${points} points` : `takes ${points} points off`;
}

/** The fact about the heater that a factor rests on, in words. */
function describe(factor: RiskFactor, heater: Heater, model: SurvivalModel): string {
  const { water, care, home } = heater;
  switch (factor) {
    case "hardness":
      return water.softened === "yes"
        ? "Softened water leaves no scale"
        : `Water hardness of ${water.hardnessMgPerLitre} mg/L against ${typicalHardness()} in ordinary water`;
    case "softened":
      return "Softened water uses up the anode faster";
    case "setpoint":
      return `Setpoint of ${heater.setpointF} °F against an ordinary ${120 + 10 * TYPICAL_VALUES.setpoint.value} °F`;
    case "closedSystem":
      return heater.closedSystem === "yes" && heater.expansionControl === "no"
        ? "Closed cold feed with nothing to take up the expansion"
        : "Expansion of the water has somewhere to go";
    case "anode":
      return describeAnode(care);
    case "flush":
      return `Flushed ${timesInWords(care.flushDays.length)}, last on ${care.flushDays.at(-1)}`;
    case "draw":
      return `${home.occupants} people in a home with ${home.bedrooms} ${home.bedrooms === 1 ? "bedroom" : "bedrooms"}`;
    case "property":
      return describeProperty(propertyEffect(model, heater.propertyId));
  }
}

function describeProperty(effect: number): string {
  const percent = (100 * Math.abs(Math.expm1(effect))).toFixed(0);
  if (percent === "0") return "Heaters at this property wear about as the rest of the portfolio";
  return `Heaters at this property wear ${percent} % ${effect > 0 ? "faster" : "slower"} than the rest of the portfolio, by its record`;
}

function typicalHardness(): number {
  return 60 + 100 * TYPICAL_VALUES.hardness.value;
}

function describeAnode({ anodeInspection, anodeReplacementDays }: Heater["care"]): string {
  const replaced = anodeReplacementDays.at(-1);
  if (anodeInspection?.state === "spent" && (!replaced || replaced < anodeInspection.day)) {
    return `Anode found spent on ${anodeInspection.day} and not replaced since`;
  }
  if (replaced) return `Anode replaced on ${replaced}; wear before that day is not undone`;
  return `Anode found sound on ${anodeInspection?.day}`;
}

function timesInWords(times: number): string {
  if (times === 1) return "once";
  return times === 2 ? "twice" : `${times} times`;
}
