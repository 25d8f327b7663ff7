import {
  addDays,
  addMonths,
  type CalendarDay,
  dayFromParts,
  daysInMonth,
  isCalendarDay,
} from "@/lib/core/shared/calendar-day";
import { dayOfExcelSerial } from "./excel-serial";

/** `mdy`: 3/4/2014 is March 4. `dmy`: it is 3 April. */
export type DateOrder = "mdy" | "dmy";

/** The days that a cell may mean; a null end is open ("before 2010"). */
export type DateBracket = {
  readonly earliest: CalendarDay | null;
  readonly latest: CalendarDay | null;
};

export type DateOptions = {
  readonly order: DateOrder;
  /** Two-digit years up to ten years after it belong to its century, later ones to the one before. */
  readonly todayYear: number;
  /** The workbook counts days from 1904. */
  readonly uses1904: boolean;
};

/** Longer texts are notes, and patterns must not be made to search them. */
const LONGEST_DATE = 60;
const NOT_A_DATE = "is not a date";
const NO_SUCH_DAY = "is not a day that exists";

const TIME =
  /(?:[T ]\s*\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:Z|[+-]\d{2}:?\d{2})?)$/i;
const YEAR_FIRST = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/;
const YEAR_LAST = /^(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4}|\d{2})$/;
const COMPACT = /^(\d{4})(\d{2})(\d{2})$/;
const YEAR = /^(?:(\d{4})|['\u2019](\d{2}))$/;
const YEAR_MONTH = /^(\d{4})[-/.](\d{1,2})$/;
const MONTH_YEAR = /^(\d{1,2})[-/.](\d{4})$/;
const SERIAL = /^\d{5}(\.\d+)?$/;
const NAME_YEAR = /^([a-z]{3,9})\.?[\s,\-/'\u2019]*(\d{4}|\d{2})$/i;
const YEAR_NAME = /^(\d{4})[\s,\-/]*([a-z]{3,9})\.?$/i;
const DAY_NAME_YEAR =
  /^(\d{1,2})(?:st|nd|rd|th)?[\s\-/.]*([a-z]{3,9})\.?[\s,\-/.']*(\d{4}|\d{2})$/i;
const NAME_DAY_YEAR =
  /^([a-z]{3,9})\.?[\s\-/]*(\d{1,2})(?:st|nd|rd|th)?(?:\s*,\s*|[\s\-/]+)(\d{4}|\d{2})$/i;
const YEAR_NAME_DAY = /^(\d{4})[\s\-/]+([a-z]{3,9})\.?[\s\-/]+(\d{1,2})$/i;
const WEEKDAY = /^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+/i;
const QUARTER_YEAR = /^(?:q([1-4])|([1-4])q)[\s\-/']*(\d{4}|\d{2})$/i;
const YEAR_QUARTER = /^(\d{4})[\s\-/]*q([1-4])$/i;
const DECADE = /^(\d{3})0'?s$/;
const RANGE = /^(.+?)\s*(?:\bto\b|\bthru\b|\bthrough\b|\u2013|\u2014|\s-\s)\s*(.+)$/i;
const YEAR_RANGE = /^(\d{4})-(\d{4})$/;
const BEFORE = /^(?:before|pre|prior to|<)[\s-]*(.+)$/i;
const AFTER = /^(?:after|post|>)[\s-]*(.+)$/i;
const SINCE = /^since\s+(.+)$/i;
const ABOUT =
  /^(?:~|circa|ca?\.|ca\s|about|around|approx\.?|approximately|est\.?|estimated)\s*(.+)$/i;
const QUESTIONED = /^(.+?)\s*(?:\?+|\(?\best\.?\)?|\(?\bapprox\.?\)?)$/i;

const MONTHS = [
  "january",
  "february",
  "march",
  "april",
  "may",
  "june",
  "july",
  "august",
  "september",
  "october",
  "november",
  "december",
] as const;

/**
 * Reads the dates that spreadsheets hold: ISO, US or European numbers, month names, `Mar 2014`,
 * `2014`, `Q2 2014`, `2012-2014`, `before 2010`, `about 2014`, workbook serial numbers. A month or a
 * year alone is a bracket, never a guessed day. "About" widens by one unit: a year, or a month.
 *
 * @returns the bracket, or what is wrong in words that follow the cell's text
 */
export function parseDate(text: string, options: DateOptions): DateBracket | string {
  const trimmed = text.trim();
  if (trimmed.length > LONGEST_DATE) return NOT_A_DATE;
  // The commonest form, and what a workbook's date cells become.
  if (trimmed.length === 10 && isCalendarDay(trimmed))
    return { earliest: trimmed, latest: trimmed };
  return parseQualified(trimmed, options, 0);
}

function parseQualified(text: string, options: DateOptions, depth: number): DateBracket | string {
  const plain = parsePlain(text, options);
  if (plain !== NOT_A_DATE || depth > 1) return plain;

  const years = YEAR_RANGE.exec(text);
  const range = years ?? RANGE.exec(text);
  if (range) {
    const from = parseQualified(range[1] ?? "", options, depth + 1);
    const to = parseQualified(range[2] ?? "", options, depth + 1);
    if (typeof from === "string") return from;
    if (typeof to === "string") return to;
    if (from.earliest !== null && to.latest !== null && from.earliest > to.latest) {
      return "ends before it begins";
    }
    return { earliest: from.earliest, latest: to.latest };
  }
  const about = ABOUT.exec(text) ?? QUESTIONED.exec(text);
  if (about) return mapBracket(parseQualified(about[1] ?? "", options, depth + 1), widen);
  const before = BEFORE.exec(text);
  if (before) {
    return mapBracket(parseQualified(before[1] ?? "", options, depth + 1), ({ earliest }) => ({
      earliest: null,
      latest: earliest && addDays(earliest, -1),
    }));
  }
  const since = SINCE.exec(text);
  if (since) {
    return mapBracket(parseQualified(since[1] ?? "", options, depth + 1), ({ earliest }) => ({
      earliest,
      latest: null,
    }));
  }
  const after = AFTER.exec(text);
  if (after) {
    return mapBracket(parseQualified(after[1] ?? "", options, depth + 1), ({ latest }) => ({
      earliest: latest && addDays(latest, 1),
      latest: null,
    }));
  }
  return NOT_A_DATE;
}

function parsePlain(raw: string, options: DateOptions): DateBracket | string {
  const text = raw.replace(TIME, "").replace(WEEKDAY, "").trim();
  let match = YEAR_FIRST.exec(text) ?? COMPACT.exec(text);
  if (match) return dayBracket(Number(match[1]), Number(match[2]), Number(match[3]));

  match = YEAR_LAST.exec(text);
  if (match) {
    const first = Number(match[1]);
    const second = Number(match[2]);
    const year = fullYear(match[3] ?? "", options.todayYear);
    return options.order === "mdy"
      ? dayBracket(year, first, second)
      : dayBracket(year, second, first);
  }
  match = YEAR.exec(text);
  if (match) return yearBracket(fullYear(match[1] ?? match[2] ?? "", options.todayYear));

  match = YEAR_MONTH.exec(text);
  if (match) return monthBracket(Number(match[1]), Number(match[2]));
  match = MONTH_YEAR.exec(text);
  if (match) return monthBracket(Number(match[2]), Number(match[1]));

  if (SERIAL.test(text)) {
    const day = dayOfExcelSerial(Number(text), options.uses1904);
    return day === null ? NO_SUCH_DAY : { earliest: day, latest: day };
  }
  return parseNamed(text, options) ?? parsePeriod(text, options) ?? NOT_A_DATE;
}

/** Forms with the name of a month. */
function parseNamed(text: string, options: DateOptions): DateBracket | string | null {
  let match = NAME_DAY_YEAR.exec(text);
  let month = match && monthOfName(match[1]);
  if (match && month) {
    return dayBracket(fullYear(match[3] ?? "", options.todayYear), month, Number(match[2]));
  }
  match = DAY_NAME_YEAR.exec(text);
  month = match && monthOfName(match[2]);
  if (match && month) {
    return dayBracket(fullYear(match[3] ?? "", options.todayYear), month, Number(match[1]));
  }
  match = YEAR_NAME_DAY.exec(text);
  month = match && monthOfName(match[2]);
  if (match && month) return dayBracket(Number(match[1]), month, Number(match[3]));
  match = NAME_YEAR.exec(text);
  month = match && monthOfName(match[1]);
  if (match && month) return monthBracket(fullYear(match[2] ?? "", options.todayYear), month);
  match = YEAR_NAME.exec(text);
  month = match && monthOfName(match[2]);
  if (match && month) return monthBracket(Number(match[1]), month);
  return null;
}

/** Quarters and decades. */
function parsePeriod(text: string, options: DateOptions): DateBracket | string | null {
  const quarterFirst = QUARTER_YEAR.exec(text);
  const yearFirst = YEAR_QUARTER.exec(text);
  const quarter = quarterFirst ? (quarterFirst[1] ?? quarterFirst[2]) : yearFirst?.[2];
  const year = quarterFirst?.[3] ?? yearFirst?.[1];
  if (quarter && year) {
    const first = dayFromParts(fullYear(year, options.todayYear), Number(quarter) * 3 - 2, 1);
    return { earliest: first, latest: addDays(addMonths(first, 3), -1) };
  }
  const decade = DECADE.exec(text);
  if (decade) {
    const first = Number(decade[1]) * 10;
    return { earliest: dayFromParts(first, 1, 1), latest: dayFromParts(first + 9, 12, 31) };
  }
  return null;
}

function dayBracket(year: number, month: number, day: number): DateBracket | string {
  if (year < 1 || month < 1 || month > 12 || day < 1 || day > daysInMonth(year, month)) {
    return NO_SUCH_DAY;
  }
  const exact = dayFromParts(year, month, day);
  return { earliest: exact, latest: exact };
}

function monthBracket(year: number, month: number): DateBracket | string {
  if (year < 1 || month < 1 || month > 12) return "is not a month that exists";
  return {
    earliest: dayFromParts(year, month, 1),
    latest: dayFromParts(year, month, daysInMonth(year, month)),
  };
}

function yearBracket(year: number): DateBracket {
  return { earliest: dayFromParts(year, 1, 1), latest: dayFromParts(year, 12, 31) };
}

function fullYear(digits: string, todayYear: number): number {
  const year = Number(digits);
  if (digits.length === 4) return year;
  const century = Math.floor(todayYear / 100) * 100;
  return century + year <= todayYear + 10 ? century + year : century + year - 100;
}

function monthOfName(name: string | undefined): number | null {
  const lower = (name ?? "").toLowerCase();
  if (lower === "sept") return 9;
  const index = MONTHS.findIndex((month) => month === lower || month.slice(0, 3) === lower);
  return index < 0 ? null : index + 1;
}

function mapBracket(
  parsed: DateBracket | string,
  change: (bracket: DateBracket) => DateBracket,
): DateBracket | string {
  return typeof parsed === "string" ? parsed : change(parsed);
}

/** One year on both sides of a bracket longer than a month, else one month. */
function widen({ earliest, latest }: DateBracket): DateBracket {
  const isLong = !earliest || !latest || addMonths(earliest, 1) <= latest;
  const months = isLong ? 12 : 1;
  return {
    earliest: earliest && addMonths(earliest, -months),
    latest: latest && monthEndAware(latest, months),
  };
}

/** The last day of a month stays the last day of a month. */
function monthEndAware(day: CalendarDay, months: number): CalendarDay {
  return addDays(addMonths(addDays(day, 1), months), -1);
}

export type DateOrderEvidence = {
  /** Cells that are a day only as month/day/year, only as day/month/year, or either way. */
  readonly mdyOnly: number;
  readonly dmyOnly: number;
  readonly either: number;
  /** Of `either`, cells parted by points, which are day first by habit. */
  readonly pointed: number;
};

const ORDERED = /^(\d{1,2})([-/. ])(\d{1,2})[-/. ](\d{4}|\d{2})(?!\d)/;

/** What one cell says about the order of day and month, or null when it says nothing. */
export function dateOrderOfCell(text: string): keyof DateOrderEvidence | null {
  if (text.length < 6) return null;
  const match = ORDERED.exec(text);
  if (!match) return null;
  const first = Number(match[1]);
  const second = Number(match[3]);
  if (first === second) return null;
  if (first > 12 && second >= 1 && second <= 12 && first <= 31) return "dmyOnly";
  if (second > 12 && first >= 1 && first <= 12 && second <= 31) return "mdyOnly";
  if (first > 12 || second > 12) return null;
  return match[2] === "." ? "pointed" : "either";
}

/** How a column's dates are read, and the sentence that says so where it had to be decided. */
export type DateOrderDecision = { readonly order: DateOrder; readonly statement: string | null };

/**
 * Decides the order for a whole column: what the cells that can be read only one way say; the
 * majority where they disagree (the rest then fail one by one, by name); by habit where none says.
 */
export function decideDateOrder(evidence: DateOrderEvidence): DateOrderDecision {
  const { mdyOnly, dmyOnly, either, pointed } = evidence;
  const ambiguous = either + pointed;
  if (mdyOnly + dmyOnly === 0) {
    if (ambiguous === 0) return { order: "mdy", statement: null };
    const order: DateOrder = pointed > either ? "dmy" : "mdy";
    return {
      order,
      statement: `no date shows which number is the month; read as ${ORDER_WORDS[order]} by habit`,
    };
  }
  const order: DateOrder = dmyOnly > mdyOnly ? "dmy" : "mdy";
  const deciding = Math.max(mdyOnly, dmyOnly);
  const against = Math.min(mdyOnly, dmyOnly);
  if (against > 0) {
    return {
      order,
      statement: `read as ${ORDER_WORDS[order]} as ${deciding} cells demand; ${against} demand the other order and are refused`,
    };
  }
  if (ambiguous === 0) return { order, statement: null };
  return {
    order,
    statement: `${ambiguous === 1 ? "1 cell" : `${ambiguous} cells`} could be read either way; read as ${ORDER_WORDS[order]}, as ${deciding === 1 ? "1 other" : `${deciding} others`} can only be`,
  };
}

export const ORDER_WORDS: Readonly<Record<DateOrder, string>> = {
  mdy: "month/day/year",
  dmy: "day/month/year",
};

/** `2014-03-05`, `2014-01-01 to 2014-12-31`, `until 2009-12-31`, `from 2015-01-01`. */
export function describeBracket({ earliest, latest }: DateBracket): string {
  if (earliest === latest) return earliest ?? "unknown";
  if (earliest === null) return `until ${latest}`;
  return latest === null ? `from ${earliest}` : `${earliest} to ${latest}`;
}
