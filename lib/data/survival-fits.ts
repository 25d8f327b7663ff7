import type pg from "pg";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { FitReport } from "@/lib/core/survival/fit-report";
import type { SurvivalModel } from "@/lib/core/survival/model";
import type { BackTestReport } from "@/lib/core/survival/run-back-test";

export type FitStatus = "queued" | "running" | "done" | "failed" | "cancelled";
export type BackTestStatus = "none" | "queued" | "running" | "done" | "failed";

/** A fit as a list shows it. */
export type FitRow = {
  readonly id: string;
  readonly number: number;
  readonly status: FitStatus;
  /** Share of the work that is done, 0 to 1. */
  readonly progress: number;
  /** What is being done, or why it ended without a model. */
  readonly message: string | null;
  readonly asOf: CalendarDay;
  readonly method: string;
  readonly fingerprint: string | null;
  readonly isAdopted: boolean;
  readonly adoptsItself: boolean;
  /** Null where it was taken into use without a person. */
  readonly adoptedBy: string | null;
  readonly adoptedAt: Date | null;
  readonly requestedBy: string | null;
  readonly createdAt: Date;
  readonly finishedAt: Date | null;
  readonly records: number | null;
  readonly failures: number | null;
  readonly backTestStatus: BackTestStatus;
  readonly backTestProgress: number;
  readonly backTestMessage: string | null;
  readonly verdict: BackTestReport["verdict"] | null;
};

/** A fit with all that was found. */
export type FitRecord = FitRow & {
  readonly report: FitReport | null;
  readonly backTest: BackTestReport | null;
};

const ROW_COLUMNS = `f.id, f.number, f.status, f.progress, f.message, f."asOf", f.method,
  f.fingerprint, f."isAdopted", f."adoptsItself", a.name AS "adoptedBy", f."adoptedAt",
  r.name AS "requestedBy", f."createdAt", f."finishedAt",
  (f.report -> 'counts' ->> 'used')::int AS records,
  (f.report -> 'counts' ->> 'failures')::int AS failures,
  f."backTestStatus", f."backTestProgress", f."backTestMessage", f."backTest" -> 'verdict' AS verdict`;
const FROM = `FROM "SurvivalFit" f LEFT JOIN "User" a ON a.id = f."adoptedBy"
  LEFT JOIN "User" r ON r.id = f."requestedBy"`;

/** All fits, the latest first. */
export async function listFits(client: pg.ClientBase): Promise<readonly FitRow[]> {
  const { rows } = await client.query<FitRow>(
    `SELECT ${ROW_COLUMNS} ${FROM} ORDER BY f.number DESC`,
  );
  return rows;
}

export async function findFit(client: pg.ClientBase, id: string): Promise<FitRecord | null> {
  return findOne(client, "f.id = $1", [id]);
}

/** The fit in use; null when none is, or the one in use is of a method no longer read. */
export async function findAdoptedFit(
  client: pg.ClientBase,
  method: string,
): Promise<FitRecord | null> {
  return findOne(client, 'f."isAdopted" AND f.method = $1', [method]);
}

async function findOne(
  client: pg.ClientBase,
  where: string,
  values: readonly unknown[],
): Promise<FitRecord | null> {
  const { rows } = await client.query<FitRecord>(
    `SELECT ${ROW_COLUMNS}, f.report, f."backTest" ${FROM} WHERE ${where}`,
    [...values],
  );
  return rows[0] ?? null;
}

/**
 * The model of the adopted fit; null when none is adopted, or the adopted one was made by a method
 * whose models this program no longer reads.
 */
export async function findAdoptedModel(
  client: pg.ClientBase,
  method: string,
): Promise<SurvivalModel | null> {
  const { rows } = await client.query<{ model: SurvivalModel }>(
    'SELECT model FROM "SurvivalFit" WHERE "isAdopted" AND method = $1',
    [method],
  );
  return rows[0]?.model ?? null;
}

