import { findHeaderRow, HEADER_SEARCH_ROWS } from "@/lib/core/exchange/guess-columns";
import type { TableRow } from "@/lib/core/exchange/read-heater-row";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { detectFormat } from "./detect-format";
import { detectDialect, readCsvRows } from "./read-csv";
import { openWorkbook, readSheetRows, type Sheet, type Workbook } from "./read-xlsx";
import { TABLE_LIMITS, TableError, type TableLimits } from "./table-limits";
import { sizeOfSource, type TableSource, tooLarge } from "./table-source";

export type TableOptions = {
  /** Sheet of a workbook; without it the first visible one that has cells. */
  readonly sheetName?: string;
  /** Row of the headings, where a person has said so. */
  readonly headerRowNumber?: number;
  readonly limits?: TableLimits;
};

/** A table that is open for reading. Every call of `readRows` reads the file anew from below its headings. */
export type Table = {
  readonly format: "csv" | "xlsx";
  /** Encoding and delimiter of a CSV, for the preview; null for a workbook. */
  readonly dialect: { readonly encoding: string; readonly delimiter: string } | null;
  readonly sheetName: string | null;
  /** Names of the sheets that could be chosen. */
  readonly sheetNames: readonly string[];
  readonly headerRowNumber: number;
  readonly headers: readonly string[];
  /** The workbook counts its days from 1904. */
  readonly uses1904: boolean;
  /**
   * Rows below the headings, in order and in batches of at most a few thousand.
   * @throws {TableError} while iterating, naming the row, when the file turns out to be unreadable
   */
  readonly readRows: () => AsyncGenerator<readonly TableRow[]>;
  readonly close: () => void;
};

/**
 * Opens a CSV or XLSX file, whatever its name says, and finds its headings. Memory is bounded by the
 * limits; a workbook's different texts are kept, its rows are not.
 */
export async function openTable(
  source: TableSource,
  options: TableOptions = {},
): Promise<Outcome<Table>> {
  const limits = options.limits ?? TABLE_LIMITS;
  try {
    if ((await sizeOfSource(source)) > limits.fileBytes) {
      throw new TableError(tooLarge(limits.fileBytes));
    }
    const format = await detectFormat(source);
    if (format.kind === "xlsx") return success(await openXlsxTable(source, options, limits));
    const dialect = await detectDialect(source, format);
    const readRows = () => readCsvRows(source, dialect, limits);
    const heading = await findHeading(readRows(), options);
    if (!heading) throw new TableError("the file has no rows");
    return success({
      format: "csv",
      dialect,
      sheetName: null,
      sheetNames: [],
      uses1904: false,
      ...heading,
      readRows: () => rowsBelow(readRows(), heading.headerRowNumber),
      close: () => {},
    });
  } catch (error) {
    if (error instanceof TableError) return failure(error.problem);
    throw error;
  }
}

async function openXlsxTable(
  source: TableSource,
  options: TableOptions,
  limits: TableLimits,
): Promise<Table> {
  const workbook = await openWorkbook(source, limits);
  try {
    const { sheet, heading } = await chooseSheet(workbook, options, limits);
    return {
      format: "xlsx",
      dialect: null,
      sheetName: sheet.name,
      sheetNames: workbook.sheets.map(({ name }) => name),
      uses1904: workbook.uses1904,
      ...heading,
      readRows: () => rowsBelow(readSheetRows(workbook, sheet, limits), heading.headerRowNumber),
      close: workbook.close,
    };
  } catch (error) {
    workbook.close();
    throw error;
  }
}

async function chooseSheet(
  workbook: Workbook,
  options: TableOptions,
  limits: TableLimits,
): Promise<{ readonly sheet: Sheet; readonly heading: Heading }> {
  const { sheetName } = options;
  const visibleFirst = [...workbook.sheets].sort((a, b) => Number(a.isHidden) - Number(b.isHidden));
  const candidates =
    sheetName === undefined ? visibleFirst : visibleFirst.filter(({ name }) => name === sheetName);
  if (candidates.length === 0) {
    throw new TableError(
      sheetName === undefined
        ? "the workbook has no sheet with cells"
        : `the workbook has no sheet named "${sheetName}"`,
    );
  }
  for (const sheet of candidates) {
    const heading = await findHeading(readSheetRows(workbook, sheet, limits), options);
    if (heading) return { sheet, heading };
  }
  throw new TableError("the workbook's sheets are empty");
}

type Heading = Pick<Table, "headerRowNumber" | "headers">;

async function findHeading(
  batches: AsyncGenerator<readonly TableRow[]>,
  { headerRowNumber }: TableOptions,
): Promise<Heading | null> {
  const first: TableRow[] = [];
  const wanted = headerRowNumber === undefined ? HEADER_SEARCH_ROWS : 1;
  for await (const rows of batches) {
    first.push(
      ...rows
        .filter(({ rowNumber }) => headerRowNumber === undefined || rowNumber === headerRowNumber)
        .slice(0, wanted - first.length),
    );
    if (first.length >= wanted) break;
  }
  const index = headerRowNumber === undefined ? findHeaderRow(first.map(({ cells }) => cells)) : 0;
  const row = index === null ? undefined : first[index];
  if (!row) {
    if (headerRowNumber === undefined) return null;
    throw new TableError(`row ${headerRowNumber} has no cells to be headings`);
  }
  return { headerRowNumber: row.rowNumber, headers: tidyHeadings(row.cells) };
}

function tidyHeadings(cells: readonly string[]): readonly string[] {
  let end = cells.length;
  while (end > 0 && (cells[end - 1] ?? "").trim() === "") end -= 1;
  return cells.slice(0, end).map((cell) => cell.replace(/\s+/g, " ").trim());
}

async function* rowsBelow(
  batches: AsyncGenerator<readonly TableRow[]>,
  headerRowNumber: number,
): AsyncGenerator<readonly TableRow[]> {
  for await (const rows of batches) {
    const isPast = (rows[0]?.rowNumber ?? 0) > headerRowNumber;
    yield isPast ? rows : rows.filter(({ rowNumber }) => rowNumber > headerRowNumber);
  }
}
