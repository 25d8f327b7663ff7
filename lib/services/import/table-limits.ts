import type { Problem } from "@/lib/core/shared/outcome";

/** What a file may be at most, so that reading it takes bounded memory and time. */
export type TableLimits = {
  readonly fileBytes: number;
  /** All parts of a workbook together, once unpacked. */
  readonly unpackedBytes: number;
  readonly rows: number;
  readonly columns: number;
  /** Characters of one cell. */
  readonly cellLength: number;
  /** Characters of one row of a CSV. */
  readonly recordLength: number;
  /** Characters of all different texts of a workbook together, which must be kept while reading. */
  readonly sharedTextLength: number;
};

const MEGABYTE = 1_048_576;

export const TABLE_LIMITS: TableLimits = {
  fileBytes: 64 * MEGABYTE,
  unpackedBytes: 512 * MEGABYTE,
  rows: 200_000,
  columns: 500,
  cellLength: 8_000,
  recordLength: 256_000,
  sharedTextLength: 64 * MEGABYTE,
};

/** A file that cannot be read as a table, in one sentence for the person who sent it. */
export class TableError extends Error {
  readonly problem: Problem;

  constructor(message: string, path = "file") {
    super(message);
    this.name = "TableError";
    this.problem = { path, message };
  }
}

export function megabytes(bytes: number): string {
  return `${Math.max(1, Math.round(bytes / MEGABYTE))} MB`;
}

/** @throws {TableError} when a cell is longer than the limit. */
export function requireCellLength(
  text: string,
  rowNumber: number,
  column: number,
  limits: TableLimits,
): string {
  if (text.length > limits.cellLength) {
    throw new TableError(
      `row ${rowNumber}, column ${column + 1}: a cell has more than ${limits.cellLength.toLocaleString("en-US")} characters`,
      `row ${rowNumber}`,
    );
  }
  return text;
}

/** @throws {TableError} when a row has more columns than the limit. */
export function requireColumnCount(count: number, rowNumber: number, limits: TableLimits): void {
  if (count > limits.columns) {
    throw new TableError(
      `row ${rowNumber} has more than ${limits.columns} columns; a table of heaters needs far fewer`,
      `row ${rowNumber}`,
    );
  }
}

/** @throws {TableError} when a file has more rows than the limit. */
export function requireRowCount(count: number, limits: TableLimits): void {
  if (count > limits.rows) {
    throw new TableError(
      `the file has more than ${limits.rows.toLocaleString("en-US")} rows; split it and bring in the parts`,
    );
  }
}
