import { z } from "zod";
import { REFRIGERANTS } from "@/lib/core/emissions/factors";
import { READINESS_ITEMS } from "@/lib/core/heaters/vocabulary";
import { COST_PARTS, type OptionTerms, optionTermsSchema } from "@/lib/core/planning/options";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";

/**
 * An option of the catalogue as a person edits it: dollars as texts. The same rules run in the
 * browser and on the server.
 */

const EVIDENCE = ["published", "quoted", "trade", "memory", "assumed", "entered"] as const;

export const EVIDENCE_LABELS: Readonly<Record<(typeof EVIDENCE)[number], string>> = {
  published: "Published",
  quoted: "Quoted",
  trade: "Common practice",
  memory: "From memory",
  assumed: "Assumed",
  entered: "Our own",
};

const text = z.string();
const sourced = z.object({ value: text, evidence: z.enum(EVIDENCE), source: text });
const range = z.object({
  low: text,
  likely: text,
  high: text,
  evidence: z.enum(EVIDENCE),
  source: text,
});
export type SourcedText = z.output<typeof sourced>;

export const optionFormSchema = z.object({
  name: text.trim().min(1, "Give the option a name.").max(80, "Keep the name to 80 characters."),
  isActive: z.boolean(),
  costs: z.partialRecord(z.enum(COST_PARTS), range),
  /** What a shared plant adds for every home; null for an option of one home. */
  perHome: z
    .object({
      costs: z.partialRecord(z.enum(COST_PARTS), range),
      volumeGal: text,
      crewHours: text,
      circuitLoad: text,
      maintenanceDollars: text,
    })
    .nullable(),
  /** Rated storage; empty for an option without a tank. */
  volumeGal: text,
  /** New 240 V circuits that it takes of the building's headroom. */
  circuitLoad: text,
  /** Empty: it holds none. */
  refrigerantType: z.union([z.literal(""), z.enum(REFRIGERANTS)], "Choose a refrigerant."),
  refrigerantKg: sourced,
  /** What its place must offer. */
  requiredReadiness: z.array(z.enum(READINESS_ITEMS)),
  uniformEnergyFactor: sourced,
  /** Gallons; empty where only storage and input are known. */
  firstHourGal: sourced,
  /** Real change of its cost a year in percent; empty follows the scenario. */
  escalationPercent: sourced,
  crewHours: sourced,
  expectedLifeYears: sourced,
  maintenanceDollars: sourced,
  validFrom: text,
  validTo: text,
  incentives: z.array(
    z.object({
      programme: text,
      dollars: text,
      maximumSharePercent: text,
      validFrom: text,
      validTo: text,
      /** The most that the programme pays for all swaps together; empty for no cap. */
      programmeCapDollars: text,
      source: text,
    }),
  ),
  policyDates: z.array(z.object({ notFrom: text, rule: text, source: text })),
});
export type OptionFormValues = z.output<typeof optionFormSchema>;

