/**
 * Writing of comma-separated values (RFC 4180), used for every such file that is offered. A text
 * that a spreadsheet program would run as a formula gets an apostrophe in front, which such
 * programs show as plain text (OWASP "CSV Injection" and ASVS 5 requirement 1.2.10: cells that begin
 * with = + - @, tab, carriage return or null; a line feed and the full-width forms of the four signs
 * are treated likewise).
 */

/** Numbers are written as they are: a negative number is not a formula. */
export type CsvCell = string | number | boolean | null;

// biome-ignore lint/suspicious/noControlCharactersInRegex: null is one of the signs
const FORMULA_START = /^'*[=+\-@\t\r\n\u0000\uFF1D\uFF0B\uFF0D\uFF20]/;
const NEEDS_QUOTES = /[",;\t\r\n]|^\s|\s$/;

/** Text that no spreadsheet program runs. {@link restoreFormula} gives back what went in. */
export function neutraliseFormula(text: string): string {
  return FORMULA_START.test(text) ? `'${text}` : text;
}

/** Takes off the apostrophe that {@link neutraliseFormula} put in front. */
export function restoreFormula(text: string): string {
  return text.startsWith("'") && FORMULA_START.test(text) ? text.slice(1) : text;
}

/** One line with its CRLF. A null cell is empty. */
export function csvLine(cells: readonly CsvCell[]): string {
  return `${cells.map(csvCell).join(",")}\r\n`;
}

function csvCell(cell: CsvCell): string {
  if (cell === null) return "";
  if (typeof cell !== "string") return String(cell);
  const safe = neutraliseFormula(cell);
  return NEEDS_QUOTES.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** A whole file: byte order mark (so that spreadsheet programs read UTF-8), heading, lines. */
export function* csvFile(
  heading: readonly string[],
  rows: Iterable<readonly CsvCell[]>,
): Generator<string> {
  yield `\uFEFF${csvLine(heading)}`;
  for (const row of rows) yield csvLine(row);
}
