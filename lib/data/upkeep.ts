import type pg from "pg";
import type { VisitEntry } from "@/lib/core/upkeep/visit-form";

/** Properties with the number of heaters in service, by name. */
export type PropertyChoice = {
  readonly id: string;
  readonly name: string;
  readonly heaterCount: number;
};

export async function listPropertyChoices(client: pg.ClientBase): Promise<PropertyChoice[]> {
  const { rows } = await client.query<PropertyChoice>(
    `SELECT p.id, p.name, count(h.id) AS "heaterCount"
     FROM "Property" p
     LEFT JOIN "Building" b ON b."propertyId" = p.id
     LEFT JOIN "Heater" h ON h."buildingId" = b.id AND h.status = 'in-service'
     GROUP BY p.id, p.name ORDER BY p.name`,
  );
  return rows;
}

/** Names of buildings and the chance of failure of heaters, for a list of due work. */
export async function loadDueContext(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<{
  readonly buildings: ReadonlyMap<string, { readonly name: string; readonly property: string }>;
  readonly failureProbability: ReadonlyMap<string, number>;
}> {
  const buildings = await client.query<{ id: string; name: string; property: string }>(
    `SELECT b.id, b.name, p.name AS property FROM "Building" b JOIN "Property" p ON p.id = b."propertyId"
     WHERE $1::uuid IS NULL OR p.id = $1`,
    [propertyId],
  );
  const risks = await client.query<{ heaterId: string; failureProbability: number }>(
    `SELECT r."heaterId", r."failureProbability" FROM "HeaterRisk" r
     JOIN "Heater" h ON h.id = r."heaterId" JOIN "Building" b ON b.id = h."buildingId"
     WHERE $1::uuid IS NULL OR b."propertyId" = $1`,
    [propertyId],
  );
  return {
    buildings: new Map(buildings.rows.map((row) => [row.id, row])),
    failureProbability: new Map(risks.rows.map((row) => [row.heaterId, row.failureProbability])),
  };
}

/**
 * Records a task as a visit. The same key again changes nothing.
 * @returns the visit's id, or null when the heater is not on record.
 */
export async function insertVisit(
  client: pg.ClientBase,
  organizationId: string,
  entry: VisitEntry,
  performedBy: string,
): Promise<{ readonly visitId: string; readonly isNew: boolean } | null> {
  const heater = await client.query('SELECT FROM "Heater" WHERE id = $1', [entry.heaterId]);
  if (heater.rowCount === 0) return null;
  const inserted = await client.query<{ id: string }>(
    `INSERT INTO "ServiceVisit"
       (id, "organizationId", "heaterId", "visitedOn", "performedBy", minutes, note, "idempotencyKey")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7)
     ON CONFLICT ("organizationId", "idempotencyKey") DO NOTHING RETURNING id`,
    [
      organizationId,
      entry.heaterId,
      entry.doneOn,
      performedBy,
      entry.minutes,
      entry.note,
      entry.idempotencyKey,
    ],
  );
  const [visit] = inserted.rows;
  if (!visit) {
    const earlier = await client.query<{ id: string }>(
      'SELECT id FROM "ServiceVisit" WHERE "idempotencyKey" = $1',
      [entry.idempotencyKey],
    );
    return { visitId: earlier.rows[0]?.id ?? "", isNew: false };
  }
  await client.query(
    `INSERT INTO "VisitTask" (id, "organizationId", "visitId", "heaterId", task, finding, "doneOn")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6)`,
    [organizationId, visit.id, entry.heaterId, entry.task, entry.finding, entry.doneOn],
  );
  return { visitId: visit.id, isNew: true };
}

/** Takes a visit back with its tasks; gives what it was, or null when there is none. */
export async function deleteVisit(
  client: pg.ClientBase,
  visitId: string,
): Promise<Readonly<Record<string, unknown>> | null> {
  const { rows: deleted } = await client.query(
    'DELETE FROM "ServiceVisit" WHERE id = $1 RETURNING *',
    [visitId],
  );
  return deleted[0] ?? null;
}
