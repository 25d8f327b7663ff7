import type pg from "pg";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

export type RoundStatus = "planned" | "done" | "cancelled";
export type StopStatus = "open" | "done" | "no-access";

// ---- people and access ----

/** People of the organisation who may record visits. */
export type RoundPerson = { readonly userId: string; readonly name: string };

export async function listRoundPeople(client: pg.ClientBase): Promise<readonly RoundPerson[]> {
  const { rows } = await client.query<RoundPerson>(
    `SELECT u.id AS "userId", u.name FROM "Member" m JOIN "User" u ON u.id = m."userId"
     WHERE m.role IN ('owner', 'manager', 'maintenance')
     ORDER BY m.role = 'maintenance' DESC, u.name, u.id`,
  );
  return rows;
}

/** When a home may be entered. */
export type HomeAccess = {
  readonly fromMinute: number | null;
  readonly toMinute: number | null;
  readonly weekdays: readonly number[];
  readonly note: string | null;
};

/** Access of the homes of a property, by unit; a home without a row may be entered at any time. */
export async function loadHomeAccess(
  client: pg.ClientBase,
  propertyId: string,
): Promise<ReadonlyMap<string, HomeAccess>> {
  const { rows } = await client.query<HomeAccess & { unitId: string }>(
    `SELECT a."unitId", a."fromMinute", a."toMinute", a.weekdays, a.note
     FROM "HomeAccess" a JOIN "Unit" u ON u.id = a."unitId"
     JOIN "Building" b ON b.id = u."buildingId" WHERE b."propertyId" = $1`,
    [propertyId],
  );
  return new Map(rows.map(({ unitId, ...access }) => [unitId, access]));
}

/** Sets when a home may be entered; false when there is no such home. */
export async function writeHomeAccess(
  client: pg.ClientBase,
  organizationId: string,
  unitId: string,
  access: HomeAccess,
  setBy: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `INSERT INTO "HomeAccess"
       ("unitId", "organizationId", "fromMinute", "toMinute", weekdays, note, "setBy")
     SELECT u.id, $2, $3, $4, $5, $6, $7 FROM "Unit" u WHERE u.id = $1
     ON CONFLICT ("unitId") DO UPDATE SET "fromMinute" = $3, "toMinute" = $4, weekdays = $5,
       note = $6, "setBy" = $7, "updatedAt" = now()`,
    [
      unitId,
      organizationId,
      access.fromMinute,
      access.toMinute,
      access.weekdays,
      access.note,
      setBy,
    ],
  );
  return rowCount === 1;
}

// ---- rounds ----

export type NewStop = {
  readonly buildingId: string;
  readonly unitId: string | null;
  readonly label: string;
  readonly floor: number | null;
  readonly arriveMinute: number;
  readonly workMinutes: number;
  readonly fromMinute: number | null;
  readonly toMinute: number | null;
  readonly tasks: readonly {
    readonly heaterId: string;
    readonly task: TaskKind;
    readonly minutes: number;
  }[];
};

/** How long a round takes and what no order of its stops can undercut, in minutes. */
export type RoundTimes = {
  readonly finishMinutes: number;
  readonly finishBoundMinutes: number;
  readonly travelMinutes: number;
  readonly travelBoundMinutes: number;
};

export type NewRound = RoundTimes & {
  readonly propertyId: string;
  readonly name: string;
  readonly plannedOn: CalendarDay;
  readonly startMinute: number;
  readonly dayMinutes: number;
  readonly noticeDays: number;
  readonly assigneeId: string | null;
  readonly createdBy: string;
  /** In their order. */
  readonly stops: readonly NewStop[];
};

