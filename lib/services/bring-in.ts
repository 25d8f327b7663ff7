import "server-only";
import { randomUUID } from "node:crypto";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { z } from "zod";
import {
  type ColumnMapping,
  checkMapping,
  type RememberedMapping,
  rememberMapping,
} from "@/lib/core/exchange/column-mapping";
import { mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import {
  DEFAULT_IMPORT_OPTIONS,
  type ImportColumn,
  type ImportOptions,
} from "@/lib/core/exchange/import-batch";
import type { TableRow } from "@/lib/core/exchange/read-heater-row";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import {
  askForWork,
  CHUNK_ROWS,
  discardBatch,
  findBatch,
  findEarlierMapping,
  findProgress,
  type ImportBatch,
  type ImportProgress,
  type ImportWork,
  insertBatch,
  insertChunk,
  saveMapping,
  saveOptions,
} from "@/lib/data/imports";
import { enqueueJob } from "@/lib/data/job-queue";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { executeImportWork, type ImportJob } from "./bring-in-run";
import { surveyTable } from "./import/read-heater-file";
import { openTable, type Table } from "./import/read-table";
import { spoolUpload } from "./import/table-source";
import { requireAction, type Viewer } from "./viewer";

/** Batches of at most so many rows are worked on at once, within the request that asks for it. */
const ROWS_AT_ONCE = 2_000;

/** Work that gave no sign of life for so long is taken for dead, and may be asked for again. */
export const STALE_SECONDS = 60;

const LONGEST_FILE_NAME = 200;

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
export async function receiveFile(
  viewer: Viewer,
  { fileName, chunks, sheetName, headerRowNumber }: Upload,
  today: CalendarDay,
): Promise<Outcome<{ readonly batchId: string }>> {
  requireAction(viewer, "import.run");
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
        withSql(viewer, async (client) => ({
          batchId: await writeStagedBatch(client, viewer, staged),
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

/** Ends a transaction without its result, and carries why. */
class Refused extends Error {
  constructor(readonly problems: readonly Problem[]) {
    super(problems[0]?.message);
  }
}

function refuse(message: string, path = ""): Refused {
  return new Refused([{ path, message }]);
}

/** Runs a transaction; one that was refused has left nothing. */
async function undoRefused<T>(transaction: () => Promise<T>): Promise<Outcome<T>> {
  try {
    return success(await transaction());
  } catch (error) {
    if (error instanceof Refused) return failure(...error.problems);
    throw error;
  }
}

type StagedTable = {
  readonly fileName: string;
  readonly byteCount: number;
  readonly table: Table;
  readonly today: CalendarDay;
};

async function writeStagedBatch(
  client: TenantClient,
  viewer: Viewer,
  { fileName, byteCount, table, today }: StagedTable,
): Promise<string> {
  const batchId = randomUUID();
  const stager = new RowStager(client, viewer.organizationId, batchId);
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
  await insertBatch(client, viewer.organizationId, {
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
    createdBy: viewer.userId,
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

const isId = (text: string) => z.uuid().safeParse(text).success;

/** A batch of the viewer's organisation, or null. */
export function readBatch(viewer: Viewer, batchId: string): Promise<ImportBatch | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => (isId(batchId) ? findBatch(client, batchId) : null));
}

/** Where the work on a batch stands; null when there is no such batch. */
export function readImportProgress(
  viewer: Viewer,
  batchId: string,
): Promise<ImportProgress | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => (isId(batchId) ? findProgress(client, batchId) : null));
}

/** Keeps how the columns are read, and checks every row under it. */
export async function checkBatch(
  viewer: Viewer,
  batchId: string,
  mapping: ColumnMapping,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "import.run");
  const checked = checkMapping(mapping, yearOf(today));
  if (!checked.ok) return checked;
  return startWork(viewer, batchId, "check", today, async (client, batch) => {
    if (mapping.matches.length !== batch.columns.length) {
      return failure({
        path: "",
        message: "The columns of this file are others: load the page again.",
      });
    }
    await saveMapping(client, batchId, mapping, batch.options);
    return success(null);
  });
}

/** Brings a checked batch into the record. */
export function commitBatch(
  viewer: Viewer,
  batchId: string,
  options: ImportOptions,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "import.run");
  return startWork(viewer, batchId, "commit", today, async (client, batch) => {
    const problem = refuseCommit(batch, options, today);
    if (problem) return failure(problem);
    await saveOptions(client, batchId, options);
    return success(null);
  });
}

function refuseCommit(
  batch: ImportBatch,
  options: ImportOptions,
  today: CalendarDay,
): Problem | null {
  if (batch.fingerprint === null) {
    return { path: "", message: "Look at the preview first." };
  }
  if (options.allOrNothing && batch.refusedCount > 0) {
    return {
      path: "allOrNothing",
      message: "Rows are refused: put them right and bring the file again, or leave them out.",
    };
  }
  if (options.endsOnRecordSince !== null && options.endsOnRecordSince > today) {
    return { path: "endsOnRecordSince", message: `give a day until today, ${today}` };
  }
  return null;
}

/** Takes a whole batch out of the record again. */
export function undoImport(
  viewer: Viewer,
  batchId: string,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "import.run");
  return startWork(viewer, batchId, "undo", today, async () => success(null));
}

/** Puts a file aside that was not brought in; its rows are deleted. */
export function discardImport(viewer: Viewer, batchId: string): Promise<Outcome<null>> {
  requireAction(viewer, "import.run");
  return withSql(viewer, async (client) => {
    const batch = isId(batchId) ? await findBatch(client, batchId) : null;
    if (!batch || !(await discardBatch(client, batchId))) {
      return failure({ path: "", message: "This file can no longer be put aside." });
    }
    await writeAudit(client, viewer.organizationId, {
      userId: viewer.userId,
      action: "import.discard",
      entity: "ImportBatch",
      entityId: batchId,
      before: { fileName: batch.fileName, rows: batch.rowCount },
    });
    return success(null);
  });
}

/**
 * Asks for work on a batch: a small one is worked on at once, a large one by the worker, in the
 * transaction that `prepare` shares.
 */
async function startWork(
  viewer: Viewer,
  batchId: string,
  work: ImportWork,
  today: CalendarDay,
  prepare: (client: TenantClient, batch: ImportBatch) => Promise<Outcome<null>>,
): Promise<Outcome<null>> {
  const { organizationId, userId } = viewer;
  const job: ImportJob = { organizationId, batchId, work, userId, today };
  const asked = await undoRefused(() =>
    withSql(viewer, async (client) => {
      const batch = isId(batchId) ? await findBatch(client, batchId) : null;
      if (!batch) throw refuse("There is no such file here.");
      if (!(await askForWork(client, batchId, work, STALE_SECONDS))) {
        throw refuse(
          batch.work === null
            ? "This can no longer be done: load the page again."
            : "This file is being worked on: wait until that is done.",
        );
      }
      const prepared = await prepare(client, batch);
      if (!prepared.ok) throw new Refused(prepared.problems);
      const isSmall = batch.rowCount <= ROWS_AT_ONCE;
      if (!isSmall) await enqueueJob(client, "import", job);
      return { isSmall };
    }),
  );
  if (!asked.ok) return asked;
  if (asked.value.isSmall) {
    await executeImportWork(job, { signal: new AbortController().signal });
  }
  return success(null);
}
