import { findUnit, type Quantity, type UnitCode } from "./quantities";

/** A number as a cell gives it; `unit` is null when the cell names none. */
export type Measured = { readonly value: number; readonly unit: UnitCode | null };

/** Longer texts are notes, and patterns must not be made to search them. */
const LONGEST_NUMBER = 60;
const PLAIN = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i;
const NUMBER_THEN_WORDS = /^([+-]?[\d.,'\u2019\s]*\d\.?)\s*(.*)$/s;
const THOUSANDS_COMMA = /^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$/;
const THOUSANDS_POINT = /^[+-]?\d{1,3}(\.\d{3})+(,\d+|(?=\.))$/;
const TWO_THOUSANDS_POINTS = /^[+-]?\d{1,3}(\.\d{3}){2,}$/;
const THOUSANDS_SPACE = /^[+-]?\d{1,3}([ '\u2019]\d{3})+([.,]\d+)?$/;
const DECIMAL_COMMA = /^[+-]?\d+,\d+$/;

/**
 * Reads a bare number: `1,200`, `1 200`, `1.200,5`, `0,92`, `4.5e3`. A comma before exactly three
 * digits parts thousands (`1,200` is 1200) unless a zero stands before it (`0,920` is 0.92).
 *
 * @returns null when the text is not a number
 */
export function parseNumber(text: string): number | null {
  const trimmed = text.trim();
  if (trimmed.length > LONGEST_NUMBER) return null;
  if (PLAIN.test(trimmed)) return finite(Number(trimmed));
  if (THOUSANDS_COMMA.test(trimmed) && !/^[+-]?0,/.test(trimmed)) {
    return finite(Number(trimmed.replaceAll(",", "")));
  }
  if (THOUSANDS_POINT.test(trimmed) || TWO_THOUSANDS_POINTS.test(trimmed)) {
    return finite(Number(trimmed.replaceAll(".", "").replace(",", ".")));
  }
  if (THOUSANDS_SPACE.test(trimmed)) {
    return finite(Number(trimmed.replace(/[ '\u2019]/g, "").replace(",", ".")));
  }
  if (DECIMAL_COMMA.test(trimmed)) return finite(Number(trimmed.replace(",", ".")));
  return null;
}

/**
 * Reads a number with or without a unit behind it: `40 gal`, `40,000 BTU/hr`, `40K Btu`, `~151 L`.
 *
 * @returns the number and its unit, or what is wrong in words that follow the cell's text
 */
export function parseMeasured(text: string, quantity: Quantity | null): Measured | string {
  if (text.length > LONGEST_NUMBER) return "is not a number";
  const bare = parseNumber(text);
  if (bare !== null) return { value: bare, unit: null };
  const match = NUMBER_THEN_WORDS.exec(text.trim().replace(/^(~|approx\.?|about|ca\.?)\s*/i, ""));
  const value = match ? parseNumber(match[1] ?? "") : null;
  if (!match || value === null) return "is not a number";
  // A degree sign alone names no scale.
  const words = match[2] === "°" ? "" : (match[2] ?? "");
  if (words === "") return { value, unit: null };
  if (quantity === null) return `has "${words}" behind the number`;
  const thousands = /^k\s+(.+)$/i.exec(words) ?? /^(k)$/i.exec(words);
  if (thousands && quantity === "power") {
    const unit = thousands[1] === words ? null : findUnit(thousands[1] ?? "", quantity);
    if (unit !== null || thousands[1] === words) return { value: value * 1000, unit };
  }
  const unit = findUnit(words, quantity);
  return unit === null ? `has the unit "${words}", which is not known here` : { value, unit };
}

function finite(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
