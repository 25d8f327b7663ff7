import { z } from "zod";
import type { ImportSummary } from "@/lib/core/exchange/import-batch";
import { isCalendarDay } from "@/lib/core/shared/calendar-day";
import { writeAudit } from "@/lib/data/audit";
import { undoBatch } from "@/lib/data/import-undo";
import {
  type ImportStamp,
  isImportConflict,
  logHeaterChanges,
  writeWaters,
} from "@/lib/data/import-writes";
import {
  endCheck,
  endCommit,
  endUndo,
  endWork,
  findBatch,
  type ImportBatch,
  type ImportWork,
  lockImports,
  noteProgress,
} from "@/lib/data/imports";
import { refreshRegister } from "@/lib/data/register";
import { type Tenant, type TenantClient, withSql } from "@/lib/data/tenant";
import { passOverRows } from "./import/import-pass";
import type { ImportFindings } from "./import/import-tally";
import { requestRiskPass } from "./risk-scoring";

/** What the queue carries for work on a batch. */
export const importJobSchema = z.object({
  organizationId: z.uuid(),
  batchId: z.uuid(),
  work: z.enum(["check", "commit", "undo"]),
  userId: z.string(),
  /** The day that the person who asked has. */
  today: z.string().refine(isCalendarDay),
});
export type ImportJob = z.output<typeof importJobSchema>;

/** How often progress is written, in milliseconds. */
const BEAT_MILLISECONDS = 400;

/** Why the work ends without its result, in words for the person who asked for it. */
class ImportEnd extends Error {}

/** The record has moved since the preview: the rows are to be looked at again. */
class PreviewOutdated extends Error {}

/**
 * Does the work that was asked for on a batch: each in one transaction, so that a crash leaves the
 * record as it was and the work can be done again. What can no longer be done is left alone.
 *
 * @param signal the worker is stopping: nothing is written, and the queue gives the work out again
 */
export async function executeImportWork(
  data: unknown,
  { signal }: { readonly signal: AbortSignal },
): Promise<void> {
  const job = importJobSchema.parse(data);
  const tenant: Tenant = { organizationId: job.organizationId };
  const isWanted = await withSql(tenant, (client) =>
    noteProgress(client, job.batchId, job.work, 0),
  );
  if (!isWanted) return;
  const reporter = new ProgressReporter(tenant, job);
  try {
    await WORKS[job.work](job, tenant, { signal, onProgress: reporter.report });
  } catch (error) {
    if (signal.aborted) throw error;
    const message =
      error instanceof ImportEnd
        ? error.message
        : `This could not be finished, and nothing was changed: ${messageOf(error)}.`;
    await withSql(tenant, (client) => endWork(client, job.batchId, message));
  } finally {
    await reporter.stop();
  }
}

/**
 * Writes the register's lines of what a batch brought in or took out, so that the next reader of the
 * register need not. A transaction of its own: the batch is in the record whatever becomes of it.
 *
 * @param data the job that has been done
 */
export async function refreshRegisterAfterImport(data: unknown): Promise<void> {
  const { organizationId, work } = importJobSchema.parse(data);
  if (work !== "check") await withSql({ organizationId }, refreshRegister);
}

type Worker = (
  job: ImportJob,
  tenant: Tenant,
  options: { readonly signal: AbortSignal; readonly onProgress: (share: number) => void },
) => Promise<void>;

const WORKS: Readonly<Record<ImportWork, Worker>> = {
  check: (job, tenant, options) => check(job, tenant, options, null),
  commit,
  undo,
};

async function check(
  job: ImportJob,
  tenant: Tenant,
  options: Parameters<Worker>[2],
  message: string | null,
): Promise<void> {
  await withSql(tenant, async (client) => {
    const batch = await stagedBatch(client, job);
    const { organizationId, today } = job;
    const found = await passOverRows(client, batch, { organizationId, today, ...options });
    await endCheck(client, batch.id, { ...found, message });
  });
}

const LOOK_AGAIN =
  "The record changed after this preview was made, so nothing was brought in. This is the preview against the record as it is now: look at it again.";

async function commit(
  job: ImportJob,
  tenant: Tenant,
  options: Parameters<Worker>[2],
): Promise<void> {
  try {
    await withSql(tenant, (client) => commitBatch(client, job, tenant, options));
  } catch (error) {
    if (!(error instanceof PreviewOutdated) && !isImportConflict(error)) throw error;
    await check(job, tenant, options, LOOK_AGAIN);
  }
}

