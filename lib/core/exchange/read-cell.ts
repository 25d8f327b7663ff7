import type {
  Fuel,
  HeaterStatus,
  InstallEvidence,
  Place,
  RetirementCause,
} from "@/lib/core/heaters/vocabulary";
import {
  isUnknownWord,
  parseAnswer,
  parseCause,
  parseEvidence,
  parseFloorWord,
  parseFuel,
  parsePlace,
  parseStatus,
  parseTechnologyWords,
  type TechnologyWords,
} from "./cell-words";
import { restoreFormula } from "./csv";
import type { CellKind, HeaterColumn } from "./heater-columns";
import { type DateBracket, type DateOrder, ORDER_WORDS, parseDate } from "./parse-date";
import { type Measured, parseMeasured } from "./parse-number";
import { UNITS, type UnitCode } from "./quantities";

/** What a cell of each kind holds once read; null is "not known". */
export type CellValues = {
  readonly text: string;
  readonly number: number;
  readonly floor: number;
  readonly date: DateBracket;
  readonly answer: "yes" | "no";
  readonly technology: TechnologyWords;
  readonly fuel: Fuel;
  readonly evidence: InstallEvidence;
  readonly place: Place;
  readonly status: HeaterStatus;
  readonly cause: RetirementCause;
};

/** A number whose unit the row decides. */
export type CellValue = CellValues[CellKind] | Measured;

export type CellReading =
  | { readonly value: CellValue | null }
  /** What is wrong, to follow `row 41: `. */
  | { readonly problem: string };

export type CellOptions = {
  /** Unit of a number that names none; null takes the column's own. */
  readonly unit: UnitCode | null;
  readonly dateOrder: DateOrder;
  readonly todayYear: number;
  readonly uses1904: boolean;
};

export type CellReader = (text: string) => CellReading;

