import type pg from "pg";
import type { ColumnMapping } from "@/lib/core/exchange/column-mapping";
import type {
  ImportColumn,
  ImportFile,
  ImportOptions,
  ImportSummary,
  VerdictCounts,
} from "@/lib/core/exchange/import-batch";
import type { TableRow } from "@/lib/core/exchange/read-heater-row";
import type { RecordChange } from "@/lib/core/exchange/record-changes";
import type { HeaterFacts, HomeFacts, RetirementFacts } from "@/lib/core/exchange/record-facts";
import type { Problem } from "@/lib/core/shared/outcome";
import { listColumns, writeThroughStage } from "./import-stage";

/**
 * Files on their way into the record: batches, their rows in chunks, and what is to be said of single
 * rows. What they do to the record itself is in `import-writes` and `import-undo`.
 */

export type ImportStatus = "staged" | "committed" | "undone" | "discarded";
export type ImportWork = "check" | "commit" | "undo";

export type ImportBatch = {
  readonly id: string;
  readonly fileName: string;
  readonly file: ImportFile;
  readonly signature: string | null;
  readonly status: ImportStatus;
  readonly columns: readonly ImportColumn[];
  readonly mapping: ColumnMapping;
  readonly options: ImportOptions;
  readonly rowCount: number;
  readonly addedCount: number;
  readonly changedCount: number;
  readonly unchangedCount: number;
  readonly refusedCount: number;
  readonly summary: ImportSummary | null;
  readonly fingerprint: string | null;
  readonly work: ImportWork | null;
  readonly progress: number;
  /** Seconds since the work gave its last sign of life. */
  readonly silentSeconds: number | null;
  readonly message: string | null;
  readonly createdBy: string | null;
  readonly createdAt: Date;
  readonly committedAt: Date | null;
  readonly undoneAt: Date | null;
};

/** A batch as the list shows it. */
export type ImportBatchLine = Pick<
  ImportBatch,
  | "id"
  | "fileName"
  | "status"
  | "rowCount"
  | "addedCount"
  | "changedCount"
  | "unchangedCount"
  | "refusedCount"
  | "fingerprint"
  | "work"
  | "createdAt"
  | "committedAt"
  | "undoneAt"
> & { readonly createdByName: string | null };

/** Where the work on a batch stands. */
export type ImportProgress = Pick<ImportBatch, "work" | "progress" | "message" | "silentSeconds">;

/** Text that a jsonb value can hold: no null character and no half of a surrogate pair. */
function storable(value: unknown): string {
  return JSON.stringify(value, (_key, inner: unknown) =>
    typeof inner === "string" ? storableText(inner) : inner,
  );
}

