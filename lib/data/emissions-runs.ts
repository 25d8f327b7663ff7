import type pg from "pg";
import type { AccountEntry } from "@/lib/core/emissions/account-entries";
import type { ScopeTotals } from "@/lib/core/emissions/annual-emissions";
import type { FactorRow } from "@/lib/core/emissions/factors";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

export const EMISSIONS_RUN_STATUSES = ["queued", "running", "done", "failed", "cancelled"] as const;
export type EmissionsRunStatus = (typeof EMISSIONS_RUN_STATUSES)[number];

/** What a page that waits for a run shows. */
export type EmissionsRunProgress = {
  readonly status: EmissionsRunStatus;
  /** 0 to 1. */
  readonly progress: number;
  readonly message: string | null;
};

export type EmissionsRunRecord = EmissionsRunProgress & {
  readonly id: string;
  readonly year: number;
  readonly baseYear: number;
  readonly asOf: CalendarDay;
  readonly planRunId: string | null;
  readonly method: string | null;
  readonly fingerprint: string | null;
  readonly stamp: string | null;
  readonly requestedBy: string | null;
  readonly createdAt: Date;
  readonly finishedAt: Date | null;
};

const COLUMNS = `r.id, r.status, r.progress, r.message, r.year, r."baseYear", r."asOf", r."planRunId",
  r.method, r.fingerprint, r.stamp, u.name AS "requestedBy", r."createdAt", r."finishedAt"`;
const FROM = `FROM "EmissionsRun" r LEFT JOIN "User" u ON u.id = r."requestedBy"`;

/** What a run is asked for. */
export type EmissionsRunRequest = {
  readonly year: number;
  readonly baseYear: number;
  readonly asOf: CalendarDay;
  readonly planRunId: string | null;
  readonly requestedBy: string | null;
};

/** @returns the new run's id. */
export async function insertEmissionsRun(
  client: pg.ClientBase,
  organizationId: string,
  run: EmissionsRunRequest,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "EmissionsRun" (id, "organizationId", year, "baseYear", "asOf", "planRunId",
       "requestedBy", message)
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, 'Waiting for a worker') RETURNING id`,
    [organizationId, run.year, run.baseYear, run.asOf, run.planRunId, run.requestedBy],
  );
  return (rows[0] as { id: string }).id;
}

/** A run with what was stored of it; null when there is none. */
export async function findEmissionsRun(
  client: pg.ClientBase,
  id: string,
): Promise<
  | (EmissionsRunRecord & {
      readonly summary: unknown;
      readonly terms: unknown;
      readonly factors: readonly FactorRow[] | null;
    })
  | null
> {
  const { rows } = await client.query(
    `SELECT ${COLUMNS}, r.summary, r.terms, r.factors ${FROM} WHERE r.id = $1`,
    [id],
  );
  return rows[0] ?? null;
}

/** Names of properties and buildings as they stood when a run was made. */
export type RunNames = {
  readonly properties: Readonly<Record<string, string>>;
  readonly buildings: Readonly<Record<string, string>>;
};

export async function readRunNames(client: pg.ClientBase, id: string): Promise<RunNames> {
  const { rows } = await client.query<{ names: RunNames | null }>(
    'SELECT names FROM "EmissionsRun" WHERE id = $1',
    [id],
  );
  return rows[0]?.names ?? { properties: {}, buildings: {} };
}

/** Runs without what was stored of them, the latest first. */
export async function listEmissionsRuns(
  client: pg.ClientBase,
  limit = 50,
): Promise<readonly EmissionsRunRecord[]> {
  const { rows } = await client.query<EmissionsRunRecord>(
    `SELECT ${COLUMNS} ${FROM} ORDER BY r."createdAt" DESC, r.id LIMIT $1`,
    [limit],
  );
  return rows;
}

export async function findEmissionsRunProgress(
  client: pg.ClientBase,
  id: string,
): Promise<EmissionsRunProgress | null> {
  const { rows } = await client.query<EmissionsRunProgress>(
    'SELECT status, progress, message FROM "EmissionsRun" WHERE id = $1',
    [id],
  );
  return rows[0] ?? null;
}

/** Takes a run for computing, also one that a worker that died left half-way. */
export async function claimEmissionsRun(
  client: pg.ClientBase,
  id: string,
): Promise<Omit<EmissionsRunRequest, "requestedBy"> | null> {
  const { rows } = await client.query<Omit<EmissionsRunRequest, "requestedBy">>(
    `UPDATE "EmissionsRun" SET status = 'running', progress = 0, "startedAt" = now(),
       message = 'Reading the record'
     WHERE id = $1 AND status IN ('queued', 'running')
     RETURNING year, "baseYear", "asOf", "planRunId"`,
    [id],
  );
  return rows[0] ?? null;
}

/** @returns false when the run is no longer under way. */
export async function writeEmissionsProgress(
  client: pg.ClientBase,
  id: string,
  progress: number,
  message: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "EmissionsRun" SET progress = $2, message = $3 WHERE id = $1 AND status = 'running'`,
    [id, progress, message],
  );
  return rowCount === 1;
}

