import type pg from "pg";
import type { MeterReading, ReadingUnit } from "@/lib/core/energy/meter-readings";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** A reading as it was entered. */
export type ReadingRecord = MeterReading & {
  readonly propertyId: string;
  readonly buildingName: string | null;
  readonly enteredAmount: number;
  readonly enteredUnit: ReadingUnit;
  readonly source: string;
};

const COLUMNS = `r.id, r."propertyId", r."buildingId", b.name AS "buildingName", r.fuel,
  r."fromDay" AS "from", r."toDay" AS "to", r.units, r."otherUnits", r."enteredAmount",
  r."enteredUnit", r.source`;

/** Readings of one property, or of all, in the order of their days. */
export async function listReadings(
  client: pg.ClientBase,
  propertyIds: readonly string[] | null,
): Promise<readonly ReadingRecord[]> {
  const { rows } = await client.query<ReadingRecord>(
    `SELECT ${COLUMNS} FROM "MeterReading" r LEFT JOIN "Building" b ON b.id = r."buildingId"
     WHERE $1::uuid[] IS NULL OR r."propertyId" = ANY ($1)
     ORDER BY r."propertyId", r."fromDay", r.fuel, r.id`,
    [propertyIds],
  );
  return rows;
}

/** Readings of each property, how many and of which days. */
export async function summarizeReadings(
  client: pg.ClientBase,
): Promise<
  ReadonlyMap<
    string,
    { readonly readings: number; readonly from: CalendarDay; readonly to: CalendarDay }
  >
> {
  const { rows } = await client.query<{
    propertyId: string;
    readings: number;
    from: CalendarDay;
    to: CalendarDay;
  }>(
    `SELECT "propertyId", count(*) AS readings, min("fromDay") AS "from", max("toDay") AS "to"
     FROM "MeterReading" GROUP BY "propertyId"`,
  );
  return new Map(rows.map((row) => [row.propertyId, row]));
}

export type NewReading = Omit<ReadingRecord, "id" | "buildingName">;

/** @returns the new readings' ids, in their order. */
export async function insertReadings(
  client: pg.ClientBase,
  organizationId: string,
  readings: readonly NewReading[],
  enteredBy: string,
): Promise<readonly string[]> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "MeterReading" (id, "organizationId", "propertyId", "buildingId", fuel, "fromDay",
       "toDay", units, "otherUnits", "enteredAmount", "enteredUnit", source, "enteredBy")
     SELECT gen_random_uuid(), $1, "propertyId", "buildingId", fuel, "from", "to", units, "otherUnits",
       "enteredAmount", "enteredUnit", source, $3
     FROM jsonb_to_recordset($2::jsonb) AS reading ("propertyId" uuid,
       "buildingId" uuid, fuel text, "from" date, "to" date, units float8, "otherUnits" float8,
       "enteredAmount" float8, "enteredUnit" text, source text)
     RETURNING id`,
    [organizationId, JSON.stringify(readings), enteredBy],
  );
  return rows.map(({ id }) => id);
}

/** Takes a reading out; gives what it was, or null when there is none. */
export async function deleteReading(
  client: pg.ClientBase,
  id: string,
): Promise<Readonly<Record<string, unknown>> | null> {
  const { rows } = await client.query('DELETE FROM "MeterReading" WHERE id = $1 RETURNING *', [id]);
  return rows[0] ?? null;
}

/** One writer of a property's readings at a time, so that two cannot enter the same days. */
export async function lockReadings(client: pg.ClientBase, propertyId: string): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended('meter-readings/' || $1, 0))", [
    propertyId,
  ]);
}
