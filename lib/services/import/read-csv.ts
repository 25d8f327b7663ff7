import { type CsvError, parse } from "csv-parse";
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
};

const DELIMITERS = [",", ";", "\t", "|"] as const;
const GUESSED_BYTES = 65_536;

/**
 * The sign that parts the cells: the one that gives the most lines the same number of cells, more
 * than one. Signs within quotes do not count.
 */
export async function detectDelimiter(
  source: TableSource,
  { encoding, markLength }: Pick<CsvDialect, "encoding" | "markLength">,
): Promise<string> {
  const head = await headOfSource(source, GUESSED_BYTES + markLength);
  const text = new TextDecoder(encoding).decode(head.subarray(markLength));
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

/**
 * The records of a CSV file, empty ones included, numbered as a spreadsheet program numbers its rows
 * (a line break within quotes does not begin a row).
 *
 * @throws {TableError} naming the row, for a quote that is never closed or a limit passed
 */
export async function* readCsvRows(
  source: TableSource,
  dialect: CsvDialect,
  limits: TableLimits,
): AsyncGenerator<TableRow> {
  const parser = parse({
    delimiter: dialect.delimiter,
    record_delimiter: ["\r\n", "\n", "\r"],
    relax_column_count: true,
    relax_quotes: true,
    skip_empty_lines: false,
    // A quote that is never closed would gather the rest of the file.
    max_record_size: Math.max(limits.cellLength, 1000) * 40,
  });
  const bytes = streamSource(source, dialect.markLength);
  bytes.once("error", (error) => parser.destroy(error));
  if (dialect.encoding === "utf-8") bytes.pipe(parser);
  else void decodeInto(parser, bytes, dialect.encoding);
  let rowNumber = 0;
  try {
    for await (const record of parser as AsyncIterable<string[]>) {
      rowNumber += 1;
      requireRowCount(rowNumber, limits);
      requireColumnCount(record.length, rowNumber, limits);
      for (let index = 0; index < record.length; index += 1) {
        requireCellLength(record[index] as string, rowNumber, index, limits);
      }
      yield { rowNumber, cells: record };
    }
  } catch (error) {
    throw explainCsvError(error);
  } finally {
    bytes.destroy();
    parser.destroy();
  }
}

async function decodeInto(
  parser: ReturnType<typeof parse>,
  bytes: AsyncIterable<Buffer>,
  encoding: TextEncoding,
): Promise<void> {
  const decoder = new TextDecoder(encoding);
  try {
    for await (const chunk of bytes) {
      const text = decoder.decode(chunk, { stream: true });
      if (parser.destroyed) return;
      if (text !== "" && !parser.write(text)) {
        await new Promise((resolve) => {
          parser.once("drain", resolve);
          parser.once("close", resolve);
        });
      }
    }
    if (!parser.destroyed) parser.end(decoder.decode());
  } catch (error) {
    parser.destroy(error as Error);
  }
}

function explainCsvError(error: unknown): unknown {
  if (!(error instanceof Error) || !("code" in error)) return error;
  const { code, records } = error as CsvError & { readonly records?: number };
  if (!String(code).startsWith("CSV_")) return error;
  const row = `row ${(records ?? 0) + 1}`;
  if (code === "CSV_QUOTE_NOT_CLOSED" || code === "CSV_MAX_RECORD_SIZE") {
    return new TableError(
      `${row}: a quoted value is never closed, or the row is far too long`,
      row,
    );
  }
  return new TableError(`${row}: quotes are not used as a CSV file uses them`, row);
}
