import type pg from "pg";
import type { ReadinessAnswer } from "@/lib/core/heaters/heater";
import type { HeaterEntry, HomeEntry } from "@/lib/core/heaters/heater-form";
import type { RetirementEntry } from "@/lib/core/heaters/retirement-form";
import type {
  Answer,
  Fuel,
  HeaterStatus,
  InstallEvidence,
  Place,
  RetirementCause,
  TaskKind,
  Technology,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { PLAN_THAT_COUNTS } from "./plans";

/** A heater as it stands on record, with the names of its place. */
export type HeaterRecord = {
  readonly id: string;
  readonly version: number;
  readonly status: HeaterStatus;
  readonly entry: HeaterEntry;
  readonly unitId: string | null;
  readonly propertyId: string;
  readonly propertyName: string;
  readonly street: string | null;
  readonly city: string | null;
  readonly buildingName: string;
  readonly builtYear: number | null;
  readonly recordedFrom: CalendarDay;
  readonly predecessorId: string | null;
};

type HeaterColumns = {
  readonly id: string;
  readonly version: number;
  readonly status: HeaterStatus;
  readonly tag: string;
  readonly buildingId: string;
  readonly unitId: string | null;
  readonly technology: Technology;
  readonly fuel: Fuel;
  readonly installEarliest: CalendarDay;
  readonly installLatest: CalendarDay;
  readonly installEvidence: InstallEvidence;
  readonly manufacturer: string | null;
  readonly model: string | null;
  readonly serial: string | null;
  readonly volumeGal: number | null;
  readonly inputBtuPerHour: number | null;
  readonly inputWatts: number | null;
  readonly uniformEnergyFactor: number | null;
  readonly firstHourGal: number | null;
  readonly place: Place;
  readonly overFinishedSpace: Answer;
  readonly drainPan: Answer;
  readonly leakShutoff: Answer;
  readonly closedSystem: Answer;
  readonly expansionControl: Answer;
  readonly mixingValve: Answer;
  readonly setpointF: number | null;
  readonly warrantyYears: number | null;
  readonly homesServed: number;
  readonly notes: string | null;
  readonly predecessorId: string | null;
  readonly recordedFrom: CalendarDay;
  readonly propertyId: string;
  readonly propertyName: string;
  readonly street: string | null;
  readonly city: string | null;
  readonly buildingName: string;
  readonly builtYear: number | null;
} & { readonly [F in keyof Omit<HomeEntry, "label">]: HomeEntry[F] } & {
  readonly label: string | null;
};

/** A heater of the tenant; null when there is none with this id. `lock` keeps it until the end. */
export async function findHeater(
  client: pg.ClientBase,
  id: string,
  { lock = false }: { readonly lock?: boolean } = {},
): Promise<HeaterRecord | null> {
  const { rows } = await client.query<HeaterColumns>(
    `SELECT h.*, u.label, u.floor, u.riser, u.bedrooms, u.bathrooms, u.occupants,
       b.name AS "buildingName", b."builtYear", p.id AS "propertyId", p.name AS "propertyName",
       p.street, p.city
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     WHERE h.id = $1 ${lock ? "FOR UPDATE OF h" : ""}`,
    [id],
  );
  return rows[0] ? recordOf(rows[0]) : null;
}

function recordOf(row: HeaterColumns): HeaterRecord {
  const { label, floor, riser, bedrooms, bathrooms, occupants } = row;
  return {
    id: row.id,
    version: row.version,
    status: row.status,
    unitId: row.unitId,
    propertyId: row.propertyId,
    propertyName: row.propertyName,
    street: row.street,
    city: row.city,
    buildingName: row.buildingName,
    builtYear: row.builtYear,
    recordedFrom: row.recordedFrom,
    predecessorId: row.predecessorId,
    entry: {
      tag: row.tag,
      buildingId: row.buildingId,
      home: label === null ? null : { label, floor, riser, bedrooms, bathrooms, occupants },
      homesServed: row.homesServed,
      technology: row.technology,
      fuel: row.fuel,
      install: {
        earliest: row.installEarliest,
        latest: row.installLatest,
        evidence: row.installEvidence,
      },
      nameplate: {
        manufacturer: row.manufacturer,
        model: row.model,
        serial: row.serial,
        volumeGal: row.volumeGal,
        inputBtuPerHour: row.inputBtuPerHour,
        inputWatts: row.inputWatts,
        uniformEnergyFactor: row.uniformEnergyFactor,
        firstHourGal: row.firstHourGal,
      },
      place: row.place,
      overFinishedSpace: row.overFinishedSpace,
      drainPan: row.drainPan,
      leakShutoff: row.leakShutoff,
      closedSystem: row.closedSystem,
      expansionControl: row.expansionControl,
      mixingValve: row.mixingValve,
      setpointF: row.setpointF,
      warrantyYears: row.warrantyYears,
      notes: row.notes,
    },
  };
}

/** The columns that an entry fills, in one order for adding and changing. */
function columnsOf(entry: HeaterEntry, unitId: string | null): Readonly<Record<string, unknown>> {
  return {
    tag: entry.tag,
    buildingId: entry.buildingId,
    unitId,
    technology: entry.technology,
    fuel: entry.fuel,
    installEarliest: entry.install.earliest,
    installLatest: entry.install.latest,
    installEvidence: entry.install.evidence,
    ...entry.nameplate,
    place: entry.place,
    overFinishedSpace: entry.overFinishedSpace,
    drainPan: entry.drainPan,
    leakShutoff: entry.leakShutoff,
    closedSystem: entry.closedSystem,
    expansionControl: entry.expansionControl,
    mixingValve: entry.mixingValve,
    setpointF: entry.setpointF,
    warrantyYears: entry.warrantyYears,
    homesServed: entry.homesServed,
    notes: entry.notes,
  };
}

/** @returns the new heater's id. */
export async function insertHeater(
  client: pg.ClientBase,
  organizationId: string,
  heater: {
    readonly entry: HeaterEntry;
    readonly unitId: string | null;
    readonly predecessorId: string | null;
    readonly recordedFrom: CalendarDay;
  },
): Promise<string> {
  const columns = {
    organizationId,
    ...columnsOf(heater.entry, heater.unitId),
    predecessorId: heater.predecessorId,
    recordedFrom: heater.recordedFrom,
  };
  const names = Object.keys(columns);
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "Heater" (id, ${names.map((name) => `"${name}"`).join(", ")})
     VALUES (gen_random_uuid(), ${names.map((_, index) => `$${index + 1}`).join(", ")})
     RETURNING id`,
    Object.values(columns),
  );
  return (rows[0] as { id: string }).id;
}

/**
 * Changes a heater that is still at `version`.
 * @returns false, and changes nothing, when somebody has changed it since.
 */
export async function updateHeater(
  client: pg.ClientBase,
  id: string,
  version: number,
  entry: HeaterEntry,
  unitId: string | null,
): Promise<boolean> {
  const columns = columnsOf(entry, unitId);
  const sets = Object.keys(columns).map((name, index) => `"${name}" = $${index + 3}`);
  const { rowCount } = await client.query(
    `UPDATE "Heater" SET ${sets.join(", ")}, version = version + 1, "updatedAt" = now()
     WHERE id = $1 AND version = $2`,
    [id, version, ...Object.values(columns)],
  );
  return rowCount === 1;
}

/** True when another heater of the tenant has this tag, in whatever case. */
export async function isTagTaken(
  client: pg.ClientBase,
  tag: string,
  exceptId: string | null,
): Promise<boolean> {
  const { rows } = await client.query(
    `SELECT EXISTS (
       SELECT FROM "Heater" WHERE lower(tag) = lower($1) AND id IS DISTINCT FROM $2
     ) AS taken`,
    [tag, exceptId],
  );
  return rows[0].taken;
}

export async function hasBuilding(client: pg.ClientBase, id: string): Promise<boolean> {
  const { rows } = await client.query(
    'SELECT EXISTS (SELECT FROM "Building" WHERE id = $1) AS ok',
    [id],
  );
  return rows[0].ok;
}

/**
 * The home of this number in a building, made when it is not on record. Its facts are written only
 * when it is new or `overwrite` is set: a heater that moves brings no facts of the home it left.
 */
export async function ensureHome(
  client: pg.ClientBase,
  organizationId: string,
  buildingId: string,
  home: HomeEntry,
  { overwrite }: { readonly overwrite: boolean },
): Promise<string> {
  const facts = [home.floor, home.riser, home.bedrooms, home.bathrooms, home.occupants];
  const made = await client.query<{ id: string }>(
    `INSERT INTO "Unit"
       (id, "organizationId", "buildingId", label, floor, riser, bedrooms, bathrooms, occupants)
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8)
     ON CONFLICT ("buildingId", label) DO NOTHING RETURNING id`,
    [organizationId, buildingId, home.label, ...facts],
  );
  if (made.rows[0]) return made.rows[0].id;
  const found = await client.query<{ id: string }>(
    'SELECT id FROM "Unit" WHERE "buildingId" = $1 AND label = $2',
    [buildingId, home.label],
  );
  const { id } = found.rows[0] as { id: string };
  if (overwrite) {
    await client.query(
      `UPDATE "Unit" SET floor = $2, riser = $3, bedrooms = $4, bathrooms = $5, occupants = $6
       WHERE id = $1
         AND (floor, riser, bedrooms, bathrooms, occupants) IS DISTINCT FROM ($2, $3, $4, $5, $6)`,
      [id, ...facts],
    );
  }
  return id;
}

export async function insertRetirement(
  client: pg.ClientBase,
  organizationId: string,
  heaterId: string,
  end: RetirementEntry,
): Promise<void> {
  await client.query(
    `INSERT INTO "Retirement"
       (id, "organizationId", "heaterId", earliest, latest, cause, emergency, "costCents", note)
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8)`,
    [
      organizationId,
      heaterId,
      end.earliest,
      end.latest,
      end.cause,
      end.emergency,
      end.costCents,
      end.note,
    ],
  );
}

export async function deleteRetirement(client: pg.ClientBase, heaterId: string): Promise<void> {
  await client.query('DELETE FROM "Retirement" WHERE "heaterId" = $1', [heaterId]);
}

export async function setStatus(
  client: pg.ClientBase,
  heaterId: string,
  status: HeaterStatus,
): Promise<void> {
  await client.query(
    `UPDATE "Heater" SET status = $2, version = version + 1, "updatedAt" = now() WHERE id = $1`,
    [heaterId, status],
  );
}

/** The site survey describes the place, so that it holds for the heater that comes after. */
export async function copyReadiness(
  client: pg.ClientBase,
  fromHeaterId: string,
  toHeaterId: string,
): Promise<void> {
  await client.query(
    `INSERT INTO "ReadinessAnswer"
       (id, "organizationId", "heaterId", item, answer, "observedOn", "observedBy", note, basis,
        "inferredFromId", "inferenceId", measures)
     SELECT gen_random_uuid(), "organizationId", $2, item, answer, "observedOn", "observedBy", note,
       basis, "inferredFromId", "inferenceId", measures
     FROM "ReadinessAnswer" WHERE "heaterId" = $1`,
    [fromHeaterId, toHeaterId],
  );
}

export type RetirementRecord = {
  readonly earliest: CalendarDay;
  readonly latest: CalendarDay;
  readonly cause: RetirementCause;
  readonly emergency: boolean;
  readonly costCents: number | null;
  readonly note: string | null;
};

export async function findRetirement(
  client: pg.ClientBase,
  heaterId: string,
): Promise<RetirementRecord | null> {
  const { rows } = await client.query<RetirementRecord>(
    `SELECT earliest, latest, cause, emergency, "costCents", note FROM "Retirement"
     WHERE "heaterId" = $1`,
    [heaterId],
  );
  return rows[0] ?? null;
}

/** In which the chance within 12 months lies with 90 % confidence, as far as the model is in doubt. */
export type RiskBand = { readonly lower: number; readonly upper: number };

export async function findRiskBand(
  client: pg.ClientBase,
  heaterId: string,
): Promise<RiskBand | null> {
  const { rows } = await client.query<RiskBand>(
    'SELECT "failureLower" AS lower, "failureUpper" AS upper FROM "HeaterRisk" WHERE "heaterId" = $1',
    [heaterId],
  );
  return rows[0] ?? null;
}

export type ReadinessRecord = ReadinessAnswer & { readonly observedBy: string | null };

export async function listReadinessOf(
  client: pg.ClientBase,
  heaterId: string,
): Promise<readonly ReadinessRecord[]> {
  const { rows } = await client.query<ReadinessRecord>(
    `SELECT item, answer, "observedOn", "observedBy", note FROM "ReadinessAnswer"
     WHERE "heaterId" = $1`,
    [heaterId],
  );
  return rows;
}

export type VisitRecord = {
  readonly id: string;
  readonly visitedOn: CalendarDay;
  readonly performedBy: string | null;
  readonly minutes: number | null;
  readonly note: string | null;
  readonly tasks: readonly { readonly task: TaskKind; readonly finding: string | null }[];
};

/** Visits to a heater, the latest first. */
export async function listVisits(
  client: pg.ClientBase,
  heaterId: string,
): Promise<readonly VisitRecord[]> {
  const { rows } = await client.query<VisitRecord>(
    `SELECT v.id, v."visitedOn", v."performedBy", v.minutes, v.note,
       COALESCE(
         json_agg(json_build_object('task', t.task, 'finding', t.finding) ORDER BY t.task)
           FILTER (WHERE t.id IS NOT NULL), '[]') AS tasks
     FROM "ServiceVisit" v LEFT JOIN "VisitTask" t ON t."visitId" = v.id
     WHERE v."heaterId" = $1
     GROUP BY v.id ORDER BY v."visitedOn" DESC, v.id DESC`,
    [heaterId],
  );
  return rows;
}

export type ChainLink = {
  readonly id: string;
  readonly tag: string;
  readonly technology: Technology;
  readonly status: HeaterStatus;
  readonly installEarliest: CalendarDay;
  readonly installLatest: CalendarDay;
  readonly endEarliest: CalendarDay | null;
  readonly endLatest: CalendarDay | null;
  readonly cause: RetirementCause | null;
};

/** The heaters that stood in this place one after another, the oldest first, this one among them. */
export async function listChain(
  client: pg.ClientBase,
  heaterId: string,
): Promise<readonly ChainLink[]> {
  const { rows } = await client.query<ChainLink>(
    `WITH RECURSIVE before AS (
       SELECT id, "predecessorId" FROM "Heater" WHERE id = $1
       UNION
       SELECT h.id, h."predecessorId" FROM "Heater" h JOIN before ON h.id = before."predecessorId"
     ), chain AS (
       SELECT id FROM before
       UNION
       SELECT h.id FROM "Heater" h JOIN chain ON h."predecessorId" = chain.id
     )
     SELECT h.id, h.tag, h.technology, h.status, h."installEarliest", h."installLatest",
       r.earliest AS "endEarliest", r.latest AS "endLatest", r.cause
     FROM chain JOIN "Heater" h USING (id) LEFT JOIN "Retirement" r ON r."heaterId" = h.id
     ORDER BY h."installLatest", h."createdAt", h.id`,
    [heaterId],
  );
  return rows;
}

export async function hasSuccessor(client: pg.ClientBase, heaterId: string): Promise<boolean> {
  const { rows } = await client.query(
    'SELECT EXISTS (SELECT FROM "Heater" WHERE "predecessorId" = $1) AS present',
    [heaterId],
  );
  return rows[0].present;
}

/** A heater's line in the plan that was finished last. */
export type PlannedLine = {
  readonly runId: string;
  readonly scenarioName: string;
  readonly optionCode: string | null;
  readonly optionName: string | null;
  readonly period: string | null;
  /** First day of the period; null where the heater is left for the whole horizon. */
  readonly periodStart: CalendarDay | null;
  readonly capitalCents: number;
  readonly failsBefore: number | null;
};

export async function findPlannedLine(
  client: pg.ClientBase,
  heaterId: string,
): Promise<PlannedLine | null> {
  const { rows } = await client.query<PlannedLine>(
    `SELECT r.id AS "runId", s.name AS "scenarioName", i."optionCode", o.name AS "optionName",
       i.period, i."capitalCents", (i.parts ->> 'failsBefore')::float8 AS "failsBefore",
       (SELECT p ->> 'start' FROM jsonb_array_elements(r.terms -> 'periods') p
        WHERE p ->> 'id' = i.period) AS "periodStart"
     FROM "PlanRun" r
     JOIN "Scenario" s ON s.id = r."scenarioId"
     JOIN "PlanItem" i ON i."planRunId" = r.id AND i."heaterId" = $1
     LEFT JOIN "OptionType" o ON o.code = i."optionCode"
     WHERE r.id = ${PLAN_THAT_COUNTS}`,
    [heaterId],
  );
  return rows[0] ?? null;
}

export type HeaterChange = {
  readonly id: string;
  readonly at: Date;
  readonly personName: string | null;
  readonly action: string;
  readonly before: unknown;
  readonly after: unknown;
};

/** What was changed of a heater, the latest first. */
export async function listChangesOf(
  client: pg.ClientBase,
  heaterId: string,
  limit: number,
): Promise<readonly HeaterChange[]> {
  const { rows } = await client.query<HeaterChange>(
    `SELECT e.id, e.at, u.name AS "personName", e.action, e.before, e.after
     FROM "AuditEntry" e LEFT JOIN "User" u ON u.id = e."userId"
     WHERE e.entity = 'Heater' AND e."entityId" = $1
     ORDER BY e.at DESC, e.id DESC LIMIT $2`,
    [heaterId, limit],
  );
  return rows;
}