export function formOfOption(
  name: string,
  isActive: boolean,
  terms: OptionTerms,
): OptionFormValues {
  const dollars = (cents: number) => String(cents / 100);
  const words = (value: { value: number; evidence: OptionEvidence; source: string }) => ({
    ...value,
    value: String(value.value),
  });
  const maybe = (value: OptionTerms["firstHourGal"], scale = 1) =>
    value
      ? { ...value, value: String(Math.round(value.value * scale * 1e6) / 1e6) }
      : { value: "", evidence: "assumed" as const, source: "" };
  const costTexts = (costs: OptionTerms["costs"]) =>
    Object.fromEntries(
      COST_PARTS.flatMap((part) => {
        const cost = costs[part];
        if (!cost) return [];
        const { lowCents, likelyCents, highCents, evidence, source } = cost;
        return [
          [
            part,
            {
              low: dollars(lowCents),
              likely: dollars(likelyCents),
              high: dollars(highCents),
              evidence,
              source,
            },
          ],
        ];
      }),
    );
  const { perHome } = terms;
  return {
    name,
    isActive,
    costs: costTexts(terms.costs),
    perHome: perHome
      ? {
          costs: costTexts(perHome.costs),
          volumeGal: String(perHome.volumeGal),
          crewHours: String(perHome.crewHours),
          circuitLoad: String(perHome.circuitLoad),
          maintenanceDollars: dollars(perHome.maintenanceCentsPerYear),
        }
      : null,
    volumeGal: terms.volumeGal === null ? "" : String(terms.volumeGal),
    circuitLoad: String(terms.circuitLoad),
    refrigerantType: REFRIGERANTS.find((type) => type === terms.refrigerant?.type) ?? "",
    refrigerantKg: maybe(terms.refrigerant?.chargeKg),
    requiredReadiness: terms.requiredReadiness,
    uniformEnergyFactor: words(terms.uniformEnergyFactor),
    firstHourGal: maybe(terms.firstHourGal),
    escalationPercent: maybe(terms.escalationPerYear, 100),
    crewHours: words(terms.crewHours),
    expectedLifeYears: words(terms.expectedLifeYears),
    maintenanceDollars: {
      ...terms.maintenanceCentsPerYear,
      value: dollars(terms.maintenanceCentsPerYear.value),
    },
    validFrom: terms.validFrom ?? "",
    validTo: terms.validTo ?? "",
    incentives: terms.incentives.map((incentive) => ({
      programme: incentive.programme,
      dollars: dollars(incentive.cents),
      maximumSharePercent: String(Math.round(incentive.maximumShare * 1e4) / 100),
      validFrom: incentive.validFrom ?? "",
      validTo: incentive.validTo ?? "",
      programmeCapDollars:
        incentive.programmeCapCents === null || incentive.programmeCapCents === undefined
          ? ""
          : dollars(incentive.programmeCapCents),
      source: incentive.source,
    })),
    policyDates: (terms.policyDates ?? []).map((each) => ({ ...each })),
  };
}

type OptionEvidence = (typeof EVIDENCE)[number];

/**
 * Reads the form over the terms that are stored. A number that was changed without saying what it
 * rests on becomes the organisation's own.
 */
