import { z } from "zod";
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
export type SourcedText = z.output<typeof sourced>;

export const optionFormSchema = z.object({
  name: text.trim().min(1, "Give the option a name.").max(80, "Keep the name to 80 characters."),
  isActive: z.boolean(),
  costs: z.partialRecord(
    z.enum(COST_PARTS),
    z.object({ low: text, likely: text, high: text, evidence: z.enum(EVIDENCE), source: text }),
  ),
  uniformEnergyFactor: sourced,
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
      validTo: text,
      source: text,
    }),
  ),
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
  return {
    name,
    isActive,
    costs: Object.fromEntries(
      COST_PARTS.flatMap((part) => {
        const range = terms.costs[part];
        if (!range) return [];
        const { lowCents, likelyCents, highCents, evidence, source } = range;
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
    ),
    uniformEnergyFactor: words(terms.uniformEnergyFactor),
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
      validTo: incentive.validTo ?? "",
      source: incentive.source,
    })),
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

  const costs: { -readonly [K in keyof OptionTerms["costs"]]: OptionTerms["costs"][K] } = {};
  for (const part of COST_PARTS) {
    const given = form.costs[part];
    const was = before.costs[part];
    if (!given || !was) continue;
    const at = `costs.${part}`;
    const range = {
      lowCents: cents(`${at}.low`, given.low, "The low cost"),
      likelyCents: cents(`${at}.likely`, given.likely, "The likely cost"),
      highCents: cents(`${at}.high`, given.high, "The high cost"),
    };
    if (range.lowCents > range.likelyCents || range.likelyCents > range.highCents) {
      problems.push({
        path: `${at}.likely`,
        message: "Low, likely and high must be in order: low at most likely, likely at most high.",
      });
    }
    const isChanged =
      range.lowCents !== was.lowCents ||
      range.likelyCents !== was.likelyCents ||
      range.highCents !== was.highCents;
    costs[part] = { ...range, ...owned(isChanged, given, was) };
  }
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
  const terms = {
    ...before,
    costs,
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
      return {
        programme: incentive.programme.trim(),
        cents: cents(`${at}.dollars`, incentive.dollars, "The incentive"),
        maximumShare: share / 100,
        validTo: incentive.validTo === "" ? null : incentive.validTo,
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
