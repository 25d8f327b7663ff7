import {
  type ColumnMapping,
  checkMapping,
  headerSignature,
  type RememberedMapping,
} from "@/lib/core/exchange/column-mapping";
import { type ColumnProfile, ColumnProfiler } from "@/lib/core/exchange/column-profile";
import { type ColumnGuess, guessColumns } from "@/lib/core/exchange/guess-columns";
import {
  createHeaterRowReader,
  type HeaterRow,
  type HeaterRowOptions,
  type TableRow,
} from "@/lib/core/exchange/read-heater-row";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import type { Table } from "./read-table";
import { TableError } from "./table-limits";

/** What a first pass over a file finds: enough to match its columns. */
export type TableSummary = {
  readonly rowCount: number;
  readonly signature: string;
  readonly profiles: readonly ColumnProfile[];
  readonly guesses: readonly ColumnGuess[];
};

/**
 * Reads the whole file once and guesses its columns.
 *
 * @param findRemembered the mapping once made by hand for a file of the same headings, if any
 * @param onRows called with each batch of rows below the headings, so that the pass can also keep them
 */
export async function surveyTable(
  table: Table,
  {
    today,
    findRemembered = () => null,
    onRows,
  }: {
    readonly today: CalendarDay;
    readonly findRemembered?: (
      signature: string,
    ) => RememberedMapping | null | Promise<RememberedMapping | null>;
    readonly onRows?: (rows: readonly TableRow[]) => void | Promise<void>;
  },
): Promise<Outcome<TableSummary>> {
  const signature = headerSignature(table.headers);
  const profiler = new ColumnProfiler(table.headers.length);
  try {
    for await (const rows of table.readRows()) {
      for (const { cells } of rows) profiler.observe(cells);
      await onRows?.(rows);
    }
  } catch (error) {
    if (error instanceof TableError) return failure(error.problem);
    throw error;
  }
  const profiles = profiler.profiles();
  const guesses = guessColumns(table.headers, profiles, {
    todayYear: yearOf(today),
    remembered: await findRemembered(signature),
  });
  return success({ rowCount: profiler.rowCount, signature, profiles, guesses });
}

/**
 * The heaters of an open table under a mapping, in batches: each row with its record or with every reason
 * why it is refused. Empty rows and repeated headings are passed over.
 *
 * @throws {TableError} while iterating, when the file turns out to be unreadable
 */
export function readHeaterRows(
  table: Table,
  mapping: ColumnMapping,
  options: Omit<HeaterRowOptions, "uses1904">,
): Outcome<AsyncGenerator<readonly HeaterRow[]>> {
  const checked = checkMapping(mapping, yearOf(options.today));
  if (!checked.ok) return checked;
  return success(heaterRows(table, mapping, { ...options, uses1904: table.uses1904 }));
}

async function* heaterRows(
  table: Table,
  mapping: ColumnMapping,
  options: HeaterRowOptions,
): AsyncGenerator<readonly HeaterRow[]> {
  const readRow = createHeaterRowReader(table.headers, mapping, options);
  for await (const rows of table.readRows()) {
    yield rows.map(readRow).filter((row) => row !== null);
  }
}
