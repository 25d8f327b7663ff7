import type { Answer, TaskKind } from "@/lib/core/heaters/vocabulary";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { MG_PER_LITRE_PER_GRAIN } from "@/lib/core/shared/units";
import type { Finding } from "./findings";

/** The numbers by which upkeep falls due; each has its source and can be a property's own. */
export type UpkeepRules = {
  /**
   * Months between two times a task is done, before water and findings change it. For the anode's
   * replacement it is the median life of an anode.
   */
  readonly intervalMonths: Readonly<Record<TaskKind, SourcedValue>>;
  /** Months between anode inspections once the warranty has run out. */
  readonly anodeAfterWarrantyMonths: SourcedValue;
  /** Hardness in mg/L as CaCO3 above which tanks are flushed more often. */
  readonly hardFromMgPerLitre: SourcedValue;
  readonly hardWaterFactor: SourcedValue;
  /** Factor on the flush interval in soft or softened water. */
  readonly softWaterFactor: SourcedValue;
  /** Factor on anode intervals in softened water. */
  readonly softenedAnodeFactor: SourcedValue;
  /** Standard deviation of ln(life of an anode). */
  readonly anodeLogSpread: SourcedValue;
  /** Chance of a spent anode at which it is to be looked at. */
  readonly anodeSpentChance: SourcedValue;
  /** Months that an inspection holds whatever the forecast says. */
  readonly anodeInspectionHoldsMonths: number;
  /** Factors on the next interval by what was found last; 0 makes the task due at once. */
  readonly findingFactors: Readonly<Partial<Record<Finding, SourcedValue>>>;
  /** Age in years from which a tank that was never serviced is left alone. */
  readonly leaveAloneFromYears: SourcedValue;
  /** Days before its due day from which a task is due, and from which it is due soon. */
  readonly dueWithinDays: number;
  readonly soonWithinDays: number;
  /** Bounds of an interval after all factors, in months. */
  readonly shortestMonths: number;
  readonly longestMonths: number;
};

const IBHS_ANNUAL = "professional inspection yearly: IBHS guidance as reprinted by insurers";
const ASSUMED = "an assumption of ours, to be edited";
const TRADE = "common practice, no source";