export function readOptionForm(
  input: unknown,
  before: OptionTerms,
): Outcome<{ readonly name: string; readonly isActive: boolean; readonly terms: OptionTerms }> {
  const parsed = parseWith(optionFormSchema, input);
  if (!parsed.ok) return parsed;
  const form = parsed.value;
  const problems: Problem[] = [];
  const number = (path: string, given: string, what: string, { above = false } = {}): number => {
    const plain = given.replace(/[$,%\s]/g, "");
    const value = /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : Number.NaN;
    if (plain === "") problems.push({ path, message: `${what} is missing.` });
    else if (Number.isNaN(value)) problems.push({ path, message: `"${given}" is not a number.` });
    else if (value < 0) problems.push({ path, message: `${what} cannot be negative.` });
    else if (above && value === 0) problems.push({ path, message: `${what} must be above 0.` });
    return value;
  };
  const cents = (path: string, given: string, what: string) =>
    Math.round(number(path, given, what) * 100);
  const owned = <T extends { evidence: OptionEvidence; source: string }>(
    changed: boolean,
    given: T,
    was: { readonly evidence: OptionEvidence; readonly source: string } | undefined,
  ) =>
    changed && was && given.evidence === was.evidence && given.source === was.source
      ? { evidence: "entered" as const, source: "our own figure" }
      : { evidence: given.evidence, source: given.source.trim() };

  type Costs = { -readonly [K in keyof OptionTerms["costs"]]: OptionTerms["costs"][K] };
  const readCosts = (
    at: string,
    given: OptionFormValues["costs"],
    was: OptionTerms["costs"],
  ): Costs => {
    const costs: Costs = {};
    for (const part of COST_PARTS) {
      const typed = given[part];
      if (!typed) continue;
      const path = `${at}.${part}`;
      const earlier = was[part];
      const read = {
        lowCents: cents(`${path}.low`, typed.low, "The low cost"),
        likelyCents: cents(`${path}.likely`, typed.likely, "The likely cost"),
        highCents: cents(`${path}.high`, typed.high, "The high cost"),
      };
      if (read.lowCents > read.likelyCents || read.likelyCents > read.highCents) {
        problems.push({
          path: `${path}.likely`,
          message:
            "Low, likely and high must be in order: low at most likely, likely at most high.",
        });
      }
      const isChanged =
        read.lowCents !== earlier?.lowCents ||
        read.likelyCents !== earlier.likelyCents ||
        read.highCents !== earlier.highCents;
      costs[part] = { ...read, ...owned(isChanged, typed, earlier) };
    }
    return costs;
  };
  const costs = readCosts("costs", form.costs, before.costs);
  const perHome = form.perHome && {
    costs: readCosts("perHome.costs", form.perHome.costs, before.perHome?.costs ?? {}),
    volumeGal: number("perHome.volumeGal", form.perHome.volumeGal, "The storage a home"),
    crewHours: number("perHome.crewHours", form.perHome.crewHours, "The crew hours a home"),
    circuitLoad: number("perHome.circuitLoad", form.perHome.circuitLoad, "The circuits a home"),
    maintenanceCentsPerYear: cents(
      "perHome.maintenanceDollars",
      form.perHome.maintenanceDollars,
      "The upkeep a home",
    ),
  };
  const optional = (
    path: "firstHourGal" | "escalationPercent",
    what: string,
    was: OptionTerms["firstHourGal"],
    read: (given: string) => number,
  ) => {
    const given = form[path];
    if (given.value.trim() === "") return undefined;
    const amount = read(given.value);
    if (Number.isNaN(amount)) {
      problems.push({ path: `${path}.value`, message: `"${given.value}" is not ${what}.` });
    }
    return { value: amount, ...owned(amount !== was?.value, given, was) };
  };
  const firstHourGal = optional("firstHourGal", "a number above 0", before.firstHourGal, (given) =>
    Number(given) > 0 ? Number(given) : Number.NaN,
  );
  const escalationPerYear = optional(
    "escalationPercent",
    "a percentage between -50 and 100",
    before.escalationPerYear,
    (given) => {
      const percent = Number(given.replace(/[%\s]/g, "").replace("−", "-"));
      return percent > -50 && percent <= 100 ? Math.round(percent * 1e4) / 1e6 : Number.NaN;
    },
  );
  const value = (
    path: "uniformEnergyFactor" | "crewHours" | "expectedLifeYears" | "maintenanceDollars",
    what: string,
    was: OptionTerms["crewHours"],
    scale = 1,
  ) => {
    const given = form[path];
    const above = path !== "crewHours" && path !== "maintenanceDollars";
    const amount = number(`${path}.value`, given.value, what, { above }) * scale;
    return { value: amount, ...owned(amount !== was.value, given, was) };
  };
  const refrigerantOf = (): OptionTerms["refrigerant"] => {
    const { refrigerantType: type, refrigerantKg: given } = form;
    if (type === "") return null;
    const kilograms = number("refrigerantKg.value", given.value, "The charge");
    const was = before.refrigerant?.chargeKg;
    return {
      type,
      chargeKg: { value: kilograms, ...owned(kilograms !== was?.value, given, was) },
    };
  };
  const {
    perHome: _perHome,
    firstHourGal: _firstHour,
    escalationPerYear: _escalation,
    policyDates: _policies,
    ...rest
  } = before;
  const policyDates = form.policyDates.map((policy, index) => {
    const at = `policyDates[${index}]`;
    if (policy.notFrom === "") problems.push({ path: `${at}.notFrom`, message: "Enter the day." });
    if (policy.rule.trim() === "") problems.push({ path: `${at}.rule`, message: "Name the rule." });
    return {
      notFrom: policy.notFrom,
      rule: policy.rule.trim(),
      source: policy.source.trim(),
    };
  });
  const terms = {
    ...rest,
    // A key that says nothing is left out, as in a catalogue stored before it existed.
    ...(perHome && { perHome }),
    ...(firstHourGal && { firstHourGal }),
    ...(escalationPerYear && { escalationPerYear }),
    ...((policyDates.length > 0 || before.policyDates) && { policyDates }),
    costs,
    volumeGal:
      form.volumeGal.trim() === ""
        ? null
        : number("volumeGal", form.volumeGal, "The storage", { above: true }),
    circuitLoad: number("circuitLoad", form.circuitLoad, "The new circuits"),
    refrigerant: refrigerantOf(),
    // What was required keeps its order, so that the same choice is the same record.
    requiredReadiness: before.requiredReadiness
      .filter((item) => form.requiredReadiness.includes(item))
      .concat(
        READINESS_ITEMS.filter(
          (item) =>
            form.requiredReadiness.includes(item) && !before.requiredReadiness.includes(item),
        ),
      ),
    uniformEnergyFactor: value(
      "uniformEnergyFactor",
      "The uniform energy factor",
      before.uniformEnergyFactor,
    ),
    crewHours: value("crewHours", "Crew hours", before.crewHours),
    expectedLifeYears: value("expectedLifeYears", "The expected life", before.expectedLifeYears),
    maintenanceCentsPerYear: value(
      "maintenanceDollars",
      "Yearly upkeep",
      before.maintenanceCentsPerYear,
      100,
    ),
    validFrom: form.validFrom === "" ? null : form.validFrom,
    validTo: form.validTo === "" ? null : form.validTo,
    incentives: form.incentives.map((incentive, index) => {
      const at = `incentives[${index}]`;
      const share = number(`${at}.maximumSharePercent`, incentive.maximumSharePercent, "The share");
      if (share > 100) {
        problems.push({ path: `${at}.maximumSharePercent`, message: "At most 100 %." });
      }
      if (incentive.programme.trim() === "") {
        problems.push({ path: `${at}.programme`, message: "Name the programme." });
      }
      const isKnown = before.incentives.find(({ programme }) => programme === incentive.programme);
      const { validFrom, validTo, programmeCapDollars } = incentive;
      if (validFrom !== "" && validTo !== "" && validFrom > validTo) {
        problems.push({
          path: `${at}.validTo`,
          message: "The last day is before the first day.",
        });
      }
      return {
        programme: incentive.programme.trim(),
        cents: cents(`${at}.dollars`, incentive.dollars, "The incentive"),
        maximumShare: share / 100,
        ...((validFrom !== "" || isKnown?.validFrom !== undefined) && {
          validFrom: validFrom === "" ? null : validFrom,
        }),
        validTo: validTo === "" ? null : validTo,
        ...((programmeCapDollars.trim() !== "" || isKnown?.programmeCapCents !== undefined) && {
          programmeCapCents:
            programmeCapDollars.trim() === ""
              ? null
              : cents(`${at}.programmeCapDollars`, programmeCapDollars, "The cap"),
        }),
        evidence: isKnown?.evidence ?? ("entered" as const),
        source: incentive.source.trim(),
      };
    }),
  };
  if (terms.validFrom !== null && terms.validTo !== null && terms.validFrom > terms.validTo) {
    problems.push({ path: "validTo", message: "The last day is before the first day." });
  }
  if (problems.length > 0) return failure(...problems);
  const checked = parseWith(optionTermsSchema, terms);
  if (!checked.ok) return checked;
  return success({ name: form.name, isActive: form.isActive, terms: checked.value });
}
