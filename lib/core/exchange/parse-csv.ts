/** How a CSV file is written. */
export type CsvFormat = {
  readonly delimiter: string;
  /** `\n` also takes `\r\n`; `\r` alone ended lines on old machines. */
  readonly newline: "\n" | "\r";
  /** Characters of one record, beyond which a quote was surely never closed. */
  readonly longestRecord: number;
};

/** A file that is no CSV, at a record counted from 1. */
export class CsvSyntaxError extends Error {
  readonly recordNumber: number;

  constructor(recordNumber: number, message: string) {
    super(message);
    this.name = "CsvSyntaxError";
    this.recordNumber = recordNumber;
  }
}

const QUOTE = '"';

/**
 * Takes a CSV text in pieces and gives its records (RFC 4180), empty lines included as one empty cell.
 * More is forgiven than the RFC does, in the way spreadsheet programs do: a quote within an unquoted
 * cell is a sign like others (`40" tall`), and text after a closing quote belongs to the cell.
 *
 * Most lines hold no quote and are cut by the engine's own `split`, which is what makes it fast.
 */
export class CsvParser {
  readonly #format: CsvFormat;
  #rest = "";
  #recordCount = 0;

  constructor(format: CsvFormat) {
    this.#format = format;
  }

  /**
   * The records that `text` completes.
   * @throws {CsvSyntaxError} when a record passes its longest length
   */
  push(text: string): string[][] {
    return this.#take(this.#rest + text, false);
  }

  /**
   * The records that were not ended by a line break.
   * @throws {CsvSyntaxError} when a quote was never closed
   */
  end(): string[][] {
    return this.#take(this.#rest, true);
  }

  #take(text: string, isLast: boolean): string[][] {
    const { delimiter, newline, longestRecord } = this.#format;
    const records: string[][] = [];
    let at = 0;
    while (at < text.length) {
      let lineEnd = text.indexOf(newline, at);
      if (lineEnd < 0) {
        if (!isLast) break;
        lineEnd = text.length;
      }
      const contentEnd =
        newline === "\n" && lineEnd > at && text[lineEnd - 1] === "\r" ? lineEnd - 1 : lineEnd;
      const line = text.slice(at, contentEnd);
      if (!line.includes(QUOTE)) {
        this.#require(line.length <= longestRecord, longestRecord);
        records.push(line.split(delimiter));
        at = lineEnd + 1;
      } else {
        const record = this.#takeQuoted(text, at, isLast);
        if (record === null) break;
        this.#require(record.end - at <= longestRecord, longestRecord);
        records.push(record.cells);
        at = record.end;
      }
      this.#recordCount += 1;
    }
    this.#rest = text.slice(at);
    this.#require(this.#rest.length <= longestRecord, longestRecord);
    return records;
  }

  #require(condition: boolean, longestRecord: number): void {
    if (condition) return;
    throw new CsvSyntaxError(
      this.#recordCount + 1,
      `a quote is never closed, or the row has more than ${longestRecord} characters`,
    );
  }

  /** One record from `at` on, or null when more text is needed to tell where it ends. */
  #takeQuoted(
    text: string,
    at: number,
    isLast: boolean,
  ): { readonly cells: string[]; readonly end: number } | null {
    const { delimiter, newline } = this.#format;
    const cells: string[] = [];
    let start = at;
    let newlineAt = -2;
    for (;;) {
      let cell = "";
      let from = start;
      if (text[start] === QUOTE) {
        const quoted = closeQuote(text, start + 1);
        if (quoted === null) {
          if (isLast) throw new CsvSyntaxError(this.#recordCount + 1, "a quote is never closed");
          return null;
        }
        // The quote may be the first half of a doubled one that the next piece completes.
        if (quoted.end >= text.length && !isLast) return null;
        cell = quoted.text;
        from = quoted.end;
      }
      if (newlineAt !== -1 && newlineAt < from) newlineAt = text.indexOf(newline, from);
      const end = newlineAt < 0 ? text.length : newlineAt;
      const tail = text.slice(from, end);
      const delimiterAt = tail.indexOf(delimiter);
      if (delimiterAt >= 0) {
        cells.push(cell + tail.slice(0, delimiterAt));
        start = from + delimiterAt + delimiter.length;
        continue;
      }
      if (newlineAt < 0 && !isLast) return null;
      cells.push(cell + (newline === "\n" && tail.endsWith("\r") ? tail.slice(0, -1) : tail));
      return { cells, end: newlineAt < 0 ? end : end + 1 };
    }
  }
}

/** The text of a quoted cell from behind its first quote, and the place behind its last. */
function closeQuote(
  text: string,
  from: number,
): { readonly text: string; readonly end: number } | null {
  let cell = "";
  let at = from;
  for (;;) {
    const quoteAt = text.indexOf(QUOTE, at);
    if (quoteAt < 0) return null;
    if (text[quoteAt + 1] !== QUOTE)
      return { text: cell + text.slice(at, quoteAt), end: quoteAt + 1 };
    cell += text.slice(at, quoteAt + 1);
    at = quoteAt + 2;
  }
}