/** Number of the fit whose model {@link findAdoptedModel} gives, without reading the model. */
export async function findAdoptedNumber(
  client: pg.ClientBase,
  method: string,
): Promise<number | null> {
  const { rows } = await client.query<{ number: number }>(
    'SELECT number FROM "SurvivalFit" WHERE "isAdopted" AND method = $1',
    [method],
  );
  return rows[0]?.number ?? null;
}

// ---- asking for a fit ----

/** Serialises what changes the list of an organisation's fits; freed with the transaction. */
export async function lockFits(client: pg.ClientBase, organizationId: string): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", [
    `survival-fits ${organizationId}`,
  ]);
}

/** Adds a fit that waits for a worker. To be called under {@link lockFits}. */
export async function insertFit(
  client: pg.ClientBase,
  organizationId: string,
  fit: {
    readonly asOf: CalendarDay;
    readonly method: string;
    readonly requestedBy: string | null;
    readonly adoptsItself: boolean;
  },
): Promise<{ readonly id: string; readonly number: number }> {
  const { rows } = await client.query<{ id: string; number: number }>(
    `INSERT INTO "SurvivalFit"
       (id, "organizationId", number, "asOf", method, "requestedBy", "adoptsItself", message)
     SELECT gen_random_uuid(), $1::uuid, COALESCE(max(number), 0) + 1, $2::date, $3, $4, $5::boolean,
       'Waiting for a worker'
     FROM "SurvivalFit" RETURNING id, number`,
    [organizationId, fit.asOf, fit.method, fit.requestedBy, fit.adoptsItself],
  );
  return rows[0] as { id: string; number: number };
}

// ---- the work ----

/** Takes a fit that waits, or whose worker died, from the start; null when it has ended. */
export async function claimFit(
  client: pg.ClientBase,
  id: string,
): Promise<{ readonly number: number; readonly asOf: CalendarDay } | null> {
  const { rows } = await client.query<{ number: number; asOf: CalendarDay }>(
    `UPDATE "SurvivalFit" SET status = 'running', progress = 0, "startedAt" = now(),
       message = 'Reading the record'
     WHERE id = $1 AND status IN ('queued', 'running') RETURNING number, "asOf"`,
    [id],
  );
  return rows[0] ?? null;
}

/** @returns false when the fit is no longer under way: it was cancelled. */
export async function writeFitProgress(
  client: pg.ClientBase,
  id: string,
  progress: number,
  message: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "SurvivalFit" SET progress = $2, message = $3 WHERE id = $1 AND status = 'running'`,
    [id, progress, message],
  );
  return rowCount === 1;
}

/** Puts a fit back so that the queue's next try takes it from the start. */
export async function requeueFit(client: pg.ClientBase, id: string): Promise<void> {
  await client.query(
    `UPDATE "SurvivalFit" SET status = 'queued', progress = 0,
       message = 'The worker was stopped; the fit starts again with the next one'
     WHERE id = $1 AND status = 'running'`,
    [id],
  );
}

/** Ends a fit without a model. One that has ended already keeps its end. */
export async function endFit(
  client: pg.ClientBase,
  id: string,
  status: Extract<FitStatus, "failed" | "cancelled">,
  message: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "SurvivalFit" SET status = $2, message = $3, "finishedAt" = now()
     WHERE id = $1 AND status IN ('queued', 'running')`,
    [id, status, message],
  );
  return rowCount === 1;
}

/**
 * Stores what a fit under way found; its back-test then waits.
 * @returns whether it takes itself into use; null when it was cancelled and nothing was stored
 */
export async function storeFit(
  client: pg.ClientBase,
  id: string,
  found: {
    readonly fingerprint: string;
    readonly model: SurvivalModel;
    readonly report: FitReport;
  },
): Promise<{ readonly adoptsItself: boolean } | null> {
  const { rows } = await client.query<{ adoptsItself: boolean }>(
    `UPDATE "SurvivalFit" SET status = 'done', progress = 1, message = NULL, "finishedAt" = now(),
       fingerprint = $2, model = $3, report = $4, "backTestStatus" = 'queued'
     WHERE id = $1 AND status = 'running' RETURNING "adoptsItself"`,
    [id, found.fingerprint, JSON.stringify(found.model), JSON.stringify(found.report)],
  );
  return rows[0] ?? null;
}