const UNKNOWN: CellReading = { value: null };
const SPREADSHEET_ERROR = /^#(REF!|VALUE!|NAME\?|DIV\/0!|NUM!|NULL!|SPILL!|CALC!)$/;
/** C0 and C1 controls, lone surrogates, direction overrides, and the byte order mark. */
const FORBIDDEN_CHARACTER =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
  /[\u0000-\u0008\u000B\u000C\u000E-\u001F\u007F-\u009F\u202A-\u202E\u2066-\u2069\uFEFF]|[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/;
const LINE_BREAKS_AND_SPACES = /[\s\u00A0]+/g;
const NEEDS_SPACE_CARE = /^\s|\s$|\s\s|[\t\r\n\u00A0\u2000-\u200B\u202F\u3000]/;

/** Texts of a column that are remembered with their reading: most columns repeat a few. */
const REMEMBERED_READINGS = 4096;

const MOSTLY_DIFFERENT: ReadonlySet<string> = new Set(["tag", "serial", "notes"]);

/** A reader of a column's cells, made once for the column. */
export function createCellReader(column: HeaterColumn, options: CellOptions): CellReader {
  const read = readerOfKind(column, options);
  if (MOSTLY_DIFFERENT.has(column.field)) return (text) => readGuarded(text, column, read);
  const remembered = new Map<string, CellReading>();
  return (text) => {
    const known = remembered.get(text);
    if (known) return known;
    const reading = readGuarded(text, column, read);
    if (remembered.size < REMEMBERED_READINGS && text.length <= 80) remembered.set(text, reading);
    return reading;
  };
}

function readGuarded(text: string, column: HeaterColumn, read: CellReader): CellReading {
  if (text === "") return UNKNOWN;
  if (FORBIDDEN_CHARACTER.test(text)) {
    return { problem: `${column.noun} holds a control character that cannot be kept` };
  }
  const isNote = column.field === "notes";
  const tidy = isNote
    ? text.trim().replace(/\r\n?/g, "\n")
    : NEEDS_SPACE_CARE.test(text)
      ? text.replace(LINE_BREAKS_AND_SPACES, " ").trim()
      : text;
  if (isUnknownWord(tidy)) return UNKNOWN;
  if (tidy.startsWith("#") && SPREADSHEET_ERROR.test(tidy)) {
    return { problem: `${column.noun} holds the spreadsheet error ${tidy}` };
  }
  return read(tidy);
}

function readerOfKind(column: HeaterColumn, options: CellOptions): CellReader {
  switch (column.kind) {
    case "text":
      return (text) => readText(text, column);
    case "number":
      return (text) => readNumber(text, column, options);
    case "floor":
      return (text) => inRange(parseFloorWord(text) ?? parseMeasured(text, null), text, column);
    case "date":
      return (text) => readDate(text, column, options);
    case "answer":
      return wordReader(column, parseAnswer, "yes or no");
    case "technology":
      return wordReader(
        column,
        parseTechnologyWords,
        "gas, electric or heat pump, tank or tankless",
      );
    case "fuel":
      return wordReader(column, parseFuel, "natural gas, propane, fuel oil or electricity");
    case "evidence":
      return wordReader(
        column,
        parseEvidence,
        "invoice, permit, serial number, warranty card, staff estimate, building age or none",
      );
    case "place":
      return (text) => ({ value: parsePlace(text) });
    case "status":
      return wordReader(column, parseStatus, "in service or retired");
    case "cause":
      return wordReader(column, parseCause, "leak, no heat, planned, damage or other");
  }
}

function readText(text: string, column: HeaterColumn): CellReading {
  const value = restoreFormula(text);
  const longest = column.maxLength ?? 200;
  if (value.length > longest) {
    return {
      problem: `${column.noun} has ${value.length} characters; at most ${longest} are kept`,
    };
  }
  return { value };
}

function readNumber(text: string, column: HeaterColumn, options: CellOptions): CellReading {
  const parsed = parseMeasured(text, column.quantity ?? null);
  if (typeof parsed === "string") return { problem: `${column.noun} ${quote(text)} ${parsed}` };
  if (parsed.value === 0 && column.zeroIsUnknown) return UNKNOWN;
  const unit = parsed.unit ?? options.unit ?? column.unit ?? null;
  if (column.quantity === "power") return { value: { value: parsed.value, unit } };
  return inRange(unit ? UNITS[unit].toRecord(parsed.value) : parsed.value, text, column);
}

function inRange(
  value: number | Measured | string | null,
  text: string,
  column: HeaterColumn,
): CellReading {
  const number = value !== null && typeof value === "object" ? value.value : value;
  if (typeof number !== "number")
    return { problem: `${column.noun} ${quote(text)} is not a number` };
  const [low, high] = column.range ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  if (number < low || number > high) {
    const unit = column.unit ? ` ${UNITS[column.unit].label}` : "";
    const cell =
      unit && !text.endsWith(unit) ? `${quote(text)} (${round(number)}${unit})` : quote(text);
    return { problem: `${column.noun} ${cell} is outside ${low} to ${high}${unit}` };
  }
  if (column.isWhole && !Number.isInteger(number)) {
    return { problem: `${column.noun} ${quote(text)} is not a whole number` };
  }
  return { value: number };
}

function readDate(text: string, column: HeaterColumn, options: CellOptions): CellReading {
  const parsed = parseDate(text, {
    order: options.dateOrder,
    todayYear: options.todayYear,
    uses1904: options.uses1904,
  });
  if (typeof parsed !== "string") return { value: parsed };
  const order = /^\d{1,2}[-/. ]\d{1,2}[-/. ]\d+/.test(text)
    ? ` as ${ORDER_WORDS[options.dateOrder]}, the order of this column`
    : "";
  return { problem: `${column.noun} ${quote(text)} ${parsed}${order}` };
}

function wordReader(
  column: HeaterColumn,
  parse: (text: string) => CellValue | null,
  expected: string,
): CellReader {
  return (text) => {
    const value = parse(text);
    return value === null
      ? { problem: `${column.noun} ${quote(text)} is not one of: ${expected}` }
      : { value };
  };
}

/** A cell's text within a sentence, cut where it is long. */
export function quote(text: string): string {
  return `"${text.length > 40 ? `${text.slice(0, 39)}…` : text}"`;
}

export function round(value: number): number {
  return Number(value.toPrecision(4));
}
