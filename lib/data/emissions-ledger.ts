import type pg from "pg";
import type { DisposalRoute, RetiredHeater } from "@/lib/core/emissions/retirement-ledger";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** A retired heater with what is on record about where it went. */
export type RetiredRow = {
  readonly heaterId: string;
  readonly tag: string;
  readonly propertyName: string;
  readonly technology: Technology;
  readonly volumeGal: number | null;
  readonly retiredOn: CalendarDay;
  readonly route: DisposalRoute | null;
  readonly weighedKg: number | null;
  readonly receiver: string | null;
  readonly document: string | null;
  readonly chargeKg: number | null;
  readonly recoveredKg: number | null;
};

/** Retired heaters of one year, or of every year, the latest first. */
export async function listRetired(
  client: pg.ClientBase,
  {
    year = null,
    limit = null,
  }: { readonly year?: number | null; readonly limit?: number | null } = {},
): Promise<readonly RetiredRow[]> {
  const { rows } = await client.query<RetiredRow>(
    `SELECT h.id AS "heaterId", h.tag, p.name AS "propertyName", h.technology, h."volumeGal",
       r.latest AS "retiredOn", d.route, d."weighedKg", d.receiver, d.document,
       e.charge AS "chargeKg", e.recovered AS "recoveredKg"
     FROM "Retirement" r
     JOIN "Heater" h ON h.id = r."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Disposal" d ON d."heaterId" = h.id
     LEFT JOIN LATERAL (
       SELECT max(kg) FILTER (WHERE kind = 'charge') AS charge,
         sum(kg) FILTER (WHERE kind = 'recovery') AS recovered
       FROM "RefrigerantEvent" WHERE "heaterId" = h.id
     ) e ON h.technology LIKE 'heat-pump%'
     WHERE $1::int IS NULL OR extract(year FROM r.latest) = $1
     ORDER BY r.latest DESC, h.tag LIMIT $2`,
    [year, limit],
  );
  return rows;
}

/** A retired heater as the ledger counts it. */
export function retiredHeaterOf(row: RetiredRow): RetiredHeater {
  const { heaterId, technology, retiredOn, route, weighedKg, chargeKg, recoveredKg } = row;
  return {
    heaterId,
    technology,
    nameplate: { volumeGal: row.volumeGal },
    retiredOn,
    route,
    weighedKg,
    chargeKg,
    recoveredKg,
  };
}

export type NewDisposal = {
  readonly heaterId: string;
  readonly route: DisposalRoute;
  readonly weighedKg: number | null;
  readonly receiver: string | null;
  readonly document: string | null;
};

/** Notes where a retired heater went, in place of an earlier note. @returns false when it is not retired. */
export async function writeDisposal(
  client: pg.ClientBase,
  organizationId: string,
  disposal: NewDisposal,
  enteredBy: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `INSERT INTO "Disposal" ("heaterId", "organizationId", route, "weighedKg", receiver, document,
       "enteredBy")
     SELECT r."heaterId", $2, $3, $4, $5, $6, $7 FROM "Retirement" r WHERE r."heaterId" = $1
     ON CONFLICT ("heaterId") DO UPDATE SET route = EXCLUDED.route, "weighedKg" = EXCLUDED."weighedKg",
       receiver = EXCLUDED.receiver, document = EXCLUDED.document, "updatedAt" = now(),
       "enteredBy" = EXCLUDED."enteredBy"`,
    [
      disposal.heaterId,
      organizationId,
      disposal.route,
      disposal.weighedKg,
      disposal.receiver,
      disposal.document,
      enteredBy,
    ],
  );
  return rowCount === 1;
}

/** Where a heater stands; null when it is not on record. */
export async function findPlaceOfHeater(
  client: pg.ClientBase,
  heaterId: string,
): Promise<{
  readonly propertyId: string;
  readonly propertyName: string;
  readonly buildingId: string;
} | null> {
  const { rows } = await client.query<{
    propertyId: string;
    propertyName: string;
    buildingId: string;
  }>(
    `SELECT p.id AS "propertyId", p.name AS "propertyName", b.id AS "buildingId"
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId" WHERE h.id = $1`,
    [heaterId],
  );
  return rows[0] ?? null;
}