const HALF_OF_PAIR = /[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/g;

function storableText(text: string): string {
  return text.replaceAll("\u0000", "\uFFFD").replace(HALF_OF_PAIR, "\uFFFD");
}

export type NewBatch = Pick<
  ImportBatch,
  "id" | "fileName" | "file" | "columns" | "mapping" | "options" | "rowCount"
> & { readonly signature: string; readonly createdBy: string };

export async function insertBatch(
  client: pg.ClientBase,
  organizationId: string,
  batch: NewBatch,
): Promise<void> {
  await client.query(
    `INSERT INTO "ImportBatch"
       (id, "organizationId", "fileName", file, signature, columns, mapping, options, "rowCount", "createdBy")
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
    [
      batch.id,
      organizationId,
      storableText(batch.fileName),
      storable(batch.file),
      batch.signature,
      storable(batch.columns),
      storable(batch.mapping),
      storable(batch.options),
      batch.rowCount,
      batch.createdBy,
    ],
  );
}

export async function findBatch(client: pg.ClientBase, id: string): Promise<ImportBatch | null> {
  const { rows } = await client.query<ImportBatch>(
    `SELECT id, "fileName", file, signature, status, columns, mapping, options, "rowCount",
       "addedCount", "changedCount", "unchangedCount", "refusedCount", summary, fingerprint, work,
       progress, extract(epoch FROM now() - "workAt")::float8 AS "silentSeconds", message,
       "createdBy", "createdAt", "committedAt", "undoneAt"
     FROM "ImportBatch" WHERE id = $1`,
    [id],
  );
  return rows[0] ?? null;
}

/** Batches, the latest first. */
export async function listBatches(
  client: pg.ClientBase,
  limit: number,
): Promise<readonly ImportBatchLine[]> {
  const { rows } = await client.query<ImportBatchLine>(
    `SELECT i.id, i."fileName", i.status, i."rowCount", i."addedCount", i."changedCount",
       i."unchangedCount", i."refusedCount", i.fingerprint, i.work, i."createdAt", i."committedAt",
       i."undoneAt", u.name AS "createdByName"
     FROM "ImportBatch" i LEFT JOIN "User" u ON u.id = i."createdBy"
     ORDER BY i."createdAt" DESC LIMIT $1`,
    [limit],
  );
  return rows;
}

/** The last mapping that was checked for a file with the same headings, and those headings. */
export async function findEarlierMapping(
  client: pg.ClientBase,
  signature: string,
): Promise<{ readonly headers: readonly string[]; readonly mapping: ColumnMapping } | null> {
  const { rows } = await client.query<Pick<ImportBatch, "columns" | "mapping">>(
    `SELECT columns, mapping FROM "ImportBatch"
     WHERE signature = $1 AND fingerprint IS NOT NULL
     ORDER BY "createdAt" DESC LIMIT 1`,
    [signature],
  );
  const [found] = rows;
  return found
    ? { headers: found.columns.map(({ guess }) => guess.header), mapping: found.mapping }
    : null;
}

/** Keeps a mapping; what a check found under another one no longer holds. */
export async function saveMapping(
  client: pg.ClientBase,
  id: string,
  mapping: ColumnMapping,
  options: ImportOptions,
): Promise<void> {
  await client.query(
    `UPDATE "ImportBatch" SET mapping = $2, options = $3, fingerprint = NULL, summary = NULL
     WHERE id = $1`,
    [id, storable(mapping), storable(options)],
  );
}

export async function saveOptions(
  client: pg.ClientBase,
  id: string,
  options: ImportOptions,
): Promise<void> {
  await client.query('UPDATE "ImportBatch" SET options = $2 WHERE id = $1', [
    id,
    storable(options),
  ]);
}

// ---- work on a batch ----

/**
 * Notes that work on a batch is asked for.
 * @param staleSeconds work that has been silent for longer is taken for dead and may be asked for again
 * @returns false when other work on it is under way, or the batch is not in a state for it
 */
export async function askForWork(
  client: pg.ClientBase,
  id: string,
  work: ImportWork,
  staleSeconds: number,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "ImportBatch" SET work = $2, progress = 0, "workAt" = now(), message = NULL
     WHERE id = $1 AND status = $3
       AND (work IS NULL OR "workAt" < now() - make_interval(secs => $4))`,
    [id, work, work === "undo" ? "committed" : "staged", staleSeconds],
  );
  return rowCount === 1;
}

/** A sign of life; false when the work is no longer wanted. */
export async function noteProgress(
  client: pg.ClientBase,
  id: string,
  work: ImportWork,
  progress: number,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "ImportBatch" SET progress = $3, "workAt" = now() WHERE id = $1 AND work = $2`,
    [id, work, progress],
  );
  return rowCount === 1;
}

/** Ends the work on a batch without its result. */
export async function endWork(
  client: pg.ClientBase,
  id: string,
  message: string | null,
): Promise<void> {
  await client.query(
    `UPDATE "ImportBatch" SET work = NULL, progress = 0, message = $2 WHERE id = $1`,
    [id, message],
  );
}

export async function findProgress(
  client: pg.ClientBase,
  id: string,
): Promise<ImportProgress | null> {
  const { rows } = await client.query<ImportProgress>(
    `SELECT work, progress, message, extract(epoch FROM now() - "workAt")::float8 AS "silentSeconds"
     FROM "ImportBatch" WHERE id = $1`,
    [id],
  );
  return rows[0] ?? null;
}

/** Keeps what a check found and ends it. */
export async function endCheck(
  client: pg.ClientBase,
  id: string,
  found: {
    readonly counts: VerdictCounts;
    readonly summary: ImportSummary;
    readonly fingerprint: string;
    readonly message: string | null;
  },
): Promise<void> {
  const { counts } = found;
  await client.query(
    `UPDATE "ImportBatch" SET "addedCount" = $2, "changedCount" = $3, "unchangedCount" = $4,
       "refusedCount" = $5, summary = $6, fingerprint = $7, message = $8, work = NULL, progress = 1
     WHERE id = $1`,
    [
      id,
      counts.add,
      counts.change,
      counts.same,
      counts.refuse,
      storable(found.summary),
      found.fingerprint,
      found.message,
    ],
  );
}

export async function endCommit(client: pg.ClientBase, id: string): Promise<void> {
  await client.query(
    `UPDATE "ImportBatch" SET status = 'committed', "committedAt" = now(), work = NULL, progress = 1
     WHERE id = $1`,
    [id],
  );
}

export async function endUndo(
  client: pg.ClientBase,
  id: string,
  summary: ImportSummary,
): Promise<void> {
  await client.query(
    `UPDATE "ImportBatch" SET status = 'undone', "undoneAt" = now(), summary = $2, work = NULL,
       progress = 1
     WHERE id = $1`,
    [id, storable(summary)],
  );
}

/** Puts a staged batch aside with its rows; false when it is not staged, or work on it is under way. */
export async function discardBatch(client: pg.ClientBase, id: string): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "ImportBatch" SET status = 'discarded'
     WHERE id = $1 AND status = 'staged' AND work IS NULL`,
    [id],
  );
  if (rowCount !== 1) return false;
  await client.query('DELETE FROM "ImportChunk" WHERE "batchId" = $1', [id]);
  await client.query('DELETE FROM "ImportRow" WHERE "batchId" = $1', [id]);
  return true;
}

