import type pg from "pg";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { OwnInterval } from "@/lib/core/upkeep/rules";

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

/** A building with its property, as lists of work name places. */
export type BuildingPlace = {
  readonly id: string;
  readonly name: string;
  readonly propertyId: string;
  readonly property: string;
};

/** Buildings by id, of one property or of all. */
export async function loadBuildingPlaces(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<ReadonlyMap<string, BuildingPlace>> {
  const { rows } = await client.query<BuildingPlace>(
    `SELECT b.id, b.name, p.id AS "propertyId", p.name AS property
     FROM "Building" b JOIN "Property" p ON p.id = b."propertyId"
     WHERE $1::uuid IS NULL OR p.id = $1
     ORDER BY p.name, length(b.name), b.name`,
    [propertyId],
  );
  return new Map(rows.map((row) => [row.id, row]));
}

/** The chance of failing within 12 months by heater, of one property or of all. */
export async function loadFailureProbabilities(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<ReadonlyMap<string, number>> {
  const { rows } = await client.query<{ heaterId: string; failureProbability: number }>(
    `SELECT r."heaterId", r."failureProbability" FROM "HeaterRisk" r
     JOIN "Heater" h ON h.id = r."heaterId" JOIN "Building" b ON b.id = h."buildingId"
     WHERE $1::uuid IS NULL OR b."propertyId" = $1`,
    [propertyId],
  );
  return new Map(rows.map((row) => [row.heaterId, row.failureProbability]));
}

/** Own base intervals by property and task. */
export type OwnIntervals = Readonly<Partial<Record<TaskKind, OwnInterval>>>;

export async function loadOwnIntervals(
  client: pg.ClientBase,
  propertyId: string | null = null,
): Promise<ReadonlyMap<string, OwnIntervals>> {
  const { rows } = await client.query<OwnInterval & { propertyId: string; task: TaskKind }>(
    `SELECT "propertyId", task, months, source FROM "TaskInterval"
     WHERE $1::uuid IS NULL OR "propertyId" = $1`,
    [propertyId],
  );
  const byProperty = new Map<string, Partial<Record<TaskKind, OwnInterval>>>();
  for (const { propertyId: id, task, months, source } of rows) {
    const own = byProperty.get(id) ?? {};
    own[task] = { months, source };
    byProperty.set(id, own);
  }
  return byProperty;
}

/** Sets a property's own base interval of a task; null takes it away. Gives what stood before. */
export async function writeOwnInterval(
  client: pg.ClientBase,
  organizationId: string,
  {
    propertyId,
    task,
    interval,
    setBy,
  }: {
    readonly propertyId: string;
    readonly task: TaskKind;
    readonly interval: OwnInterval | null;
    readonly setBy: string;
  },
): Promise<OwnInterval | null> {
  const { rows } = await client.query<OwnInterval>(
    `DELETE FROM "TaskInterval" WHERE "propertyId" = $1 AND task = $2 RETURNING months, source`,
    [propertyId, task],
  );
  if (interval !== null) {
    await client.query(
      `INSERT INTO "TaskInterval" (id, "organizationId", "propertyId", task, months, source, "setBy")
       VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6)`,
      [organizationId, propertyId, task, interval.months, interval.source, setBy],
    );
  }
  return rows[0] ?? null;
}

/** Of the checks of a task on record, how many found one of `faults`. */
export async function countFaults(
  client: pg.ClientBase,
  task: TaskKind,
  faults: readonly string[],
): Promise<{ readonly checks: number; readonly faults: number }> {
  const { rows } = await client.query<{ checks: number; faults: number }>(
    `SELECT count(*) AS checks, count(*) FILTER (WHERE finding = ANY ($2)) AS faults
     FROM "VisitTask" WHERE task = $1 AND finding IS NOT NULL`,
    [task, faults],
  );
  return rows[0];
}