async function commitBatch(
  client: TenantClient,
  job: ImportJob,
  tenant: Tenant,
  options: Parameters<Worker>[2],
): Promise<void> {
  const { organizationId, batchId, userId, today } = job;
  await lockImports(client, organizationId);
  // Given out a second time, the work may have been done while this waited for the lock.
  if ((await findBatch(client, batchId))?.status === "committed") return;
  const batch = await stagedBatch(client, job);
  if (batch.fingerprint === null) {
    throw new ImportEnd("The columns were matched anew: look at the preview first.");
  }
  if (batch.options.allOrNothing && batch.refusedCount > 0) {
    throw new ImportEnd("All or nothing was chosen, and rows are refused: nothing was brought in.");
  }
  const stamp: ImportStamp = {
    organizationId,
    batchId,
    userId,
    today,
    fileName: batch.fileName,
    recordedFrom: batch.options.endsOnRecordSince ?? today,
  };
  const found = await passOverRows(client, batch, { organizationId, today, stamp, ...options });
  if (found.fingerprint !== batch.fingerprint) throw new PreviewOutdated();
  const corrected = await writeWaters(client, stamp, found.waters);
  await logHeaterChanges(client, stamp);
  const summary = withCorrected(found.summary, corrected);
  await endCheck(client, batchId, { ...found, summary, message: null });
  await endCommit(client, batchId);
  await writeAudit(client, organizationId, {
    userId,
    action: "import.commit",
    entity: "ImportBatch",
    entityId: batchId,
    after: { fileName: batch.fileName, rows: batch.rowCount, ...countsOf(found) },
  });
  await requestRiskPass(client, tenant, today);
}

async function undo(job: ImportJob, tenant: Tenant): Promise<void> {
  const { organizationId, batchId, userId, today } = job;
  await withSql(tenant, async (client) => {
    await lockImports(client, organizationId);
    const batch = await findBatch(client, batchId);
    if (batch?.status === "undone") return;
    if (batch?.status !== "committed" || batch.summary === null) {
      throw new ImportEnd("This batch is not in the record any more: there is nothing to undo.");
    }
    const undone = await undoBatch(client, job, correctedWaters(batch.summary));
    await endUndo(client, batchId, { ...batch.summary, undone });
    await writeAudit(client, organizationId, {
      userId,
      action: "import.undo",
      entity: "ImportBatch",
      entityId: batchId,
      before: { fileName: batch.fileName },
      after: undone,
    });
    await requestRiskPass(client, tenant, today);
  });
}

async function stagedBatch(client: TenantClient, { batchId }: ImportJob): Promise<ImportBatch> {
  const batch = await findBatch(client, batchId);
  if (batch?.status !== "staged") {
    throw new ImportEnd("This batch is no longer waiting to be brought in.");
  }
  return batch;
}

function countsOf({ counts, summary }: ImportFindings): Readonly<Record<string, number>> {
  return {
    added: counts.add,
    changed: counts.change,
    unchanged: counts.same,
    refused: counts.refuse,
    newProperties: summary.newProperties.count,
    newBuildings: summary.newBuildings.count,
    newHomes: summary.newHomes.count,
    waterTests: summary.waters.length,
  };
}

function withCorrected(
  summary: ImportSummary,
  corrected: ReadonlyMap<string, string>,
): ImportSummary {
  const waters = summary.waters.map((water) => {
    const correctedTestId = corrected.get(water.propertyId);
    return correctedTestId === undefined ? water : { ...water, correctedTestId };
  });
  return { ...summary, waters };
}

function correctedWaters(summary: ImportSummary): Parameters<typeof undoBatch>[2] {
  return summary.waters.flatMap(({ correctedTestId, before, after }) =>
    correctedTestId === undefined || before === null
      ? []
      : [{ testId: correctedTestId, before, after }],
  );
}

/** Writes progress beside the work's own transaction, so that it can be seen while that is open. */
class ProgressReporter {
  readonly #tenant: Tenant;
  readonly #job: ImportJob;
  #latest = performance.now();
  #writing: Promise<unknown> = Promise.resolve();

  constructor(tenant: Tenant, job: ImportJob) {
    this.#tenant = tenant;
    this.#job = job;
  }

  readonly report = (share: number): void => {
    if (performance.now() - this.#latest < BEAT_MILLISECONDS) return;
    this.#latest = performance.now();
    const { batchId, work } = this.#job;
    // A beat that is lost is followed by another.
    this.#writing = withSql(this.#tenant, (client) =>
      noteProgress(client, batchId, work, share),
    ).catch(() => undefined);
  };

  async stop(): Promise<void> {
    await this.#writing;
  }
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
