import "server-only";
import { z } from "zod";
import { type ColumnMapping, checkMapping } from "@/lib/core/exchange/column-mapping";
import type { ImportOptions } from "@/lib/core/exchange/import-batch";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { writeAudit } from "@/lib/data/audit";
import {
  askForWork,
  discardBatch,
  findBatch,
  findProgress,
  type ImportBatch,
  type ImportProgress,
  type ImportWork,
  saveMapping,
  saveOptions,
} from "@/lib/data/imports";
import { enqueueJob } from "@/lib/data/job-queue";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { executeImportWork, type ImportJob } from "./bring-in-run";
import { Refused, refuse, undoRefused } from "./import/refused";
import { stageFile, type Upload } from "./import/stage-file";
import { requireAction, type Viewer } from "./viewer";

/** Batches of at most so many rows are worked on at once, within the request that asks for it. */
const ROWS_AT_ONCE = 2_000;

/** Work that gave no sign of life for so long is taken for dead, and may be asked for again. */
const STALE_SECONDS = 60;

/**
 * Takes a file in: keeps its rows as they are, and guesses its columns. Nothing of the record is
 * written. Of a file that cannot be read nothing is left, and one problem says why.
 */
export async function receiveFile(
  viewer: Viewer,
  upload: Upload,
  today: CalendarDay,
): Promise<Outcome<{ readonly batchId: string }>> {
  requireAction(viewer, "import.run");
  return stageFile(viewer, upload, today);
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

/** Starts work again that has given no sign of life; it was all undone when it broke off. */
export async function resumeWork(
  viewer: Viewer,
  batchId: string,
  today: CalendarDay,
): Promise<Outcome<null>> {
  requireAction(viewer, "import.run");
  const work = (await readBatch(viewer, batchId))?.work;
  if (!work) return failure({ path: "", message: "Nothing is under way: load the page again." });
  return startWork(viewer, batchId, work, today, async () => success(null));
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
