import { z } from "zod";
import { READINESS_ITEMS, type ReadinessItem, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";

/** What a swap is made of, each with its own price. */
export const COST_PARTS = [
  "equipment",
  "labour",
  "circuit",
  "panelShare",
  "condensate",
  "ductingOrLouvre",
  "pan",
  "leakShutoff",
  "reliefDischarge",
  "straps",
  "expansionControl",
  "mixingValve",
  "permit",
  "ventAndGasCapOff",
  "ventLeftBehind",
  "structureWork",
  "noiseWork",
  "refrigerantLines",
  "recirculation",
  "plantRoom",
  "disposal",
] as const;
export type CostPart = (typeof COST_PARTS)[number];

export const COST_PART_LABELS: Readonly<Record<CostPart, string>> = {
  equipment: "Equipment",
  labour: "Labour",
  circuit: "Electrical circuit",
  panelShare: "Share of panel work",
  condensate: "Condensate line",
  ductingOrLouvre: "Ducting or louvre",
  pan: "Drain pan",
  leakShutoff: "Leak shut-off",
  reliefDischarge: "Relief discharge pipe",
  straps: "Seismic straps",
  expansionControl: "Expansion control",
  mixingValve: "Mixing valve",
  permit: "Permit",
  ventAndGasCapOff: "Vent and gas cap-off",
  ventLeftBehind: "Vent of the gas appliances that stay",
  structureWork: "Stand or stronger floor",
  noiseWork: "Sound insulation",
  refrigerantLines: "Refrigerant lines",
  recirculation: "Recirculation piping and controls",
  plantRoom: "Work in the plant room",
  disposal: "Disposal",
};

/**
 * Parts that are only paid where the closet does not offer them yet, and what the survey asks for
 * each. Expansion control and mixing valve are asked of the heater's own record.
 */
export const PART_OF_READINESS: Readonly<Partial<Record<ReadinessItem, CostPart>>> = {
  "circuit-240v": "circuit",
  "circuit-120v": "circuit",
  "panel-space": "panelShare",
  "air-volume": "ductingOrLouvre",
  "condensate-route": "condensate",
  "drain-pan": "pan",
  "leak-shutoff": "leakShutoff",
  "relief-discharge": "reliefDischarge",
  "seismic-straps": "straps",
  structure: "structureWork",
  noise: "noiseWork",
};

const day = z.string().refine(isCalendarDay, "must be a day such as 2027-06-30");
const cents = z.int("must be a whole number of cents").min(0, "must be zero or more");
const EVIDENCE = ["published", "quoted", "trade", "memory", "assumed", "entered"] as const;
const evidence = z.enum(EVIDENCE);

const moneyRangeSchema = z
  .strictObject({
    lowCents: cents,
    likelyCents: cents,
    highCents: cents,
    evidence,
    source: z.string(),
  })
  .refine(
    (range) => range.lowCents <= range.likelyCents && range.likelyCents <= range.highCents,
    "low, likely and high must be in order",
  );

const sourcedNumber = (value: z.ZodNumber) =>
  z.strictObject({ value, evidence, source: z.string() });

/** What a shared plant adds for every home behind it. */
const perHomeSchema = z.strictObject({
  costs: z.partialRecord(z.enum(COST_PARTS), moneyRangeSchema),
  /** Storage in US gallons. */
  volumeGal: z.number().min(0),
  crewHours: z.number().min(0),
  circuitLoad: z.number().min(0),
  maintenanceCentsPerYear: z.number().min(0),
});

/**
 * The terms of a replacement option, as the catalogue stores them. Keys that came later are optional, so
 * that a catalogue stored before them still reads.
 */
export const optionTermsSchema = z.strictObject({
  technology: z.enum(TECHNOLOGIES),
  /** Rated storage in US gallons; null for an option without a tank. */
  volumeGal: z.number().positive().nullable(),
  /** Uniform energy factor, no unit. */
  uniformEnergyFactor: sourcedNumber(z.number().positive()),
  /** First-hour rating in gallons; absent where only storage and input are known. */
  firstHourGal: sourcedNumber(z.number().positive()).optional(),
  /** Element, compressor or burner input in watts or Btu per hour; absent: the usual of its kind. */
  inputWatts: sourcedNumber(z.number().positive()).optional(),
  inputBtuPerHour: sourcedNumber(z.number().positive()).optional(),
  /** A part that is absent is no part of this option. */
  costs: z.partialRecord(z.enum(COST_PARTS), moneyRangeSchema),
  /** Present for a plant that takes the place of a heater shared by several homes. */
  perHome: perHomeSchema.optional(),
  /** Real change of its installed cost a year, in place of the scenario's: 0.02 is 2 % a year. */
  escalationPerYear: sourcedNumber(z.number().gt(-1).max(1)).optional(),
  /** Hours of one crew for one swap. */
  crewHours: sourcedNumber(z.number().min(0)),
  /** Load on the building's headroom, counted in new 240 V circuits as the headroom is. */
  circuitLoad: z.number().min(0),
  refrigerant: z
    .strictObject({ type: z.string().min(1), chargeKg: sourcedNumber(z.number().min(0)) })
    .nullable(),
  /** What the closet must offer; items without a priced part rule the option out where they are missing. */
  requiredReadiness: z.array(z.enum(READINESS_ITEMS)),
  /** First and last day on which the option can be ordered; null when open. */
  validFrom: day.nullable(),
  validTo: day.nullable(),
  incentives: z.array(
    z.strictObject({
      programme: z.string().min(1),
      cents,
      /** The most it pays as a share of the swap; 1 when it may pay all. */
      maximumShare: z.number().min(0).max(1),
      /** First and last day on which a swap earns it; null or absent when open. */
      validFrom: day.nullable().optional(),
      validTo: day.nullable(),
      /** The most that the programme pays this organisation for all swaps together; absent for no cap. */
      programmeCapCents: cents.nullable().optional(),
      evidence,
      source: z.string(),
    }),
  ),
  /** Rules from whose day on the option may not be installed. */
  policyDates: z
    .array(z.strictObject({ notFrom: day, rule: z.string().min(1), source: z.string() }))
    .optional(),
  expectedLifeYears: sourcedNumber(z.number().positive()),
  /** Yearly upkeep in cents. */
  maintenanceCentsPerYear: sourcedNumber(z.number().min(0)),
});

export type OptionTerms = z.output<typeof optionTermsSchema>;
export type MoneyRange = z.output<typeof moneyRangeSchema>;

/** An option of the catalogue. */
export type ReplacementOption = {
  readonly code: string;
  readonly name: string;
  readonly terms: OptionTerms;
};

/** Parts that depend on what is already there. */
export const READINESS_PARTS: ReadonlySet<CostPart> = new Set<CostPart>([
  ...Object.values(PART_OF_READINESS),
  "expansionControl",
  "mixingValve",
  "ventLeftBehind",
]);

/**
 * An option's terms for a heater that serves `homes` homes: a shared plant grows with them, every other
 * option is what it is.
 */
export function termsForHomes(terms: OptionTerms, homes: number): OptionTerms {
  const { perHome } = terms;
  if (!perHome) return terms;
  const costs = { ...terms.costs };
  for (const part of COST_PARTS) {
    const more = perHome.costs[part];
    if (!more) continue;
    const base = costs[part];
    const sum = (key: "lowCents" | "likelyCents" | "highCents") =>
      (base?.[key] ?? 0) + Math.round(homes * more[key]);
    costs[part] = {
      lowCents: sum("lowCents"),
      likelyCents: sum("likelyCents"),
      highCents: sum("highCents"),
      evidence: more.evidence,
      source: more.source,
    };
  }
  return {
    ...terms,
    costs,
    volumeGal:
      terms.volumeGal === null && perHome.volumeGal === 0
        ? null
        : (terms.volumeGal ?? 0) + homes * perHome.volumeGal,
    crewHours: { ...terms.crewHours, value: terms.crewHours.value + homes * perHome.crewHours },
    circuitLoad: terms.circuitLoad + homes * perHome.circuitLoad,
    maintenanceCentsPerYear: {
      ...terms.maintenanceCentsPerYear,
      value: terms.maintenanceCentsPerYear.value + homes * perHome.maintenanceCentsPerYear,
    },
  };
}

/** The first rule that forbids an option on a day; null when none does. */
export function forbiddingRule(
  { policyDates = [] }: Pick<OptionTerms, "policyDates">,
  day: string,
): string | null {
  return policyDates.find(({ notFrom }) => day >= notFrom)?.rule ?? null;
}

/** True when a swap on the day earns the incentive. */
export function isEarnedOn(incentive: OptionTerms["incentives"][number], day: string): boolean {
  const { validFrom = null, validTo } = incentive;
  return (validFrom === null || day >= validFrom) && (validTo === null || day <= validTo);
}

const ASSUMED = "assumed, edit me";

/** Dollars as a range marked assumed. */
function assumed(low: number, likely: number, high: number): MoneyRange {
  return {
    lowCents: low * 100,
    likelyCents: likely * 100,
    highCents: high * 100,
    evidence: "assumed",
    source: ASSUMED,
  };
}

function assumedValue(value: number) {
  return { value, evidence: "assumed" as const, source: ASSUMED };
}

function rememberedValue(value: number, source: string) {
  return { value, evidence: "memory" as const, source: `${source}, from memory` };
}

const UNITARY_READINESS: ReadinessItem[] = [
  "air-volume",
  "condensate-route",
  "clearance",
  "drain-pan",
  "relief-discharge",
  "seismic-straps",
];

const TANK_PARTS = {
  pan: assumed(60, 120, 220),
  leakShutoff: assumed(120, 200, 350),
  reliefDischarge: assumed(60, 150, 400),
  straps: assumed(30, 60, 120),
  expansionControl: assumed(120, 180, 300),
  mixingValve: assumed(100, 180, 300),
  permit: assumed(80, 180, 400),
  disposal: assumed(40, 80, 150),
};

/** A smaller vent or liner for what stays on a common vent, with its test. */
const VENT_LEFT_BEHIND = assumed(150, 450, 1_500);

/**
 * Installed cost of a 240 V heat pump, parts together, lands near what a public agency's retrofits
 * cost: median $4,877 (2019) and $4,231 (2020), n = 123, panel work about $3,500 more where needed, as
 * quoted by a newspaper's blog. How it splits into parts is assumed.
 */
function heatPump240(volumeGal: number, equipment: readonly [number, number, number]): OptionTerms {
  return {
    technology: "heat-pump-storage",
    volumeGal,
    uniformEnergyFactor: assumedValue(3.5),
    costs: {
      ...TANK_PARTS,
      equipment: assumed(...equipment),
      labour: assumed(800, 1_200, 1_800),
      circuit: assumed(500, 900, 1_800),
      panelShare: {
        ...assumed(1_000, 2_000, 3_500),
        evidence: "quoted",
        source:
          "panel upgrade $1,000 to $3,000 (a non-profit's study, 2022) and about $3,500 (a public " +
          "agency, 2020), as quoted; likely value assumed",
      },
      condensate: assumed(80, 150, 350),
      ductingOrLouvre: assumed(150, 300, 900),
      ventAndGasCapOff: assumed(100, 200, 400),
      ventLeftBehind: VENT_LEFT_BEHIND,
    },
    crewHours: assumedValue(6),
    circuitLoad: 1,
    refrigerant: { type: "R-134a", chargeKg: assumedValue(0.75) },
    requiredReadiness: ["circuit-240v", "panel-space", ...UNITARY_READINESS],
    validFrom: null,
    validTo: null,
    incentives: [],
    expectedLifeYears: assumedValue(13),
    maintenanceCentsPerYear: assumedValue(4_500),
  };
}

/** A starting catalogue. Every value says what it rests on; most are assumptions to be edited. */
export const DEFAULT_OPTIONS: readonly ReplacementOption[] = [
  {
    code: "hp240-50",
    name: "Heat pump 240 V, 50 gal",
    terms: heatPump240(50, [1_500, 1_900, 2_500]),
  },
  {
    code: "hp240-65",
    name: "Heat pump 240 V, 65 gal",
    terms: heatPump240(65, [1_800, 2_250, 2_900]),
  },
  {
    code: "hp240-80",
    name: "Heat pump 240 V, 80 gal",
    terms: heatPump240(80, [2_100, 2_600, 3_400]),
  },
  {
    code: "hp120-65",
    name: "Heat pump 120 V plug-in, 65 gal",
    terms: {
      technology: "heat-pump-plug-in",
      volumeGal: 65,
      uniformEnergyFactor: assumedValue(3.0),
      costs: {
        ...TANK_PARTS,
        equipment: assumed(2_000, 2_500, 3_200),
        labour: assumed(700, 1_000, 1_500),
        circuit: assumed(150, 350, 800),
        condensate: assumed(80, 150, 350),
        ductingOrLouvre: assumed(150, 300, 900),
        ventAndGasCapOff: assumed(100, 200, 400),
        ventLeftBehind: VENT_LEFT_BEHIND,
      },
      crewHours: assumedValue(5),
      circuitLoad: 0,
      refrigerant: { type: "R-134a", chargeKg: assumedValue(0.75) },
      requiredReadiness: ["circuit-120v", ...UNITARY_READINESS],
      validFrom: null,
      validTo: null,
      incentives: [],
      expectedLifeYears: assumedValue(13),
      maintenanceCentsPerYear: assumedValue(4_500),
    },
  },
  {
    code: "hp-split",
    name: "Heat pump, split",
    terms: {
      technology: "heat-pump-split",
      volumeGal: 50,
      uniformEnergyFactor: assumedValue(3.8),
      costs: {
        ...TANK_PARTS,
        equipment: assumed(3_500, 4_500, 6_000),
        labour: assumed(1_800, 2_600, 3_800),
        circuit: assumed(500, 900, 1_800),
        panelShare: assumed(1_000, 2_000, 3_500),
        condensate: assumed(80, 150, 350),
        ventAndGasCapOff: assumed(100, 200, 400),
        ventLeftBehind: VENT_LEFT_BEHIND,
        refrigerantLines: assumed(300, 600, 1_200),
        structureWork: assumed(200, 500, 1_500),
      },
      crewHours: assumedValue(12),
      circuitLoad: 1,
      refrigerant: { type: "R-744", chargeKg: assumedValue(0.7) },
      requiredReadiness: [
        "circuit-240v",
        "panel-space",
        "condensate-route",
        "clearance",
        "drain-pan",
        "relief-discharge",
        "seismic-straps",
        "structure",
      ],
      validFrom: null,
      validTo: null,
      incentives: [],
      expectedLifeYears: assumedValue(15),
      maintenanceCentsPerYear: assumedValue(6_000),
    },
  },
  {
    code: "hp-central",
    name: "Heat pump, central plant for a riser or building",
    terms: {
      technology: "heat-pump-central",
      volumeGal: 100,
      // A coefficient of performance over the year: the household rating does not apply.
      uniformEnergyFactor: assumedValue(2.5),
      costs: {
        equipment: assumed(6_000, 9_000, 15_000),
        labour: assumed(4_000, 6_000, 10_000),
        circuit: assumed(1_500, 2_500, 5_000),
        panelShare: assumed(1_000, 3_000, 8_000),
        condensate: assumed(150, 300, 800),
        structureWork: assumed(1_000, 2_500, 8_000),
        noiseWork: assumed(500, 1_500, 4_000),
        recirculation: assumed(800, 1_500, 3_000),
        expansionControl: assumed(300, 600, 1_200),
        mixingValve: assumed(500, 900, 2_000),
        permit: assumed(400, 1_000, 2_500),
        ventAndGasCapOff: assumed(300, 600, 1_500),
        ventLeftBehind: VENT_LEFT_BEHIND,
        disposal: assumed(150, 300, 600),
      },
      perHome: {
        costs: {
          equipment: assumed(900, 1_400, 2_200),
          labour: assumed(300, 500, 900),
          recirculation: assumed(100, 250, 600),
        },
        volumeGal: 25,
        crewHours: 3,
        circuitLoad: 0.12,
        maintenanceCentsPerYear: 1_500,
      },
      crewHours: assumedValue(48),
      circuitLoad: 0.5,
      refrigerant: { type: "R-744", chargeKg: assumedValue(3) },
      requiredReadiness: [
        "circuit-240v",
        "panel-space",
        "condensate-route",
        "clearance",
        "structure",
        "noise",
      ],
      validFrom: null,
      validTo: null,
      incentives: [],
      expectedLifeYears: assumedValue(15),
      maintenanceCentsPerYear: assumedValue(60_000),
    },
  },
  {
    code: "electric-50",
    name: "Electric resistance tank, 50 gal",
    terms: {
      technology: "electric-storage",
      volumeGal: 50,
      uniformEnergyFactor: assumedValue(0.92),
      costs: {
        ...TANK_PARTS,
        equipment: assumed(450, 650, 900),
        labour: assumed(500, 750, 1_100),
        circuit: assumed(500, 900, 1_800),
        panelShare: assumed(1_000, 2_000, 3_500),
        ventAndGasCapOff: assumed(100, 200, 400),
        ventLeftBehind: VENT_LEFT_BEHIND,
      },
      crewHours: assumedValue(4),
      circuitLoad: 1,
      refrigerant: null,
      requiredReadiness: [
        "circuit-240v",
        "panel-space",
        "drain-pan",
        "relief-discharge",
        "seismic-straps",
      ],
      validFrom: null,
      validTo: null,
      incentives: [],
      expectedLifeYears: rememberedValue(13, "mean life in a federal rule of 2010"),
      maintenanceCentsPerYear: assumedValue(2_500),
    },
  },
  {
    code: "gas-40",
    name: "Gas tank, like for like, 40 gal",
    terms: {
      technology: "gas-storage",
      volumeGal: 40,
      uniformEnergyFactor: assumedValue(0.62),
      costs: {
        ...TANK_PARTS,
        equipment: assumed(550, 800, 1_100),
        labour: assumed(500, 700, 1_000),
      },
      crewHours: assumedValue(4),
      circuitLoad: 0,
      refrigerant: null,
      requiredReadiness: ["drain-pan", "relief-discharge", "seismic-straps"],
      validFrom: null,
      validTo: null,
      incentives: [],
      expectedLifeYears: rememberedValue(13, "mean life in a federal rule of 2010"),
      maintenanceCentsPerYear: assumedValue(3_500),
    },
  },
];
