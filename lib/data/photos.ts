import type pg from "pg";
import type { SurveyItem } from "@/lib/core/heaters/readiness";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** A picture of a heater's place, without its bytes. */
export type SurveyPhoto = {
  readonly id: string;
  readonly heaterId: string;
  /** Survey item that it shows; null for the place as a whole. */
  readonly item: SurveyItem | null;
  readonly byteCount: number;
  readonly takenOn: CalendarDay;
  readonly takenBy: string;
};

const COLUMNS = `id, "heaterId", item, "byteCount", "takenOn", "takenBy"`;

export async function listPhotos(
  client: pg.ClientBase,
  heaterId: string,
): Promise<readonly SurveyPhoto[]> {
  const { rows } = await client.query<SurveyPhoto>(
    `SELECT ${COLUMNS} FROM "SurveyPhoto" WHERE "heaterId" = $1 ORDER BY "createdAt", id`,
    [heaterId],
  );
  return rows;
}

/** @returns false when this picture is kept already: it was sent twice. */
export async function insertPhoto(
  client: pg.ClientBase,
  organizationId: string,
  photo: Omit<SurveyPhoto, "byteCount"> & { readonly bytes: Uint8Array },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `INSERT INTO "SurveyPhoto"
       (id, "organizationId", "heaterId", item, bytes, "byteCount", "takenOn", "takenBy")
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (id) DO NOTHING`,
    [
      photo.id,
      organizationId,
      photo.heaterId,
      photo.item,
      Buffer.from(photo.bytes),
      photo.bytes.byteLength,
      photo.takenOn,
      photo.takenBy,
    ],
  );
  return rowCount === 1;
}

export async function countPhotos(client: pg.ClientBase, heaterId: string): Promise<number> {
  const { rows } = await client.query<{ count: number }>(
    'SELECT count(*) FROM "SurveyPhoto" WHERE "heaterId" = $1',
    [heaterId],
  );
  return rows[0]?.count ?? 0;
}

/** The bytes of a picture; null when there is none of this id. */
export async function findPhotoBytes(
  client: pg.ClientBase,
  id: string,
): Promise<Uint8Array | null> {
  const { rows } = await client.query<{ bytes: Buffer }>(
    'SELECT bytes FROM "SurveyPhoto" WHERE id = $1',
    [id],
  );
  return rows[0]?.bytes ?? null;
}

/** Takes a picture off the record; gives what it was, or null. */
export async function deletePhoto(client: pg.ClientBase, id: string): Promise<SurveyPhoto | null> {
  const { rows } = await client.query<SurveyPhoto>(
    `DELETE FROM "SurveyPhoto" WHERE id = $1 RETURNING ${COLUMNS}`,
    [id],
  );
  return rows[0] ?? null;
}
