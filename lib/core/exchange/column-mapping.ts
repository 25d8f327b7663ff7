import { z } from "zod";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { normalizeHeading } from "./cell-words";
import { HEATER_FIELDS, type HeaterField, heaterColumn } from "./heater-columns";
import type { DateOrder } from "./parse-date";
import { UNIT_CODES, UNITS, type UnitCode } from "./quantities";
import { createCellReader } from "./read-cell";

/** Headings of the two columns in front of the refused rows that are handed back. */
export const REFUSAL_HEADINGS = ["File row", "Why refused"] as const;

/** What one column of the file is read as. */
export type ColumnMatch = {
  readonly field: HeaterField;
  /** Unit of numbers that name none; null takes the field's own. */
  readonly unit: UnitCode | null;
  readonly dateOrder: DateOrder | null;
  /** An empty cell repeats the one above it. */
  readonly fillDown: boolean;
};

/** Which column is read as what; `matches[i]` is for column `i`, null leaves it out. */
export type ColumnMapping = {
  readonly matches: readonly (ColumnMatch | null)[];
  /** Values for every row that has none of its own: a file of one property need not name it. */
  readonly constants: Readonly<Partial<Record<HeaterField, string>>>;
};

const LONGEST_CONSTANT = 200;

/** A mapping as a form sends it. */
export const columnMappingSchema: z.ZodType<ColumnMapping> = z.strictObject({
  matches: z
    .array(
      z
        .strictObject({
          field: z.enum(HEATER_FIELDS),
          unit: z.enum(UNIT_CODES).nullable(),
          dateOrder: z.enum(["mdy", "dmy"]).nullable(),
          fillDown: z.boolean(),
        })
        .nullable(),
    )
    .max(500),
  constants: z.partialRecord(
    z.enum(HEATER_FIELDS),
    z.string().max(LONGEST_CONSTANT, `at most ${LONGEST_CONSTANT} characters`),
  ),
});

const REFUSAL_KEYS: readonly string[] = REFUSAL_HEADINGS.map(normalizeHeading);

/**
 * Fingerprint of a file's headings, under which a mapping made by hand is remembered. Order, case,
 * signs and units in brackets do not change it, nor do the columns of a file of refused rows that
 * name each row and its reason. Not a secure hash.
 */
export function headerSignature(headers: readonly string[]): string {
  const text = headers
    .map(normalizeHeading)
    .filter((key) => key !== "" && !REFUSAL_KEYS.includes(key))
    .sort()
    .join("\u001F");
  return fowlerNollVo(text, 0x811c9dc5) + fowlerNollVo(text, 0x01000193);
}

/** A mapping without the file's column order, to be kept under the file's signature. */
export type RememberedMapping = {
  readonly matches: Readonly<Record<string, ColumnMatch | null>>;
  readonly constants: ColumnMapping["constants"];
};

/** A mapping as it is remembered: by heading. Columns of one heading are remembered as the first. */
export function rememberMapping(
  headers: readonly string[],
  mapping: ColumnMapping,
): RememberedMapping {
  const matches: Record<string, ColumnMatch | null> = {};
  headers.forEach((header, index) => {
    const key = normalizeHeading(header);
    if (key && !Object.hasOwn(matches, key)) matches[key] = mapping.matches[index] ?? null;
  });
  return { matches, constants: mapping.constants };
}

/** A remembered mapping on a file that has the same headings, in whatever order. */
export function recallMapping(
  headers: readonly string[],
  remembered: RememberedMapping,
): ColumnMapping {
  const taken = new Set<HeaterField>();
  const matches = headers.map((header) => {
    const key = normalizeHeading(header);
    const match = Object.hasOwn(remembered.matches, key) ? remembered.matches[key] : null;
    if (!match || taken.has(match.field)) return null;
    taken.add(match.field);
    return match;
  });
  return { matches, constants: remembered.constants };
}

/**
 * Everything that keeps a mapping from being used, or the mapping itself.
 * @param todayYear the year by which two-digit years in a value for all rows are told
 */
export function checkMapping(mapping: ColumnMapping, todayYear: number): Outcome<ColumnMapping> {
  const problems: Problem[] = [];
  const columnOf = new Map<HeaterField, number>();
  mapping.matches.forEach((match, index) => {
    if (!match) return;
    const column = heaterColumn(match.field);
    const earlier = columnOf.get(match.field);
    if (earlier === undefined) columnOf.set(match.field, index);
    else {
      problems.push({
        path: `columns[${index}]`,
        message: `columns ${earlier + 1} and ${index + 1} are both matched to ${column.label}; leave one out`,
      });
    }
    if (match.unit !== null && UNITS[match.unit].quantity !== column.quantity) {
      problems.push({
        path: `columns[${index}]`,
        message: `${column.label} is not measured in ${UNITS[match.unit].label}`,
      });
    }
  });
  problems.push(...checkConstants(mapping, todayYear));
  const has = (field: HeaterField) =>
    columnOf.has(field) || (mapping.constants[field] ?? "").trim() !== "";
  if (!has("tag") && !(has("property") && has("unit"))) {
    problems.push({
      path: "columns",
      message:
        "match a column to Tag, or columns to Property and Unit from which a tag can be made",
    });
  }
  return problems.length > 0 ? failure(...problems) : success(mapping);
}

/** A value for every row that cannot be read would refuse every row: it is refused at once. */
function checkConstants({ constants }: ColumnMapping, todayYear: number): readonly Problem[] {
  return HEATER_FIELDS.flatMap((field) => {
    const text = constants[field]?.trim() ?? "";
    if (text === "") return [];
    const options = { unit: null, dateOrder: "mdy", todayYear, uses1904: false } as const;
    const reading = createCellReader(heaterColumn(field), options)(text);
    return "problem" in reading
      ? [{ path: `constants.${field}`, message: `for every row: ${reading.problem}` }]
      : [];
  });
}

/** The 32-bit Fowler-Noll-Vo 1a hash over UTF-16 units, as eight hexadecimal digits. */
function fowlerNollVo(text: string, offset: number): string {
  let hash = offset;
  for (let index = 0; index < text.length; index += 1) {
    hash = Math.imul(hash ^ text.charCodeAt(index), 0x01000193);
  }
  return (hash >>> 0).toString(16).padStart(8, "0");
}