/**
 * Takes a fit into use in place of the one that is, or none with `id` null: published lifetimes then
 * rank. To be called under {@link lockFits}.
 * @returns false when there is no such fit that is done
 */
export async function adoptFit(
  client: pg.ClientBase,
  id: string | null,
  userId: string | null,
): Promise<boolean> {
  await client.query(
    `UPDATE "SurvivalFit" SET "isAdopted" = false WHERE "isAdopted" AND id IS DISTINCT FROM $1`,
    [id],
  );
  if (id === null) return true;
  const { rowCount } = await client.query(
    `UPDATE "SurvivalFit" SET "isAdopted" = true, "adoptedBy" = $2, "adoptedAt" = now()
     WHERE id = $1 AND status = 'done'`,
    [id, userId],
  );
  return rowCount === 1;
}

// ---- the back-test ----

/** Asks for a back-test of a fit that is done; false when there is none or one is under way. */
export async function queueBackTest(client: pg.ClientBase, id: string): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "SurvivalFit" SET "backTestStatus" = 'queued', "backTestProgress" = 0,
       "backTestMessage" = NULL
     WHERE id = $1 AND status = 'done' AND "backTestStatus" NOT IN ('queued', 'running')`,
    [id],
  );
  return rowCount === 1;
}

export async function claimBackTest(
  client: pg.ClientBase,
  id: string,
): Promise<{ readonly asOf: CalendarDay } | null> {
  const { rows } = await client.query<{ asOf: CalendarDay }>(
    `UPDATE "SurvivalFit" SET "backTestStatus" = 'running', "backTestProgress" = 0
     WHERE id = $1 AND status = 'done' AND "backTestStatus" IN ('queued', 'running')
     RETURNING "asOf"`,
    [id],
  );
  return rows[0] ?? null;
}

export async function writeBackTestProgress(
  client: pg.ClientBase,
  id: string,
  progress: number,
): Promise<void> {
  await client.query(
    `UPDATE "SurvivalFit" SET "backTestProgress" = $2
     WHERE id = $1 AND "backTestStatus" = 'running'`,
    [id, progress],
  );
}

export async function requeueBackTest(client: pg.ClientBase, id: string): Promise<void> {
  await client.query(
    `UPDATE "SurvivalFit" SET "backTestStatus" = 'queued', "backTestProgress" = 0
     WHERE id = $1 AND "backTestStatus" = 'running'`,
    [id],
  );
}

export async function endBackTest(
  client: pg.ClientBase,
  id: string,
  end: { readonly backTest: BackTestReport } | { readonly message: string },
): Promise<void> {
  const isDone = "backTest" in end;
  await client.query(
    `UPDATE "SurvivalFit" SET "backTestStatus" = $2, "backTestProgress" = 1,
       "backTestMessage" = $3, "backTest" = $4
     WHERE id = $1 AND "backTestStatus" = 'running'`,
    [
      id,
      isDone ? "done" : "failed",
      isDone ? null : end.message,
      isDone ? JSON.stringify(end.backTest) : null,
    ],
  );
}

// ---- names ----

export type HeaterName = {
  readonly id: string;
  readonly tag: string;
  readonly propertyName: string;
};

/** What people call these heaters, by id. */
export async function nameHeaters(
  client: pg.ClientBase,
  ids: readonly string[],
): Promise<ReadonlyMap<string, HeaterName>> {
  const { rows } = await client.query<HeaterName>(
    `SELECT h.id, h.tag, p.name AS "propertyName" FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId" JOIN "Property" p ON p.id = b."propertyId"
     WHERE h.id = ANY ($1)`,
    [ids],
  );
  return new Map(rows.map((row) => [row.id, row]));
}
