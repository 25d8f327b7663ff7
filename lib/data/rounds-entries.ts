import type pg from "pg";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { RoundStatus, StopStatus } from "./rounds";

/** A stop with what decides whether an entry can be taken; nobody else changes it until the commit. */
export type LockedStop = {
  readonly stopId: string;
  readonly roundId: string;
  readonly roundStatus: RoundStatus;
  readonly stopStatus: StopStatus;
};

export async function lockStop(
  client: pg.ClientBase,
  roundId: string,
  stopId: string,
): Promise<LockedStop | null> {
  // The round first, always: two entries of one round wait for each other and never in a ring.
  const round = await client.query<{ status: RoundStatus }>(
    'SELECT status FROM "Round" WHERE id = $1 FOR UPDATE',
    [roundId],
  );
  const stop = await client.query<{ status: StopStatus }>(
    'SELECT status FROM "RoundStop" WHERE id = $1 AND "roundId" = $2 FOR UPDATE',
    [stopId, roundId],
  );
  if (!round.rows[0] || !stop.rows[0]) return null;
  return { roundId, stopId, roundStatus: round.rows[0].status, stopStatus: stop.rows[0].status };
}

export type EntryRow = {
  readonly key: string;
  readonly stopId: string;
  readonly outcome: "done" | "no-access" | "taken-back";
  readonly enteredBy: string;
  readonly personName: string;
  readonly isTakenBack: boolean;
};

const ENTRY = `SELECT key, "stopId", outcome, "enteredBy", "personName",
  "takenBackAt" IS NOT NULL AS "isTakenBack" FROM "RoundEntry"`;

export async function findEntry(client: pg.ClientBase, key: string): Promise<EntryRow | null> {
  const { rows } = await client.query<EntryRow>(`${ENTRY} WHERE key = $1`, [key]);
  return rows[0] ?? null;
}

/** What was recorded at a stop and stands, the latest first. */
export async function listStandingEntries(
  client: pg.ClientBase,
  stopId: string,
): Promise<readonly EntryRow[]> {
  const { rows } = await client.query<EntryRow>(
    `${ENTRY} WHERE "stopId" = $1 AND "takenBackAt" IS NULL ORDER BY "receivedAt" DESC, key`,
    [stopId],
  );
  return rows;
}

export async function insertEntry(
  client: pg.ClientBase,
  organizationId: string,
  entry: {
    readonly key: string;
    readonly roundId: string;
    readonly stopId: string;
    readonly outcome: EntryRow["outcome"];
    readonly body: unknown;
    readonly enteredBy: string;
    readonly personName: string;
    readonly isTakenBack: boolean;
  },
): Promise<void> {
  await client.query(
    `INSERT INTO "RoundEntry" ("organizationId", key, "roundId", "stopId", outcome, body,
       "enteredBy", "personName", "takenBackAt")
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, CASE WHEN $9 THEN now() END)`,
    [
      organizationId,
      entry.key,
      entry.roundId,
      entry.stopId,
      entry.outcome,
      JSON.stringify(entry.body),
      entry.enteredBy,
      entry.personName,
      entry.isTakenBack,
    ],
  );
}

export async function markTakenBack(client: pg.ClientBase, key: string): Promise<void> {
  await client.query('UPDATE "RoundEntry" SET "takenBackAt" = now() WHERE key = $1', [key]);
}

/**
 * Sets the state of a stop and, with it, that of its round: done when no stop is open any more,
 * planned again when one is. A cancelled round stays cancelled.
 */
export async function setStopStatus(
  client: pg.ClientBase,
  { roundId, stopId }: Pick<LockedStop, "roundId" | "stopId">,
  status: StopStatus,
  by: string,
): Promise<void> {
  await client.query(
    `UPDATE "RoundStop" SET status = $2::text, "closedAt" = CASE WHEN $2 = 'open' THEN NULL ELSE now() END,
       "closedBy" = CASE WHEN $2 = 'open' THEN NULL ELSE $3::text END WHERE id = $1`,
    [stopId, status, by],
  );
  await client.query(
    `UPDATE "Round" r SET version = version + 1, "updatedAt" = now(), status = CASE
         WHEN r.status = 'cancelled' THEN r.status
         WHEN EXISTS (SELECT FROM "RoundStop" s WHERE s."roundId" = r.id AND s.status = 'open')
           THEN 'planned'
         ELSE 'done' END
     WHERE r.id = $1`,
    [roundId],
  );
}

/** The day on which a heater left service; null in service. */
export async function listRetirementDays(
  client: pg.ClientBase,
  heaterIds: readonly string[],
): Promise<ReadonlyMap<string, CalendarDay>> {
  const { rows } = await client.query<{ heaterId: string; latest: CalendarDay }>(
    'SELECT "heaterId", latest FROM "Retirement" WHERE "heaterId" = ANY ($1)',
    [heaterIds],
  );
  return new Map(rows.map(({ heaterId, latest }) => [heaterId, latest]));
}

// ---- photos ----

/** The visit of an entry on a heater, with how many photos it has; null when there is none. */
export async function findVisitOfEntry(
  client: pg.ClientBase,
  entryKey: string,
  heaterId: string,
): Promise<{ readonly visitId: string; readonly photos: number } | null> {
  const { rows } = await client.query<{ visitId: string; photos: number }>(
    `SELECT v.id AS "visitId",
       (SELECT count(*) FROM "VisitPhoto" f WHERE f."visitId" = v.id) AS photos
     FROM "ServiceVisit" v WHERE v."entryKey" = $1 AND v."heaterId" = $2 FOR UPDATE OF v`,
    [entryKey, heaterId],
  );
  return rows[0] ?? null;
}

export async function hasPhoto(client: pg.ClientBase, photoId: string): Promise<boolean> {
  const { rowCount } = await client.query('SELECT FROM "VisitPhoto" WHERE id = $1', [photoId]);
  return rowCount === 1;
}

export async function insertPhoto(
  client: pg.ClientBase,
  organizationId: string,
  photo: {
    readonly id: string;
    readonly visitId: string;
    readonly contentType: string;
    readonly bytes: Uint8Array;
  },
): Promise<void> {
  await client.query(
    `INSERT INTO "VisitPhoto" (id, "organizationId", "visitId", "contentType", bytes, "byteCount")
     VALUES ($1, $2, $3, $4, $5, $6)`,
    [
      photo.id,
      organizationId,
      photo.visitId,
      photo.contentType,
      Buffer.from(photo.bytes),
      photo.bytes.byteLength,
    ],
  );
}

export async function readPhotoBytes(
  client: pg.ClientBase,
  photoId: string,
): Promise<{ readonly contentType: string; readonly bytes: Uint8Array } | null> {
  const { rows } = await client.query<{ contentType: string; bytes: Buffer }>(
    'SELECT "contentType", bytes FROM "VisitPhoto" WHERE id = $1',
    [photoId],
  );
  return rows[0] ?? null;
}
