import {
  type Fuel,
  HEATER_STATUS_LABELS,
  type HeaterStatus,
  INSTALL_EVIDENCE_LABELS,
  type InstallEvidence,
  PLACE_LABELS,
  type Place,
  RETIREMENT_CAUSE_LABELS,
  type RetirementCause,
  TECHNOLOGIES,
  TECHNOLOGY_LABELS,
  type Technology,
} from "@/lib/core/heaters/vocabulary";

/** Lower case, every run of other signs than letters and digits one space: `Gas (N.G.)` → `gas n g`. */
export function normalizeWords(text: string): string {
  return text
    .normalize("NFKC")
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, " ")
    .trim();
}

/** A heading without the unit in or behind it: `Tank volume (gal)` → `tank volume`. */
export function normalizeHeading(text: string): string {
  return normalizeWords(text.replace(/\([^)]*\)|\[[^\]]*\]/g, " ")) || normalizeWords(text);
}

const UNKNOWN_WORDS =
  /^(?:[\s?.\-_\u2013\u2014/*]+|n\.?[\s/.]?a\.?|#n\/a|unk\.?|unknown|not (?:known|available|applicable|recorded)|tb[dc]|null|nil|no data)$/i;

/** True for an empty cell and for what people write when they do not know: `?`, `n/a`, `TBD`, `--`. */
export function isUnknownWord(text: string): boolean {
  return text.length <= 16 && (text === "" || UNKNOWN_WORDS.test(text));
}

const YES = new Set([
  "yes",
  "y",
  "true",
  "1",
  "x",
  "t",
  "ok",
  "present",
  "installed",
  "have",
  "si",
]);
const NO = new Set(["no", "n", "false", "0", "f", "none", "absent", "missing", "without"]);
const TICKS = new Set(["\u2713", "\u2714", "\u2705", "\u2611"]);
const CROSSES = new Set(["\u2717", "\u2718", "\u274c", "\u2610"]);

/** `yes`, `no`, or null for a word that says neither. */
export function parseAnswer(text: string): "yes" | "no" | null {
  const word = normalizeWords(text);
  if (YES.has(word)) return "yes";
  if (NO.has(word)) return "no";
  const sign = text.trim().replace(/\uFE0F$/, "");
  if (TICKS.has(sign)) return "yes";
  return CROSSES.has(sign) ? "no" : null;
}

/** What a cell says of how the water is heated; null where it leaves it open. */
export type TechnologyWords = {
  readonly energy: "combustion" | "electric" | "heat-pump" | null;
  readonly form: "storage" | "instantaneous" | null;
  readonly variant: "plug-in" | "split" | "central" | null;
  readonly fuel: Fuel | null;
};

const NO_WORDS: TechnologyWords = { energy: null, form: null, variant: null, fuel: null };

const TECHNOLOGY_PATTERNS: readonly (readonly [RegExp, Partial<TechnologyWords>])[] = [
  [/\b(heat pump|heatpump|hpwh|hp|hybrid|ashp)\b/, { energy: "heat-pump" }],
  [/\b(natural gas|nat gas|ng|n g)\b/, { energy: "combustion", fuel: "natural-gas" }],
  [/\b(propane|lpg|lp|lp gas|l p)\b/, { energy: "combustion", fuel: "propane" }],
  [/\b(fuel oil|oil|oil fired)\b/, { energy: "combustion", fuel: "fuel-oil" }],
  [/\b(gas|gas fired|combustion)\b/, { energy: "combustion" }],
  [/\b(electric|electricity|electrical|elec|elect|resistance)\b/, { energy: "electric" }],
  [/\b(tankless|instantaneous|on demand|ondemand|instant|demand)\b/, { form: "instantaneous" }],
  [/\b(tank|storage|tank type)\b/, { form: "storage" }],
  [/\b(plug in|plugin|120 ?v|115 ?v|110 ?v|120 volts?)\b/, { variant: "plug-in" }],
  [/\b(split|split system)\b/, { variant: "split" }],
  [/\b(central|central plant|plant)\b/, { variant: "central" }],
];

/** Ways of heating water that the record does not hold: named rather than misread as a tank. */
const OTHER_TECHNOLOGY = /\b(boiler|indirect|solar|steam|district|geothermal|wood)\b/;

const TECHNOLOGY_OF_NAME: ReadonlyMap<string, Technology> = new Map(
  TECHNOLOGIES.flatMap((technology) => [
    [normalizeWords(technology), technology] as const,
    [normalizeWords(TECHNOLOGY_LABELS[technology]), technology] as const,
  ]),
);

/**
 * Reads words for a technology: `Gas`, `NG tank`, `Electric tankless`, `Hybrid`, `HPWH 120V`.
 *
 * @returns null when no word of it is known
 */
export function parseTechnologyWords(text: string): TechnologyWords | null {
  const words = normalizeWords(text);
  const named = TECHNOLOGY_OF_NAME.get(words);
  if (named) return wordsOfTechnology(named);
  if (OTHER_TECHNOLOGY.test(words)) return null;
  let found = NO_WORDS;
  for (const [pattern, meaning] of TECHNOLOGY_PATTERNS) {
    if (!pattern.test(words)) continue;
    // The first word wins, so that a "hybrid electric" is a heat pump.
    found = {
      energy: found.energy ?? meaning.energy ?? null,
      form: found.form ?? meaning.form ?? null,
      variant: found.variant ?? meaning.variant ?? null,
      fuel: found.fuel ?? meaning.fuel ?? null,
    };
  }
  return found === NO_WORDS ? null : found;
}

function wordsOfTechnology(technology: Technology): TechnologyWords {
  if (technology.startsWith("heat-pump")) {
    const variant = technology.slice("heat-pump-".length);
    return {
      energy: "heat-pump",
      form: "storage",
      variant: variant === "storage" ? null : (variant as TechnologyWords["variant"]),
      fuel: null,
    };
  }
  return {
    energy: technology.startsWith("gas") ? "combustion" : "electric",
    form: technology.endsWith("storage") ? "storage" : "instantaneous",
    variant: null,
    fuel: null,
  };
}

/** Reads words for a fuel. `Gas` alone is natural gas, as the trade says it (common practice, no source). */
export function parseFuel(text: string): Fuel | null {
  const words = normalizeWords(text);
  if (/\b(propane|lpg|lp|l p)\b/.test(words)) return "propane";
  if (/\boil\b/.test(words)) return "fuel-oil";
  if (/\b(gas|ng|n g|methane)\b/.test(words)) return "natural-gas";
  return /\b(electric|electricity|electrical|elec|elect)\b/.test(words) ? "electricity" : null;
}

const PLACE_PATTERNS: readonly (readonly [RegExp, Place])[] = [
  [
    /\b(exterior|outside|outdoor|balcony|patio|porch|breezeway)\b.*\b(closet|cabinet|enclosure)\b/,
    "exterior-closet",
  ],
  [/\b(closet|cupboard|cabinet)\b/, "interior-closet"],
  [/\b(exterior|outside|outdoor|balcony|patio)\b/, "exterior-closet"],
  [/\b(garage|carport)\b/, "garage"],
  [/\b(mechanical|mech|boiler|plant|pump)\b/, "mechanical-room"],
  [/\b(laundry|washer)\b/, "laundry"],
  [/\b(utility|util)\b/, "utility-room"],
  [/\b(kitchen|under sink|under counter)\b/, "kitchen"],
  [/\b(basement|cellar|crawl ?space)\b/, "basement"],
  [/\b(attic|loft)\b/, "attic"],
  [/\b(roof|rooftop)\b/, "roof"],
];

/** Reads words for where the heater stands; a place that has no name here is `other`. */
export function parsePlace(text: string): Place {
  const words = normalizeWords(text);
  const named = PLACE_OF_NAME.get(words);
  if (named) return named;
  return PLACE_PATTERNS.find(([pattern]) => pattern.test(words))?.[1] ?? "other";
}

const PLACE_OF_NAME = namesOf(PLACE_LABELS);

const EVIDENCE_PATTERNS: readonly (readonly [RegExp, InstallEvidence])[] = [
  [/\b(invoice|receipt|bill|purchase|work order|po)\b/, "invoice"],
  [/\bpermit\b/, "permit"],
  [/\b(serial|nameplate|rating plate|data plate|sticker|label)\b/, "serial-number"],
  [/\bwarranty\b/, "warranty-card"],
  [/\b(estimate|estimated|est|guess|staff|memory|approx|tenant)\b/, "staff-estimate"],
  [/\b(building age|original|year built|construction)\b/, "building-age"],
  [/\b(none|no evidence|no record)\b/, "none"],
];
const EVIDENCE_OF_NAME = namesOf(INSTALL_EVIDENCE_LABELS);

/** Reads words for what the install day rests on. */
export function parseEvidence(text: string): InstallEvidence | null {
  const words = normalizeWords(text);
  return (
    EVIDENCE_OF_NAME.get(words) ??
    EVIDENCE_PATTERNS.find(([pattern]) => pattern.test(words))?.[1] ??
    null
  );
}

const STATUS_PATTERNS: readonly (readonly [RegExp, HeaterStatus])[] = [
  [/\b(retired|removed|replaced|scrapped|disposed|inactive|out of service)\b/, "retired"],
  [/\b(in service|active|working|operating|operational|good|installed|ok)\b/, "in-service"],
];
const STATUS_OF_NAME = namesOf(HEATER_STATUS_LABELS);

export function parseStatus(text: string): HeaterStatus | null {
  const words = normalizeWords(text);
  return (
    STATUS_OF_NAME.get(words) ??
    STATUS_PATTERNS.find(([pattern]) => pattern.test(words))?.[1] ??
    null
  );
}

const CAUSE_PATTERNS: readonly (readonly [RegExp, RetirementCause])[] = [
  [/\b(leak|leaked|leaking|leaky|burst|rupture)\b/, "leak"],
  [/\b(no heat|no hot water|cold|element|burner|control|compressor)\b/, "no-heat"],
  [/\b(planned|upgrade|proactive|scheduled|renovation|remodel|age|old)\b/, "planned"],
  [/\b(damage|damaged|flood|fire|freeze|frozen|vandalism|accident)\b/, "damage"],
  [/\bother\b/, "other"],
];
const CAUSE_OF_NAME = namesOf(RETIREMENT_CAUSE_LABELS);

/** Reads words for why a heater left service. */
export function parseCause(text: string): RetirementCause | null {
  const words = normalizeWords(text);
  return (
    CAUSE_OF_NAME.get(words) ?? CAUSE_PATTERNS.find(([pattern]) => pattern.test(words))?.[1] ?? null
  );
}

/** Floor numbers as buildings name them; the ground floor is 1, as in the United States. */
export function parseFloorWord(text: string): number | null {
  const words = text
    .toLowerCase()
    .replace(/^(floor|fl\.?|level|lvl\.?)\s*#?\s*|\s*(floor|fl\.?|level)$/g, "")
    .trim();
  if (/^[+-]?\d{1,3}$/.test(words)) return Number(words);
  const ordinal = /^(\d{1,3})(st|nd|rd|th)$/.exec(words);
  if (ordinal) return Number(ordinal[1]);
  if (/^(g|gf|ground|main|lobby|first)$/.test(words)) return 1;
  const below = /^b(\d)?$/.exec(words);
  if (below) return -Number(below[1] ?? 1);
  return words === "basement" || words === "cellar" ? -1 : null;
}

function namesOf<T extends string>(labels: Readonly<Record<T, string>>): ReadonlyMap<string, T> {
  const names = new Map<string, T>();
  for (const [code, label] of Object.entries(labels) as [T, string][]) {
    names.set(normalizeWords(code), code);
    names.set(normalizeWords(label), code);
  }
  return names;
}
