import { z } from "zod";
import { type ConsequenceAssumptions, DEFAULT_CONSEQUENCES } from "@/lib/core/survival/consequence";
import { optionalText, requiredNumber } from "./settings-fields";

export type ConsequenceKey = keyof ConsequenceAssumptions;

/** How a value is entered: dollars are kept as cents, percent as a share. */
export type EntryKind = "dollars" | "percent" | "days";

/** An assumption as a person sees and edits it. */
export type ConsequenceField = {
  readonly key: ConsequenceKey;
  readonly label: string;
  /** What it is for, in a sentence. */
  readonly meaning: string;
  readonly kind: EntryKind;
  readonly unit: string;
  /** Largest value that may be entered, in the unit of entry. */
  readonly most: number;
};

/** The assumptions behind expected loss, in the order of the formula. */
export const CONSEQUENCE_FIELDS: readonly ConsequenceField[] = [
  field(
    "plannedSwapCents",
    "Planned swap",
    "A like-for-like swap arranged ahead.",
    "dollars",
    "dollars",
    100_000,
  ),
  field(
    "emergencySwapCents",
    "Emergency swap",
    "The same swap on the day of failure; what it costs more than a planned one is the emergency premium.",
    "dollars",
    "dollars",
    100_000,
  ),
  field(
    "leakShare",
    "Failures that leak",
    "The rest only stop heating.",
    "percent",
    "% of failures",
    100,
  ),
  field(
    "damageFinishedCents",
    "Damage over finished rooms",
    "A leak that runs into floors, ceilings or the home below.",
    "dollars",
    "dollars",
    500_000,
  ),
  field(
    "damageElsewhereCents",
    "Damage elsewhere",
    "A leak where nothing finished is below.",
    "dollars",
    "dollars",
    500_000,
  ),
  field(
    "remainsWithPan",
    "Damage left with a drained pan",
    "Share of the damage that still happens.",
    "percent",
    "% of the damage",
    100,
  ),
  field(
    "remainsWithShutoff",
    "Damage left with a leak shut-off",
    "Share of the damage that still happens.",
    "percent",
    "% of the damage",
    100,
  ),
  field(
    "daysWithoutHotWater",
    "Days without hot water",
    "From the failure to the new heater.",
    "days",
    "days",
    60,
  ),
  field(
    "dailyCostPerHomeCents",
    "Cost of a day without hot water",
    "Rent credit, lodging and staff time.",
    "dollars",
    "dollars per home and day",
    2_000,
  ),
];

function field(
  key: ConsequenceKey,
  label: string,
  meaning: string,
  kind: EntryKind,
  unit: string,
  most: number,
): ConsequenceField {
  return { key, label, meaning, kind, unit, most };
}

export function consequenceField(key: ConsequenceKey): ConsequenceField {
  const found = CONSEQUENCE_FIELDS.find((one) => one.key === key);
  if (!found) throw new RangeError(`key must name an assumption, got ${key}`);
  return found;
}

/** The organisation's own values, as stored; a key that is absent is assumed. */
const ownValue = z.object({
  /** In the unit of the assumption: cents, share or days. */
  value: z.number().min(0),
  /** Where the person has it from. */
  source: z.string(),
});
export type OwnConsequences = Readonly<Partial<Record<ConsequenceKey, z.output<typeof ownValue>>>>;

/** Reads what is stored; a value that cannot be read counts as not entered. */
export function readOwnConsequences(stored: unknown): OwnConsequences {
  const own: Partial<Record<ConsequenceKey, z.output<typeof ownValue>>> = {};
  const record = z.record(z.string(), z.unknown()).safeParse(stored);
  if (!record.success) return own;
  for (const { key } of CONSEQUENCE_FIELDS) {
    const parsed = ownValue.safeParse(record.data[key]);
    if (parsed.success) own[key] = parsed.data;
  }
  return own;
}

/** The assumptions in force: the organisation's own where entered, the defaults elsewhere. */
export function resolveConsequences(own: OwnConsequences): ConsequenceAssumptions {
  const resolved: ConsequenceAssumptions = { ...DEFAULT_CONSEQUENCES };
  return Object.fromEntries(
    CONSEQUENCE_FIELDS.map(({ key }) => {
      const entered = own[key];
      const standing = resolved[key];
      return [
        key,
        entered === undefined
          ? standing
          : {
              value: entered.value,
              unit: standing.unit,
              source: entered.source === "" ? "entered here" : entered.source,
              evidence: "entered" as const,
            },
      ];
    }),
  ) as ConsequenceAssumptions;
}

/** A stored value as it is typed: cents as dollars, a share as percent. */
export function toEntry(kind: EntryKind, value: number): number {
  switch (kind) {
    case "dollars":
      return value / 100;
    case "percent":
      return Math.round(value * 10_000) / 100;
    case "days":
      return value;
  }
}

function fromEntry(kind: EntryKind, entry: number): number {
  switch (kind) {
    case "dollars":
      return Math.round(entry * 100);
    case "percent":
      return entry / 100;
    case "days":
      return entry;
  }
}

/** What a form sends for one assumption; the value comes out in cents, as a share or in days. */
export const consequenceEntrySchema = z
  .object({
    key: z.enum(CONSEQUENCE_FIELDS.map(({ key }) => key) as [ConsequenceKey, ...ConsequenceKey[]]),
    entry: z.string().default(""),
    source: optionalText(300),
  })
  .transform(({ key, entry, source }, context) => {
    const { kind, most } = consequenceField(key);
    const read = requiredNumber({ least: 0, most }).safeParse(entry);
    if (!read.success) {
      for (const { message } of read.error.issues) {
        context.addIssue({ code: "custom", path: ["entry"], message });
      }
      return z.NEVER;
    }
    return { key, value: fromEntry(kind, read.data), source: source ?? "" };
  });
export type ConsequenceEntry = z.output<typeof consequenceEntrySchema>;

/**
 * Whether the values make sense together: an emergency swap cannot be cheaper than a planned one, nor
 * damage over finished rooms less than elsewhere.
 * @returns what is wrong, or null.
 */
export function checkConsequences(assumptions: ConsequenceAssumptions): string | null {
  if (assumptions.emergencySwapCents.value < assumptions.plannedSwapCents.value) {
    return "An emergency swap cannot cost less than a planned one: change the other value first.";
  }
  if (assumptions.damageFinishedCents.value < assumptions.damageElsewhereCents.value) {
    return "Damage over finished rooms cannot be less than elsewhere: change the other value first.";
  }
  return null;
}
