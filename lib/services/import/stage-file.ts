import { randomUUID } from "node:crypto";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type RememberedMapping, rememberMapping } from "@/lib/core/exchange/column-mapping";
import { mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import { DEFAULT_IMPORT_OPTIONS, type ImportColumn } from "@/lib/core/exchange/import-batch";
import type { TableRow } from "@/lib/core/exchange/read-heater-row";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Outcome } from "@/lib/core/shared/outcome";
import { CHUNK_ROWS, findEarlierMapping, insertBatch, insertChunk } from "@/lib/data/imports";
import { type Tenant, type TenantClient, withSql } from "@/lib/data/tenant";
import { surveyTable } from "./read-heater-file";
import { openTable, type Table } from "./read-table";
import { Refused, refuse, undoRefused } from "./refused";
import { spoolUpload } from "./table-source";

const LONGEST_FILE_NAME = 200;

/** Whose file it is. */
export type Sender = Tenant & { readonly userId: string };

/** A file as it comes in. */
export type Upload = {
  readonly fileName: string;
  readonly chunks: AsyncIterable<Uint8Array>;
  /** Sheet of a workbook, and the row of its headings, where a person has named them. */
  readonly sheetName?: string;
  readonly headerRowNumber?: number;
};

/**
 * Takes a file in: keeps its rows as they are, and guesses its columns. Nothing of the record is
 * written. Of a file that cannot be read nothing is left, and one problem says why.
 */
export async function stageFile(
  sender: Sender,
  { fileName, chunks, sheetName, headerRowNumber }: Upload,
  today: CalendarDay,
): Promise<Outcome<{ readonly batchId: string }>> {
  const folder = await mkdtemp(join(tmpdir(), "tanklore-import-"));
  try {
    const spooled = await spoolUpload(chunks, join(folder, "upload"));
    if (!spooled.ok) return spooled;
    const { path, byteCount } = spooled.value;
    const opened = await openTable({ path }, { sheetName, headerRowNumber });
    if (!opened.ok) return opened;
    const table = opened.value;
    try {
      const staged = { fileName: tidyFileName(fileName), byteCount, table, today };
      return await undoRefused(() =>
        withSql(sender, async (client) => ({
          batchId: await writeStagedBatch(client, sender, staged),
        })),
      );
    } finally {
      table.close();
    }
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** The last part of a path, without control characters. */
function tidyFileName(fileName: string): string {
  const name = (fileName.split(/[\\/]/).at(-1) ?? "").replace(/\p{Cc}/gu, "").trim();
  return name.slice(0, LONGEST_FILE_NAME) || "file without a name";
}

type StagedTable = {
  readonly fileName: string;
  readonly byteCount: number;
  readonly table: Table;
  readonly today: CalendarDay;
};

async function writeStagedBatch(
  client: TenantClient,
  { organizationId, userId }: Sender,
  { fileName, byteCount, table, today }: StagedTable,
): Promise<string> {
  const batchId = randomUUID();
  const stager = new RowStager(client, organizationId, batchId);
  let remembered: RememberedMapping | null = null;
  const survey = await surveyTable(table, {
    today,
    findRemembered: async (signature) => {
      const earlier = await findEarlierMapping(client, signature);
      remembered = earlier && rememberMapping(earlier.headers, earlier.mapping);
      return remembered;
    },
    onRows: (rows) => stager.add(rows),
  });
  await stager.end();
  if (!survey.ok) throw new Refused(survey.problems);
  const { guesses, profiles, signature } = survey.value;
  if (stager.rowCount === 0) {
    throw refuse("the file has headings and no rows below them", "file");
  }
  const columns: readonly ImportColumn[] = guesses.map((guess, index) => ({
    guess,
    profile: { ...profiles[index], samples: profiles[index].samples.slice(0, SAMPLES_KEPT) },
  }));
  await insertBatch(client, organizationId, {
    id: batchId,
    fileName,
    file: {
      format: table.format,
      byteCount,
      dialect: table.dialect && {
        encoding: table.dialect.encoding,
        delimiter: table.dialect.delimiter,
      },
      sheetName: table.sheetName,
      sheetNames: table.sheetNames,
      headerRowNumber: table.headerRowNumber,
      uses1904: table.uses1904,
    },
    signature,
    columns,
    mapping: mappingOfGuesses(guesses, remembered),
    options: DEFAULT_IMPORT_OPTIONS,
    rowCount: stager.rowCount,
    createdBy: userId,
  });
  return batchId;
}

/** Different cells of a column that are kept to be shown beside it. */
const SAMPLES_KEPT = 12;

/** Keeps a file's rows in chunks of one size; while one is written, the next is read. */
class RowStager {
  readonly #client: TenantClient;
  readonly #organizationId: string;
  readonly #batchId: string;
  #rows: TableRow[] = [];
  #number = 0;
  #writing: Promise<void> = Promise.resolve();
  rowCount = 0;

  constructor(client: TenantClient, organizationId: string, batchId: string) {
    this.#client = client;
    this.#organizationId = organizationId;
    this.#batchId = batchId;
  }

  async add(rows: readonly TableRow[]): Promise<void> {
    for (const row of rows) {
      if (row.cells.every((cell) => cell === "")) continue;
      this.#rows.push(row);
      if (this.#rows.length === CHUNK_ROWS) await this.#flush();
    }
  }

  /** Waits until all is written. */
  async end(): Promise<void> {
    if (this.#rows.length > 0) await this.#flush();
    await this.#writing;
  }

  async #flush(): Promise<void> {
    const rows = this.#rows;
    this.#rows = [];
    this.rowCount += rows.length;
    const number = this.#number;
    this.#number += 1;
    await this.#writing;
    this.#writing = insertChunk(this.#client, this.#organizationId, this.#batchId, number, rows);
    // Its failure is met where it is awaited, which may be later.
    this.#writing.catch(() => undefined);
  }
}