/** Lets one batch at a time write into an organisation's record; freed with the transaction. */
export async function lockImports(client: pg.ClientBase, organizationId: string): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", [
    `import ${organizationId}`,
  ]);
}

// ---- rows ----

/** Rows kept in one line of the table. */
export const CHUNK_ROWS = 2_500;

export async function insertChunk(
  client: pg.ClientBase,
  organizationId: string,
  batchId: string,
  number: number,
  rows: readonly TableRow[],
): Promise<void> {
  await client.query(
    `INSERT INTO "ImportChunk" ("batchId", number, "organizationId", "firstRow", "lastRow", rows)
     VALUES ($1, $2, $3, $4, $5, $6)`,
    [
      batchId,
      number,
      organizationId,
      rows[0].rowNumber,
      rows[rows.length - 1].rowNumber,
      JSON.stringify(rows.map(({ rowNumber, cells }) => [rowNumber, cells])),
    ],
  );
}

export type ImportChunk = {
  readonly number: number;
  readonly rows: readonly TableRow[];
  /** A letter for each row; null before the first check. */
  readonly verdicts: string | null;
};

type ChunkRow = { readonly rows: string; readonly verdicts: string | null };

/** One chunk of a batch's rows, counted from 0; null behind the last. */
export async function readChunk(
  client: pg.ClientBase,
  batchId: string,
  number: number,
): Promise<ImportChunk | null> {
  const { rows } = await client.query<ChunkRow>(
    'SELECT rows, verdicts FROM "ImportChunk" WHERE "batchId" = $1 AND number = $2',
    [batchId, number],
  );
  const [found] = rows;
  return found ? { number, rows: parseRows(found.rows), verdicts: found.verdicts } : null;
}

/** Rows by number, in order. */
export async function readRows(
  client: pg.ClientBase,
  batchId: string,
  rowNumbers: readonly number[],
): Promise<readonly TableRow[]> {
  if (rowNumbers.length === 0) return [];
  const { rows } = await client.query<ChunkRow>(
    `SELECT rows, verdicts FROM "ImportChunk" c WHERE "batchId" = $1
       AND EXISTS (SELECT FROM unnest($2::int[]) n WHERE n BETWEEN c."firstRow" AND c."lastRow")
     ORDER BY number`,
    [batchId, rowNumbers],
  );
  const wanted = new Set(rowNumbers);
  return rows.flatMap((chunk) =>
    parseRows(chunk.rows).filter(({ rowNumber }) => wanted.has(rowNumber)),
  );
}

function parseRows(text: string): readonly TableRow[] {
  const rows = JSON.parse(text) as readonly (readonly [number, readonly string[]])[];
  return rows.map(([rowNumber, cells]) => ({ rowNumber, cells }));
}

