import type pg from "pg";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { CareEntry } from "@/lib/core/upkeep/care-history";

export type NewVisit = {
  readonly heaterId: string;
  readonly visitedOn: CalendarDay;
  readonly performedBy: string;
  readonly minutes: number | null;
  readonly note: string | null;
  readonly tapF: number | null;
  readonly costCents: number | null;
  readonly tasks: readonly { readonly task: TaskKind; readonly finding: string | null }[];
  readonly parts: readonly {
    readonly name: string;
    readonly quantity: number;
    readonly costCents: number | null;
  }[];
  /** Sent again after a lost answer, the same visit is kept once. */
  readonly idempotencyKey: string;
  /** The entry of a round that it came with. */
  readonly entryKey: string | null;
};

/**
 * Records a visit with its tasks and parts. The same key again changes nothing.
 * @returns the visit's id, and whether it is new.
 */
export async function insertVisit(
  client: pg.ClientBase,
  organizationId: string,
  visit: NewVisit,
): Promise<{ readonly visitId: string; readonly isNew: boolean }> {
  const inserted = await client.query<{ id: string }>(
    `INSERT INTO "ServiceVisit"
       (id, "organizationId", "heaterId", "visitedOn", "performedBy", minutes, note, "tapF",
        "costCents", "idempotencyKey", "entryKey")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
     ON CONFLICT ("organizationId", "idempotencyKey") DO NOTHING RETURNING id`,
    [
      organizationId,
      visit.heaterId,
      visit.visitedOn,
      visit.performedBy,
      visit.minutes,
      visit.note,
      visit.tapF,
      visit.costCents,
      visit.idempotencyKey,
      visit.entryKey,
    ],
  );
  const [made] = inserted.rows;
  if (!made) {
    const earlier = await client.query<{ id: string }>(
      'SELECT id FROM "ServiceVisit" WHERE "idempotencyKey" = $1',
      [visit.idempotencyKey],
    );
    return { visitId: earlier.rows[0]?.id ?? "", isNew: false };
  }
  await client.query(
    `INSERT INTO "VisitTask" (id, "organizationId", "visitId", "heaterId", task, finding, "doneOn")
     SELECT gen_random_uuid(), $1, $2, $3, t.task, t.finding, $4
     FROM unnest($5::text[], $6::text[]) AS t (task, finding)`,
    [
      organizationId,
      made.id,
      visit.heaterId,
      visit.visitedOn,
      visit.tasks.map(({ task }) => task),
      visit.tasks.map(({ finding }) => finding),
    ],
  );
  await client.query(
    `INSERT INTO "VisitPart" (id, "organizationId", "visitId", name, quantity, "costCents")
     SELECT gen_random_uuid(), $1, $2, p.name, p.quantity, p.cost
     FROM unnest($3::text[], $4::float8[], $5::int[]) AS p (name, quantity, cost)`,
    [
      organizationId,
      made.id,
      visit.parts.map(({ name }) => name),
      visit.parts.map(({ quantity }) => quantity),
      visit.parts.map(({ costCents }) => costCents),
    ],
  );
  return { visitId: made.id, isNew: true };
}

export type TakenVisit = Readonly<Record<string, unknown>> & {
  readonly id: string;
  readonly heaterId: string;
};

/** Takes a visit back with its tasks, parts and photos; gives what it was, or null. */
export async function deleteVisit(
  client: pg.ClientBase,
  visitId: string,
): Promise<TakenVisit | null> {
  const { rows } = await client.query<TakenVisit>(
    'DELETE FROM "ServiceVisit" WHERE id = $1 RETURNING *',
    [visitId],
  );
  return rows[0] ?? null;
}

/** Takes back the visits that came with an entry of a round. */
export async function deleteVisitsOfEntry(
  client: pg.ClientBase,
  entryKey: string,
): Promise<readonly TakenVisit[]> {
  const { rows } = await client.query<TakenVisit>(
    'DELETE FROM "ServiceVisit" WHERE "entryKey" = $1 RETURNING *',
    [entryKey],
  );
  return rows;
}

