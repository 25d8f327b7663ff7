import type { SourcedValue } from "@/lib/core/shared/sourced";

/**
 * What speeds wear up or slows it down, beside age and technology. Each is a number that is zero
 * or above; the rate of wear is exp(Σ coefficient · (value − typical value)).
 */
export const COVARIATES = [
  /** Total hardness above 60 mg/L as CaCO3, in hundreds of mg/L; 0 behind a softener. */
  "hardness",
  /** 1 where the water is softened. */
  "softened",
  /** Setpoint above 120 °F, in tens of °F. */
  "setpoint",
  /** 1 where the cold feed is closed and nothing takes up the expansion. */
  "closedSystem",
  /** 1 while the anode is known to protect the tank. */
  "anodeProtected",
  /** 1 while the anode is known to be spent. */
  "anodeSpent",
  /** 1 while a flush is recent. */
  "flushed",
  /** Doublings of the number of people above one more than the bedrooms, at most 2. */
  "highDraw",
] as const;
export type Covariate = (typeof COVARIATES)[number];

/** What a coefficient is the effect of, with its unit. */
export const COVARIATE_LABELS: Readonly<Record<Covariate, string>> = {
  hardness: "Water hardness above 60 mg/L, per 100 mg/L",
  softened: "Softened water",
  setpoint: "Setpoint above 120 °F, per 10 °F",
  closedSystem: "Closed cold feed, nothing to take up expansion",
  anodeProtected: "Anode known to be sound",
  anodeSpent: "Anode known to be spent",
  flushed: "Flushed within 18 months",
  highDraw: "People above bedrooms plus one, per doubling",
};

/** The covariates that follow the service record over time; all others hold for life. */
export const CARE_COVARIATES = ["anodeProtected", "anodeSpent", "flushed"] as const;
export type CareCovariate = (typeof CARE_COVARIATES)[number];

/** One value for each of {@link COVARIATES}, in that order. */
export type CovariateValues = readonly number[];

/**
 * The value of an ordinary heater, taken when a heater's own is not known. Published lifetimes are
 * those of ordinary heaters, so they apply to a heater of which nothing is known.
 */
export const TYPICAL_VALUES: Readonly<Record<Covariate, SourcedValue>> = {
  hardness: assumed(
    0.6,
    "hundreds of mg/L above 60",
    "120 mg/L, the upper end of 'moderately hard' in the USGS classes",
  ),
  softened: assumed(0, "", "most apartment water is not softened"),
  setpoint: assumed(
    0.5,
    "tens of °F above 120",
    "125 °F, the setpoint of the federal test procedure",
  ),
  closedSystem: assumed(0.2, "", "one heater in five"),
  anodeProtected: assumed(0, "", "the anode of an ordinary heater is not looked at"),
  anodeSpent: assumed(0, "", "the anode of an ordinary heater is not looked at"),
  flushed: assumed(0, "", "an ordinary heater is not flushed"),
  highDraw: assumed(0, "doublings", "one person more than the bedrooms"),
};

/** Hardness from which scale counts, mg/L as CaCO3. */
export const HARDNESS_FLOOR: SourcedValue = {
  value: 60,
  unit: "mg/L as CaCO3",
  source: "USGS hardness classes (Durfor and Becker 1964): soft is 0 to 60, as quoted by suppliers",
  evidence: "quoted",
};

/** Hardness above which more of it is not taken to add wear: beyond the waters studied. */
export const HARDNESS_CEILING_MG_PER_LITRE = 600;

/** Setpoint from which heat counts, °F. */
export const SETPOINT_FLOOR: SourcedValue = {
  value: 120,
  unit: "°F",
  source: "scald-limit setpoint recommended by the CPSC, as quoted",
  evidence: "quoted",
};

/** How long a new anode is known to protect, in water that is not softened and in softened water. */
export const ANODE_PROTECTION: Readonly<Record<"plain" | "softened", SourcedValue>> = {
  plain: {
    value: 4,
    unit: "years",
    source: "an anode lasts 3 to 5 years, common practice",
    evidence: "trade",
  },
  softened: {
    value: 2,
    unit: "years",
    source: "about half of that in softened water, common practice",
    evidence: "trade",
  },
};

/** How long a look at the anode that found it sound is taken to hold. */
export const ANODE_INSPECTION_HOLDS: SourcedValue = assumed(
  2,
  "years",
  "the interval between inspections in insurers' guidance",
);

/** How long a flush is taken to keep the tank clear. */
export const FLUSH_HOLDS: SourcedValue = assumed(
  1.5,
  "years",
  "a yearly flush with half a year of grace",
);

function assumed(value: number, unit: string, source: string): SourcedValue {
  return { value, unit, source, evidence: "assumed" };
}