/** The verdict letters of all chunks, in order. */
export async function readVerdicts(
  client: pg.ClientBase,
  batchId: string,
): Promise<readonly { readonly number: number; readonly verdicts: string }[]> {
  const { rows } = await client.query<{ number: number; verdicts: string }>(
    `SELECT number, verdicts FROM "ImportChunk"
     WHERE "batchId" = $1 AND verdicts IS NOT NULL ORDER BY number`,
    [batchId],
  );
  return rows;
}

export async function saveVerdicts(
  client: pg.ClientBase,
  batchId: string,
  number: number,
  verdicts: string,
): Promise<void> {
  await client.query(
    'UPDATE "ImportChunk" SET verdicts = $3 WHERE "batchId" = $1 AND number = $2',
    [batchId, number, verdicts],
  );
}

/** The replaced values that an undo puts back. */
export type ReplacedValues = {
  /** Version of the heater once it was changed; another one says that it was edited since. */
  readonly version?: number;
  /** The heater's replaced columns. */
  readonly heater?: Readonly<Partial<HeaterFacts & { buildingId: string; unitId: string | null }>>;
  /** The end that stood before, where the row changed one. */
  readonly retirement?: RetirementFacts;
  readonly home?: {
    readonly unitId: string;
    readonly before: HomeFacts;
    readonly after: HomeFacts;
  };
};

/** A row of which there is something to say. */
export type RowNote = {
  readonly rowNumber: number;
  readonly verdict: "add" | "change" | "refuse";
  readonly tag: string | null;
  readonly heaterId: string | null;
  readonly problems: readonly Problem[] | null;
  readonly changes: readonly RecordChange[] | null;
  readonly before: ReplacedValues | null;
};

export async function deleteNotes(client: pg.ClientBase, batchId: string): Promise<void> {
  await client.query('DELETE FROM "ImportRow" WHERE "batchId" = $1', [batchId]);
}

const NOTE_STAGE = {
  rowNumber: "int",
  verdict: "text",
  tag: "text",
  heaterId: "uuid",
  problems: "jsonb",
  changes: "jsonb",
  before: "jsonb",
};
const NOTE_COLUMNS = Object.keys(NOTE_STAGE);

/** Keeps what there is to say of rows. */
export async function insertNotes(
  client: pg.ClientBase,
  organizationId: string,
  batchId: string,
  notes: readonly RowNote[],
): Promise<void> {
  if (notes.length === 0) return;
  await writeThroughStage(client, "import_note", NOTE_STAGE, encodeNotes(notes), [
    [
      `INSERT INTO "ImportRow" ("batchId", "organizationId", ${listColumns(NOTE_COLUMNS)})
       SELECT $1, $2, ${listColumns(NOTE_COLUMNS)} FROM import_note`,
      [batchId, organizationId],
    ],
  ]);
}

function* encodeNotes(notes: readonly RowNote[]): Generator<readonly (string | number | null)[]> {
  const json = (value: unknown) => (value === null ? null : storable(value));
  for (const note of notes) {
    yield [
      note.rowNumber,
      note.verdict,
      note.tag === null ? null : storableText(note.tag),
      note.heaterId,
      json(note.problems),
      json(note.changes),
      json(note.before),
    ];
  }
}

/** A page of the rows of one verdict that have a note, by row number. */
export async function listNotes(
  client: pg.ClientBase,
  batchId: string,
  verdict: RowNote["verdict"],
  { limit, offset }: { readonly limit: number; readonly offset: number },
): Promise<readonly RowNote[]> {
  const { rows } = await client.query<RowNote>(
    `SELECT ${listColumns(NOTE_COLUMNS)} FROM "ImportRow"
     WHERE "batchId" = $1 AND verdict = $2 ORDER BY "rowNumber" LIMIT $3 OFFSET $4`,
    [batchId, verdict, limit, offset],
  );
  return rows;
}

/** Notes of the refused rows among some that follow one another. */
export async function listRefusals(
  client: pg.ClientBase,
  batchId: string,
  rows: readonly TableRow[],
): Promise<readonly Pick<RowNote, "rowNumber" | "problems">[]> {
  const { rows: notes } = await client.query<Pick<RowNote, "rowNumber" | "problems">>(
    `SELECT "rowNumber", problems FROM "ImportRow"
     WHERE "batchId" = $1 AND verdict = 'refuse' AND "rowNumber" BETWEEN $2 AND $3`,
    [batchId, rows[0].rowNumber, rows[rows.length - 1].rowNumber],
  );
  return notes;
}