/** Everything ever done on heaters of a property (or of all), by heater, with the frame of each record. */
export async function loadCareRecords(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<
  readonly {
    readonly heaterId: string;
    readonly recordedFrom: CalendarDay;
    readonly retiredOn: CalendarDay | null;
    readonly entries: readonly CareEntry[];
  }[]
> {
  const { rows } = await client.query(
    `SELECT h.id AS "heaterId", h."recordedFrom", r.latest AS "retiredOn",
       COALESCE(t.entries, '[]') AS entries
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     LEFT JOIN "Retirement" r ON r."heaterId" = h.id
     LEFT JOIN (
       SELECT "heaterId",
         json_agg(json_build_object('task', task, 'day', "doneOn", 'finding', finding)) AS entries
       FROM "VisitTask" GROUP BY "heaterId"
     ) t ON t."heaterId" = h.id
     WHERE ($1::uuid IS NULL OR b."propertyId" = $1)
       AND (h.status = 'in-service' OR r."heaterId" IS NOT NULL)`,
    [propertyId],
  );
  return rows;
}

// ---- the work log ----

export type LogFilter = {
  readonly propertyId: string | null;
  readonly performedBy: string | null;
  readonly from: CalendarDay;
  readonly to: CalendarDay;
};

export type LogRow = {
  readonly visitId: string;
  readonly visitedOn: CalendarDay;
  readonly performedBy: string | null;
  readonly minutes: number | null;
  readonly tapF: number | null;
  readonly note: string | null;
  readonly costCents: number | null;
  readonly heaterId: string;
  readonly tag: string;
  readonly technology: string;
  readonly home: string | null;
  readonly building: string;
  readonly property: string;
  readonly tasks: readonly { readonly task: TaskKind; readonly finding: string | null }[];
  readonly parts: readonly {
    readonly name: string;
    readonly quantity: number;
    readonly costCents: number | null;
  }[];
  readonly photoIds: readonly string[];
};

const CHOSEN = `v."visitedOn" BETWEEN $1 AND $2 AND ($3::uuid IS NULL OR b."propertyId" = $3)
  AND ($4::text IS NULL OR v."performedBy" = $4)`;

const values = ({ from, to, propertyId, performedBy }: LogFilter) => [
  from,
  to,
  propertyId,
  performedBy,
];

/** A page of the work log, the latest visit first. */
export async function readWorkLog(
  client: pg.ClientBase,
  filter: LogFilter,
  { limit, offset }: { readonly limit: number; readonly offset: number },
): Promise<readonly LogRow[]> {
  const { rows } = await client.query<LogRow>(
    `SELECT v.id AS "visitId", v."visitedOn", v."performedBy", v.minutes, v."tapF", v.note,
       v."costCents", h.id AS "heaterId", h.tag, h.technology, u.label AS home, b.name AS building,
       p.name AS property,
       COALESCE((SELECT json_agg(json_build_object('task', t.task, 'finding', t.finding) ORDER BY t.task)
         FROM "VisitTask" t WHERE t."visitId" = v.id), '[]') AS tasks,
       COALESCE((SELECT json_agg(json_build_object(
           'name', a.name, 'quantity', a.quantity, 'costCents', a."costCents") ORDER BY a.name)
         FROM "VisitPart" a WHERE a."visitId" = v.id), '[]') AS parts,
       ARRAY(SELECT f.id FROM "VisitPhoto" f WHERE f."visitId" = v.id ORDER BY f."createdAt", f.id)
         AS "photoIds"
     FROM "ServiceVisit" v
     JOIN "Heater" h ON h.id = v."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     WHERE ${CHOSEN}
     ORDER BY v."visitedOn" DESC, v."createdAt" DESC, v.id
     LIMIT $5 OFFSET $6`,
    [...values(filter), limit, offset],
  );
  return rows;
}

/** What visits add up to, by technology of the heater. Minutes are apart where they are not on record. */
export type WorkTotals = {
  readonly technology: string;
  readonly visits: number;
  readonly minutes: number;
  /** Visits without minutes. */
  readonly untimedVisits: number;
  /** Tasks of those visits, by task. */
  readonly untimedTasks: Readonly<Partial<Record<TaskKind, number>>>;
  readonly partsCents: number;
  readonly unpricedParts: number;
  readonly costCents: number;
};

export async function sumWork(
  client: pg.ClientBase,
  filter: LogFilter,
): Promise<readonly WorkTotals[]> {
  const { rows } = await client.query<WorkTotals>(
    `WITH chosen AS (
       SELECT v.id, v.minutes, v."costCents", h.technology
       FROM "ServiceVisit" v
       JOIN "Heater" h ON h.id = v."heaterId"
       JOIN "Building" b ON b.id = h."buildingId"
       WHERE ${CHOSEN}
     ), parts AS (
       SELECT c.technology, COALESCE(sum(a."costCents"), 0) AS cents,
         count(*) FILTER (WHERE a."costCents" IS NULL) AS unpriced
       FROM chosen c JOIN "VisitPart" a ON a."visitId" = c.id GROUP BY c.technology
     ), untimed AS (
       SELECT technology, json_object_agg(task, count) AS tasks FROM (
         SELECT c.technology, t.task, count(*) FROM chosen c
         JOIN "VisitTask" t ON t."visitId" = c.id
         WHERE c.minutes IS NULL GROUP BY c.technology, t.task
       ) AS by_task GROUP BY technology
     )
     SELECT c.technology, count(*) AS visits, COALESCE(sum(c.minutes), 0) AS minutes,
       count(*) FILTER (WHERE c.minutes IS NULL) AS "untimedVisits",
       COALESCE((SELECT tasks FROM untimed WHERE untimed.technology = c.technology), '{}')
         AS "untimedTasks",
       COALESCE((SELECT cents FROM parts WHERE parts.technology = c.technology), 0) AS "partsCents",
       COALESCE((SELECT unpriced FROM parts WHERE parts.technology = c.technology), 0)
         AS "unpricedParts",
       COALESCE(sum(c."costCents"), 0) AS "costCents"
     FROM chosen c GROUP BY c.technology ORDER BY c.technology`,
    values(filter),
  );
  return rows;
}

/** Years in service between two days, by technology: from the middle of the install bracket, or record. */
export async function sumHeaterYears(
  client: pg.ClientBase,
  { propertyId, from, to }: Pick<LogFilter, "propertyId" | "from" | "to">,
): Promise<ReadonlyMap<string, number>> {
  const { rows } = await client.query<{ technology: string; years: number }>(
    `SELECT h.technology, sum(GREATEST(0,
         LEAST($2::date + 1, COALESCE(r.latest, $2::date + 1))
         - GREATEST($1::date, h."recordedFrom",
             h."installEarliest" + (h."installLatest" - h."installEarliest") / 2))) / 365.2425 AS years
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     LEFT JOIN "Retirement" r ON r."heaterId" = h.id
     WHERE ($3::uuid IS NULL OR b."propertyId" = $3)
       AND (h.status = 'in-service' OR r."heaterId" IS NOT NULL)
     GROUP BY h.technology`,
    [from, to, propertyId],
  );
  return new Map(rows.map(({ technology, years }) => [technology, years]));
}

/** Everybody who stands in the work log, by name. */
export async function listLogNames(client: pg.ClientBase): Promise<readonly string[]> {
  const { rows } = await client.query<{ performedBy: string }>(
    `SELECT DISTINCT "performedBy" FROM "ServiceVisit" WHERE "performedBy" IS NOT NULL
     ORDER BY "performedBy" LIMIT 500`,
  );
  return rows.map(({ performedBy }) => performedBy);
}
