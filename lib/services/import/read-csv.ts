import { CsvParser, CsvSyntaxError } from "@/lib/core/exchange/parse-csv";
import type { TableRow } from "@/lib/core/exchange/read-heater-row";
import type { TextEncoding } from "./detect-format";
import {
  requireCellLength,
  requireColumnCount,
  requireRowCount,
  TableError,
  type TableLimits,
} from "./table-limits";
import { headOfSource, streamSource, type TableSource } from "./table-source";

export type CsvDialect = {
  readonly encoding: TextEncoding;
  readonly markLength: number;
  readonly delimiter: string;
  readonly newline: "\n" | "\r";
};

const DELIMITERS = [",", ";", "\t", "|"] as const;
const GUESSED_BYTES = 65_536;

/** Delimiter and line ends of a CSV, told from its beginning. */
export async function detectDialect(
  source: TableSource,
  { encoding, markLength }: Pick<CsvDialect, "encoding" | "markLength">,
): Promise<CsvDialect> {
  const head = await headOfSource(source, GUESSED_BYTES + markLength);
  const text = new TextDecoder(encoding).decode(head.subarray(markLength));
  return {
    encoding,
    markLength,
    delimiter: detectDelimiter(text),
    newline: detectNewline(text),
  };
}

/**
 * The sign that parts the cells: the one that gives the most lines the same number of cells, more
 * than one. Signs within quotes do not count.
 */
function detectDelimiter(text: string): string {
  // A spreadsheet program's own way of naming the delimiter.
  const declared = /^sep=(.)\r?\n/i.exec(text);
  if (declared?.[1]) return declared[1];
  const counts = countDelimiters(text);
  let best = ",";
  let bestScore = 0;
  for (const delimiter of DELIMITERS) {
    const perLine = counts.map((line) => line.get(delimiter) ?? 0).filter((count) => count > 0);
    const frequency = new Map<number, number>();
    for (const count of perLine) frequency.set(count, (frequency.get(count) ?? 0) + 1);
    const [count, lines] = [...frequency].sort((a, b) => b[1] - a[1] || b[0] - a[0])[0] ?? [0, 0];
    const score = lines * Math.log2(1 + count) * (lines / Math.max(1, perLine.length));
    if (score > bestScore) {
      best = delimiter;
      bestScore = score;
    }
  }
  return best;
}

/** How often each delimiter stands outside of quotes, for each of the first lines. */
function countDelimiters(text: string): readonly ReadonlyMap<string, number>[] {
  const lines: Map<string, number>[] = [];
  let line = new Map<string, number>();
  let isQuoted = false;
  for (let index = 0; index < text.length && lines.length < 100; index += 1) {
    const sign = text[index] as string;
    if (sign === '"') isQuoted = !isQuoted;
    else if (isQuoted) continue;
    else if (sign === "\n" || sign === "\r") {
      if (line.size > 0) lines.push(line);
      line = new Map();
    } else if ((DELIMITERS as readonly string[]).includes(sign)) {
      line.set(sign, (line.get(sign) ?? 0) + 1);
    }
  }
  // The last line may have been cut.
  if (line.size > 0 && lines.length === 0) lines.push(line);
  return lines;
}

/** Whether lines end with a carriage return alone, as on old machines. */
function detectNewline(head: string): "\n" | "\r" {
  return head.includes("\r") && !head.includes("\n") ? "\r" : "\n";
}

/**
 * The records of a CSV file in batches, empty ones included, numbered as a spreadsheet program
 * numbers its rows (a line break within quotes does not begin a row).
 *
 * @throws {TableError} naming the row, for a quote that is never closed or a limit passed
 */
export async function* readCsvRows(
  source: TableSource,
  dialect: CsvDialect,
  limits: TableLimits,
): AsyncGenerator<readonly TableRow[]> {
  const parser = new CsvParser({
    delimiter: dialect.delimiter,
    newline: dialect.newline,
    longestRecord: limits.recordLength,
  });
  const decoder = new TextDecoder(dialect.encoding);
  let rowNumber = 0;
  const number = (records: readonly string[][]): TableRow[] =>
    records.map((cells) => {
      rowNumber += 1;
      checkRecord(cells, rowNumber, limits);
      return { rowNumber, cells };
    });
  try {
    for await (const chunk of streamSource(source, dialect.markLength) as AsyncIterable<Buffer>) {
      yield number(parser.push(decoder.decode(chunk, { stream: true })));
    }
    yield number([...parser.push(decoder.decode()), ...parser.end()]);
  } catch (error) {
    if (!(error instanceof CsvSyntaxError)) throw error;
    const row = `row ${error.recordNumber}`;
    throw new TableError(`${row}: ${error.message}`, row);
  }
}

function checkRecord(cells: readonly string[], rowNumber: number, limits: TableLimits): void {
  requireRowCount(rowNumber, limits);
  requireColumnCount(cells.length, rowNumber, limits);
  for (let index = 0; index < cells.length; index += 1) {
    requireCellLength(cells[index] as string, rowNumber, index, limits);
  }
}