export const DEFAULT_UPKEEP_RULES: UpkeepRules = {
  intervalMonths: {
    flush: months(
      12,
      "flush yearly, more often in hard water: IBHS guidance as quoted by jwdavis.ca; another edition says every 6 months",
      "quoted",
    ),
    "anode-inspection": months(
      24,
      "every 2 years: IBHS guidance as reprinted by insurers; US DOE says 3 to 4, from memory",
      "quoted",
    ),
    "anode-replacement": months(
      60,
      `median life of an anode, which lasts 3 to 5 years: ${TRADE}; the upper end is taken, since spent anodes are found late`,
      "trade",
    ),
    "relief-valve-test": months(12, `${IBHS_ANNUAL}; US DOE says 6 months, from memory`, "quoted"),
    "expansion-tank-pressure": months(12, TRADE, "trade"),
    "burner-vent-check": months(12, IBHS_ANNUAL, "quoted"),
    "combustion-safety": months(
      24,
      `${ASSUMED}; also after any change to closet, vent or a neighbour on the same vent`,
      "assumed",
    ),
    "filter-condensate": months(4, `filters are cleaned 2 to 4 times a year: ${TRADE}`, "trade"),
    "strap-check": months(36, ASSUMED, "assumed"),
    "leak-sensor-test": months(12, TRADE, "trade"),
    "setpoint-mixing-check": months(12, TRADE, "trade"),
  },
  anodeAfterWarrantyMonths: months(
    12,
    "at least yearly once the warranty has expired: IBHS guidance as reprinted by insurers",
    "quoted",
  ),
  hardFromMgPerLitre: {
    value: 10 * MG_PER_LITRE_PER_GRAIN,
    unit: "mg/L as CaCO3",
    source: `flush twice a year above 10 grains per gallon: ${TRADE}`,
    evidence: "trade",
  },
  hardWaterFactor: factor(0.5, `flush twice a year above 10 grains per gallon: ${TRADE}`, "trade"),
  softWaterFactor: factor(1.5, ASSUMED, "assumed"),
  softenedAnodeFactor: factor(
    0.5,
    `anodes last half as long in softened water: ${TRADE}; much faster consumption in softened water: Talbert et al., ASHRAE Transactions 1986, as quoted`,
    "trade",
  ),
  anodeLogSpread: factor(
    0.45,
    "expert range: nine in ten anodes last between half and twice the median",
    "assumed",
  ),
  anodeSpentChance: factor(0.1, ASSUMED, "assumed"),
  anodeInspectionHoldsMonths: 12,
  findingFactors: {
    clear: factor(1.5, ASSUMED, "assumed"),
    "heavy-sediment": factor(0.5, ASSUMED, "assumed"),
    weeps: factor(0, "a valve that does not close is replaced", "trade"),
    stuck: factor(0, "a valve that does not work is replaced", "trade"),
    low: factor(0.5, ASSUMED, "assumed"),
    waterlogged: factor(0, "a waterlogged expansion tank is replaced", "trade"),
    dirty: factor(0.5, ASSUMED, "assumed"),
    blocked: factor(0.5, ASSUMED, "assumed"),
    spillage: factor(0, "spillage is put right at once", "trade"),
    fail: factor(0, "a failed combustion test is put right at once", "trade"),
    loose: factor(0.5, ASSUMED, "assumed"),
    missing: factor(0, "missing straps are fitted", "trade"),
    "dead-battery": factor(0.5, ASSUMED, "assumed"),
    fails: factor(0, "a sensor that does not work is replaced", "trade"),
    adjusted: factor(0.5, ASSUMED, "assumed"),
    "scald-risk": factor(0, "a tap that scalds is put right at once", "trade"),
  },
  leaveAloneFromYears: {
    value: 9,
    unit: "years",
    source: `a tank never serviced by 8 to 10 years is not flushed, it is replaced: ${TRADE}; IBHS (as quoted) says not to start flushing an old heater that was never drained`,
    evidence: "trade",
  },
  dueWithinDays: 30,
  soonWithinDays: 90,
  shortestMonths: 1,
  longestMonths: 120,
};

/** Factor on anode lives and anode intervals by what is known of a softener. */
export function anodeWaterFactor(rules: UpkeepRules, softened: Answer): number {
  return softened === "yes" ? rules.softenedAnodeFactor.value : 1;
}

/** A base interval that a property has of its own, and where the person has it from. */
export type OwnInterval = { readonly months: number; readonly source: string };

/**
 * Rules with a property's own intervals.
 * @throws {RangeError} when an interval is not a whole number of months from 1 to 120.
 */
export function withIntervals(
  rules: UpkeepRules,
  own: Readonly<Partial<Record<TaskKind, number | OwnInterval>>>,
): UpkeepRules {
  const intervalMonths = { ...rules.intervalMonths };
  for (const [task, interval] of Object.entries(own) as [TaskKind, number | OwnInterval][]) {
    const { months: value, source } =
      typeof interval === "number" ? { months: interval, source: "" } : interval;
    if (!Number.isInteger(value) || value < 1 || value > 120) {
      throw new RangeError(`interval of ${task} must be 1 to 120 whole months, got ${value}`);
    }
    intervalMonths[task] = months(value, source || "the property's own interval", "entered");
  }
  return { ...rules, intervalMonths };
}

function months(value: number, source: string, evidence: SourcedValue["evidence"]): SourcedValue {
  return { value, unit: "months", source, evidence };
}

function factor(value: number, source: string, evidence: SourcedValue["evidence"]): SourcedValue {
  return { value, unit: "", source, evidence };
}