/** Ends a run without an account. A run that has ended already keeps its end. */
export async function endEmissionsRun(
  client: pg.ClientBase,
  id: string,
  status: "failed" | "cancelled",
  message: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "EmissionsRun" SET status = $2, message = $3, "finishedAt" = now()
     WHERE id = $1 AND status IN ('queued', 'running')`,
    [id, status, message],
  );
  return rowCount === 1;
}

/** Puts a run back so that the queue's next try takes it from the start. */
export async function requeueEmissionsRun(client: pg.ClientBase, id: string): Promise<void> {
  await client.query(
    `UPDATE "EmissionsRun" SET status = 'queued', progress = 0,
       message = 'The worker was stopped; the account starts again with the next one'
     WHERE id = $1 AND status = 'running'`,
    [id],
  );
}

/** An entry with what a person needs to find the heater. */
export type StoredEntry = AccountEntry & {
  readonly rowNumber: number;
  readonly tag: string | null;
  readonly home: string | null;
  readonly technology: Technology | null;
  /** Location-based. */
  readonly kgCo2e: number;
};

/** Rows sent in one statement. (COPY is not open to a role under row-level security.) */
const ROWS_AT_ONCE = 2_000;

/** Adds rows to a run, in the caller's transaction. */
export async function insertRunEntries(
  client: pg.ClientBase,
  organizationId: string,
  runId: string,
  entries: readonly StoredEntry[],
): Promise<void> {
  for (let from = 0; from < entries.length; from += ROWS_AT_ONCE) {
    await client.query(
      `INSERT INTO "EmissionsRunRow" ("organizationId", "runId", "rowNumber", "propertyId",
         "buildingId", "heaterId", tag, home, technology, activity, "gridRegion", "fromDay", "toDay",
         days, amount, unit, scope, basis, "readingId", note, "kgCo2e")
       SELECT $1, $2, "rowNumber", "propertyId", "buildingId", "heaterId", tag, home, technology,
         activity, "gridRegion", "from", "to", days, amount, unit, scope, basis, "readingId", note,
         "kgCo2e"
       FROM jsonb_to_recordset($3::jsonb) AS entry ("rowNumber" int, "propertyId" uuid,
         "buildingId" uuid, "heaterId" uuid, tag text, home text, technology text, activity text,
         "gridRegion" text, "from" date, "to" date, days int, amount float8, unit text, scope int,
         basis text, "readingId" uuid, note text, "kgCo2e" float8)`,
      [organizationId, runId, JSON.stringify(entries.slice(from, from + ROWS_AT_ONCE))],
    );
  }
}

/** Rows of a run in their order, in pages: memory is that of one page. */
export async function* readRunEntries(
  client: pg.ClientBase,
  runId: string,
  pageSize = 5_000,
): AsyncGenerator<readonly StoredEntry[]> {
  for (let after = 0; ; ) {
    const rows = await readRunEntryPage(client, runId, after, pageSize);
    const last = rows.at(-1);
    if (!last) return;
    yield rows;
    after = last.rowNumber;
  }
}

/** Up to `limit` rows of a run after a row number. */
export async function readRunEntryPage(
  client: pg.ClientBase,
  runId: string,
  after: number,
  limit: number,
): Promise<readonly StoredEntry[]> {
  const { rows } = await client.query<StoredEntry>(
    `SELECT "rowNumber", "propertyId", "buildingId", "heaterId", tag, home, technology, activity,
       "gridRegion", "fromDay" AS "from", "toDay" AS "to", days, amount, unit, scope, basis,
       "readingId", note, "kgCo2e"
     FROM "EmissionsRunRow" WHERE "runId" = $1 AND "rowNumber" > $2
     ORDER BY "rowNumber" LIMIT $3`,
    [runId, after, limit],
  );
  return rows;
}

export const RUN_SERIES = ["achieved", "planned", "unchanged"] as const;
export type RunSeries = (typeof RUN_SERIES)[number];

/** One property's year in a run. */
export type RunYear = {
  readonly propertyId: string;
  readonly year: number;
  readonly series: RunSeries;
  readonly kgCo2e: ScopeTotals;
  readonly heaters: number;
  readonly swaps: number;
  readonly detail: object | null;
};

/** Adds property years to a run, in the caller's transaction. */
export async function insertRunYears(
  client: pg.ClientBase,
  organizationId: string,
  runId: string,
  years: readonly RunYear[],
): Promise<void> {
  for (let from = 0; from < years.length; from += ROWS_AT_ONCE) {
    const part = years.slice(from, from + ROWS_AT_ONCE);
    await client.query(
      `INSERT INTO "EmissionsRunYear" ("organizationId", "runId", "propertyId", year, series,
         "scope1Kg", "scope2LocationKg", "scope2MarketKg", "scope3Kg", heaters, swaps, detail)
       SELECT $1, $2, "propertyId", year, series, "scope1", "scope2Location", "scope2Market", "scope3",
         heaters, swaps, detail
       FROM jsonb_to_recordset($3::jsonb) AS y ("propertyId" uuid, year int, series text,
         "scope1" float8, "scope2Location" float8, "scope2Market" float8, "scope3" float8,
         heaters int, swaps int, detail jsonb)`,
      [
        organizationId,
        runId,
        JSON.stringify(part.map(({ kgCo2e, ...year }) => ({ ...year, ...kgCo2e }))),
      ],
    );
  }
}

type YearRow = Omit<RunYear, "kgCo2e"> & ScopeTotals;

/** Years of a run: of one property, or one year of every property. */
export async function listRunYears(
  client: pg.ClientBase,
  runId: string,
  {
    propertyId = null,
    year = null,
    series = null,
  }: {
    readonly propertyId?: string | null;
    readonly year?: number | null;
    readonly series?: RunSeries | null;
  },
): Promise<readonly RunYear[]> {
  const { rows } = await client.query<YearRow>(
    `SELECT "propertyId", year, series, "scope1Kg" AS "scope1", "scope2LocationKg" AS "scope2Location",
       "scope2MarketKg" AS "scope2Market", "scope3Kg" AS "scope3", heaters, swaps, detail
     FROM "EmissionsRunYear"
     WHERE "runId" = $1 AND ($2::uuid IS NULL OR "propertyId" = $2)
       AND ($3::int IS NULL OR year = $3) AND ($4::text IS NULL OR series = $4)
     ORDER BY "propertyId", series, year`,
    [runId, propertyId, year, series],
  );
  return rows.map(({ scope1, scope2Location, scope2Market, scope3, ...row }) => ({
    ...row,
    kgCo2e: { scope1, scope2Location, scope2Market, scope3 },
  }));
}

export type FinishedAccount = {
  readonly method: string;
  readonly fingerprint: string;
  readonly stamp: string;
  readonly terms: object;
  readonly factors: readonly FactorRow[];
  readonly names: RunNames;
  readonly summary: object;
};

/** Takes away what an earlier try of a run has left. */
export async function clearRun(client: pg.ClientBase, runId: string): Promise<void> {
  await client.query('DELETE FROM "EmissionsRunRow" WHERE "runId" = $1', [runId]);
  await client.query('DELETE FROM "EmissionsRunYear" WHERE "runId" = $1', [runId]);
}

/**
 * Ends a run with its account, in the transaction that wrote its rows.
 * @returns false when the run was cancelled meanwhile: nothing may be stored, roll back.
 */
export async function finishRun(
  client: pg.ClientBase,
  runId: string,
  account: FinishedAccount,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "EmissionsRun" SET status = 'done', progress = 1, message = NULL, "finishedAt" = now(),
       method = $2, fingerprint = $3, stamp = $4, terms = $5, factors = $6, names = $7, summary = $8
     WHERE id = $1 AND status = 'running'`,
    [
      runId,
      account.method,
      account.fingerprint,
      account.stamp,
      JSON.stringify(account.terms),
      JSON.stringify(account.factors),
      JSON.stringify(account.names),
      JSON.stringify(account.summary),
    ],
  );
  return rowCount === 1;
}