export async function insertRound(
  client: pg.ClientBase,
  organizationId: string,
  round: NewRound,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "Round" (id, "organizationId", "propertyId", name, "plannedOn", "startMinute",
       "dayMinutes", "noticeDays", "assigneeId", "finishMinutes", "finishBoundMinutes",
       "travelMinutes", "travelBoundMinutes", "createdBy")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13) RETURNING id`,
    [
      organizationId,
      round.propertyId,
      round.name,
      round.plannedOn,
      round.startMinute,
      round.dayMinutes,
      round.noticeDays,
      round.assigneeId,
      round.finishMinutes,
      round.finishBoundMinutes,
      round.travelMinutes,
      round.travelBoundMinutes,
      round.createdBy,
    ],
  );
  const roundId = rows[0].id;
  const { stops } = round;
  const made = await client.query<{ id: string; position: number }>(
    `INSERT INTO "RoundStop" (id, "organizationId", "roundId", position, "buildingId", "unitId", label,
       floor, "arriveMinute", "workMinutes", "fromMinute", "toMinute")
     SELECT gen_random_uuid(), $1, $2, s.*
     FROM unnest($3::int[], $4::uuid[], $5::uuid[], $6::text[], $7::int[], $8::int[], $9::int[],
       $10::int[], $11::int[]) AS s
     RETURNING id, position`,
    [
      organizationId,
      roundId,
      stops.map((_, index) => index),
      stops.map(({ buildingId }) => buildingId),
      stops.map(({ unitId }) => unitId),
      stops.map(({ label }) => label),
      stops.map(({ floor }) => floor),
      stops.map(({ arriveMinute }) => Math.round(arriveMinute)),
      stops.map(({ workMinutes }) => workMinutes),
      stops.map(({ fromMinute }) => fromMinute),
      stops.map(({ toMinute }) => toMinute),
    ],
  );
  const tasks = made.rows.flatMap(({ id, position }) =>
    stops[position].tasks.map((task) => ({ ...task, stopId: id })),
  );
  await client.query(
    `INSERT INTO "RoundTask" (id, "organizationId", "stopId", "heaterId", task, minutes)
     SELECT gen_random_uuid(), $1, t.* FROM unnest($2::uuid[], $3::uuid[], $4::text[], $5::int[]) AS t`,
    [
      organizationId,
      tasks.map(({ stopId }) => stopId),
      tasks.map(({ heaterId }) => heaterId),
      tasks.map(({ task }) => task),
      tasks.map(({ minutes }) => minutes),
    ],
  );
  return roundId;
}

/** A round as lists show it. */
export type RoundSummary = RoundTimes & {
  readonly id: string;
  readonly name: string;
  readonly propertyId: string;
  readonly property: string;
  readonly plannedOn: CalendarDay;
  readonly startMinute: number;
  readonly dayMinutes: number;
  readonly noticeDays: number;
  readonly noticesGivenOn: CalendarDay | null;
  readonly assigneeId: string | null;
  readonly assignee: string | null;
  readonly status: RoundStatus;
  readonly version: number;
  readonly changedAt: string;
  readonly stopCount: number;
  readonly openCount: number;
  readonly taskCount: number;
};

const SUMMARY = `SELECT r.id, r.name, r."propertyId", p.name AS property, r."plannedOn",
    r."startMinute", r."dayMinutes", r."noticeDays", r."noticesGivenOn", r."assigneeId",
    u.name AS assignee, r.status, r.version, r."finishMinutes", r."finishBoundMinutes",
    r."travelMinutes", r."travelBoundMinutes",
    to_char(r."updatedAt" AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') AS "changedAt",
    (SELECT count(*) FROM "RoundStop" s WHERE s."roundId" = r.id) AS "stopCount",
    (SELECT count(*) FROM "RoundStop" s WHERE s."roundId" = r.id AND s.status = 'open') AS "openCount",
    (SELECT count(*) FROM "RoundTask" t JOIN "RoundStop" s ON s.id = t."stopId"
      WHERE s."roundId" = r.id) AS "taskCount"
  FROM "Round" r JOIN "Property" p ON p.id = r."propertyId"
  LEFT JOIN "Member" m ON m."userId" = r."assigneeId"
  LEFT JOIN "User" u ON u.id = m."userId"`;

/** Rounds from a day on, and those before it that are still open; the next first. */
export async function listComingRounds(
  client: pg.ClientBase,
  from: CalendarDay,
): Promise<readonly RoundSummary[]> {
  const { rows } = await client.query<RoundSummary>(
    `${SUMMARY} WHERE r.status = 'planned' OR (r."plannedOn" >= $1 AND r.status = 'done')
     ORDER BY r."plannedOn", r."startMinute", r.name, r.id LIMIT 500`,
    [from],
  );
  return rows;
}

/** Rounds that are over, the latest first. */
export async function listPastRounds(
  client: pg.ClientBase,
  before: CalendarDay,
  limit: number,
): Promise<readonly RoundSummary[]> {
  const { rows } = await client.query<RoundSummary>(
    `${SUMMARY} WHERE r.status = 'cancelled' OR (r.status = 'done' AND r."plannedOn" < $1)
     ORDER BY r."plannedOn" DESC, r.id LIMIT $2`,
    [before, limit],
  );
  return rows;
}

/** A person's rounds from a day on, cancelled ones too, so that a calendar can take them away. */
export async function listRoundsOfPerson(
  client: pg.ClientBase,
  userId: string,
  from: CalendarDay,
): Promise<readonly RoundSummary[]> {
  const { rows } = await client.query<RoundSummary>(
    `${SUMMARY} WHERE r."assigneeId" = $1 AND r."plannedOn" >= $2
     ORDER BY r."plannedOn", r.id LIMIT 1000`,
    [userId, from],
  );
  return rows;
}

export async function findRound(
  client: pg.ClientBase,
  roundId: string,
  { forUpdate = false } = {},
): Promise<RoundSummary | null> {
  const { rows } = await client.query<RoundSummary>(
    `${SUMMARY} WHERE r.id = $1 ${forUpdate ? "FOR UPDATE OF r" : ""}`,
    [roundId],
  );
  return rows[0] ?? null;
}

export type StopTaskRow = {
  readonly heaterId: string;
  readonly tag: string;
  readonly technology: string;
  readonly place: string;
  readonly task: TaskKind;
  readonly minutes: number;
};

export type StopEntryRow = {
  readonly key: string;
  readonly outcome: "done" | "no-access";
  readonly personName: string;
  readonly enteredBy: string;
  readonly receivedAt: string;
  readonly visits: readonly {
    readonly visitId: string;
    readonly tag: string;
    readonly minutes: number | null;
    readonly note: string | null;
    readonly tasks: readonly { readonly task: TaskKind; readonly finding: string | null }[];
    readonly photoIds: readonly string[];
  }[];
};

export type StopRow = {
  readonly id: string;
  readonly position: number;
  readonly buildingId: string;
  readonly building: string;
  readonly unitId: string | null;
  readonly label: string;
  readonly floor: number | null;
  readonly arriveMinute: number;
  readonly workMinutes: number;
  readonly fromMinute: number | null;
  readonly toMinute: number | null;
  readonly status: StopStatus;
  readonly closedBy: string | null;
  readonly access: HomeAccess | null;
  readonly tasks: readonly StopTaskRow[];
  /** What was recorded here and stands, the earliest first. */
  readonly entries: readonly StopEntryRow[];
};

/** The stops of a round in their order, with tasks, access and what was recorded. */
export async function listStops(
  client: pg.ClientBase,
  roundId: string,
): Promise<readonly StopRow[]> {
  const { rows } = await client.query<StopRow>(
    `SELECT s.id, s.position, s."buildingId", b.name AS building, s."unitId", s.label, s.floor,
       s."arriveMinute", s."workMinutes", s."fromMinute", s."toMinute", s.status, s."closedBy",
       CASE WHEN a."unitId" IS NULL THEN NULL ELSE json_build_object('fromMinute', a."fromMinute",
         'toMinute', a."toMinute", 'weekdays', a.weekdays, 'note', a.note) END AS access,
       COALESCE((SELECT json_agg(json_build_object('heaterId', h.id, 'tag', h.tag, 'technology',
           h.technology, 'place', h.place, 'task', t.task, 'minutes', t.minutes)
           ORDER BY h.tag, h.id, t.task)
         FROM "RoundTask" t JOIN "Heater" h ON h.id = t."heaterId" WHERE t."stopId" = s.id), '[]')
         AS tasks,
       COALESCE((SELECT json_agg(json_build_object('key', e.key, 'outcome', e.outcome, 'personName',
           e."personName", 'enteredBy', e."enteredBy", 'receivedAt', e."receivedAt",
           'visits', COALESCE((SELECT json_agg(json_build_object('visitId', v.id, 'tag', h.tag,
               'minutes', v.minutes, 'note', v.note,
               'tasks', COALESCE((SELECT json_agg(json_build_object('task', k.task, 'finding',
                   k.finding) ORDER BY k.task) FROM "VisitTask" k WHERE k."visitId" = v.id), '[]'),
               'photoIds', ARRAY(SELECT f.id FROM "VisitPhoto" f WHERE f."visitId" = v.id
                   ORDER BY f."createdAt", f.id)) ORDER BY h.tag)
             FROM "ServiceVisit" v JOIN "Heater" h ON h.id = v."heaterId"
             WHERE v."entryKey" = e.key), '[]')) ORDER BY e."receivedAt", e.key)
         FROM "RoundEntry" e WHERE e."stopId" = s.id AND e."takenBackAt" IS NULL), '[]') AS entries
     FROM "RoundStop" s
     JOIN "Building" b ON b.id = s."buildingId"
     LEFT JOIN "HomeAccess" a ON a."unitId" = s."unitId"
     WHERE s."roundId" = $1 ORDER BY s.position`,
    [roundId],
  );
  return rows;
}

/** Homes and places with an open stop on a planned round from a day on: they need no second one. */
export async function listPlannedDoors(
  client: pg.ClientBase,
  propertyId: string,
): Promise<ReadonlySet<string>> {
  const { rows } = await client.query<{ heaterId: string }>(
    `SELECT DISTINCT t."heaterId" FROM "RoundTask" t
     JOIN "RoundStop" s ON s.id = t."stopId" JOIN "Round" r ON r.id = s."roundId"
     WHERE r.status = 'planned' AND s.status = 'open' AND r."propertyId" = $1`,
    [propertyId],
  );
  return new Set(rows.map(({ heaterId }) => heaterId));
}

export type RoundChange = {
  readonly plannedOn?: CalendarDay;
  readonly assigneeId?: string | null;
  readonly status?: RoundStatus;
  readonly noticesGivenOn?: CalendarDay | null;
};

/** Changes a round and raises its version. */
export async function updateRound(
  client: pg.ClientBase,
  roundId: string,
  change: RoundChange,
): Promise<void> {
  const names = Object.keys(change) as (keyof RoundChange)[];
  const sets = names.map((name, index) => `"${name}" = $${index + 2}, `).join("");
  await client.query(
    `UPDATE "Round" SET ${sets}version = version + 1, "updatedAt" = now() WHERE id = $1`,
    [roundId, ...names.map((name) => change[name])],
  );
}

/** Puts the stops of a round into an order with new times. */
export async function reorderStops(
  client: pg.ClientBase,
  roundId: string,
  stops: readonly {
    readonly id: string;
    readonly arriveMinute: number;
    readonly fromMinute: number | null;
    readonly toMinute: number | null;
  }[],
  times: RoundTimes,
): Promise<void> {
  const update = (offset: number) =>
    client.query(
      `UPDATE "RoundStop" s SET position = n.position, "arriveMinute" = n.arrive,
         "fromMinute" = n.opens, "toMinute" = n.closes
       FROM unnest($2::uuid[], $3::int[], $4::int[], $5::int[], $6::int[])
         AS n (id, position, arrive, opens, closes)
       WHERE s.id = n.id AND s."roundId" = $1`,
      [
        roundId,
        stops.map(({ id }) => id),
        stops.map((_, index) => index + offset),
        stops.map(({ arriveMinute }) => Math.round(arriveMinute)),
        stops.map(({ fromMinute }) => fromMinute),
        stops.map(({ toMinute }) => toMinute),
      ],
    );
  // In two steps, since no two stops may hold one position in between.
  await update(1_000_000);
  await update(0);
  await client.query(
    `UPDATE "Round" SET "finishMinutes" = $2, "finishBoundMinutes" = $3, "travelMinutes" = $4,
       "travelBoundMinutes" = $5, version = version + 1, "updatedAt" = now() WHERE id = $1`,
    [
      roundId,
      times.finishMinutes,
      times.finishBoundMinutes,
      times.travelMinutes,
      times.travelBoundMinutes,
    ],
  );
}

/** Makes everybody who plans rounds of the organisation wait for the one before, until the commit. */
export async function lockRounds(client: pg.ClientBase, organizationId: string): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", [
    `rounds of ${organizationId}`,
  ]);
}
