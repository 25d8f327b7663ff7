import type pg from "pg";
import type { HeaterEnd } from "@/lib/core/planning/plan-changes";
import type { Commitment, LineLife, LineStep, PlanStanding } from "@/lib/core/planning/plan-life";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

const STANDING = `CASE WHEN r."approvedAt" IS NULL THEN 'draft'
  WHEN r."withdrawnAt" IS NULL THEN 'in-force' ELSE 'withdrawn' END`;

export type PlanApproval = {
  readonly standing: PlanStanding;
  readonly approvedAt: Date | null;
  /** Id of who approved it. */
  readonly approvedBy: string | null;
  readonly withdrawnAt: Date | null;
  readonly version: number;
  /** Whether its inputs are stored, so that it may be approved. */
  readonly isFrozen: boolean;
};

export async function findApproval(
  client: pg.ClientBase,
  runId: string,
): Promise<PlanApproval | null> {
  const { rows } = await client.query<PlanApproval>(
    `SELECT ${STANDING} AS standing, r."approvedAt", r."withdrawnAt", r.version, r."approvedBy",
       r."frozenInputs" IS NOT NULL AS "isFrozen"
     FROM "PlanRun" r WHERE r.id = $1 AND r.status = 'done'`,
    [runId],
  );
  return rows[0] ?? null;
}

/** The plan in force; null while no plan is. */
export async function findPlanInForce(
  client: pg.ClientBase,
): Promise<{ readonly id: string; readonly scenarioName: string } | null> {
  const { rows } = await client.query<{ id: string; scenarioName: string }>(
    `SELECT r.id, s.name AS "scenarioName" FROM "PlanRun" r JOIN "Scenario" s ON s.id = r."scenarioId"
     WHERE r."approvedAt" IS NOT NULL AND r."withdrawnAt" IS NULL`,
  );
  return rows[0] ?? null;
}

/** @returns false when the plan is no draft any more, or changed since `version` was read. */
export async function approveRun(
  client: pg.ClientBase,
  runId: string,
  version: number,
  userId: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "PlanRun" SET "approvedAt" = now(), "approvedBy" = $3, version = version + 1
     WHERE id = $1 AND version = $2 AND "approvedAt" IS NULL AND status = 'done'`,
    [runId, version, userId],
  );
  return rowCount === 1;
}

/** @returns false when the plan is not in force, or changed since `version` was read. */
export async function withdrawRun(
  client: pg.ClientBase,
  runId: string,
  version: number | null,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "PlanRun" SET "withdrawnAt" = now(), version = version + 1
     WHERE id = $1 AND ($2::int IS NULL OR version = $2)
       AND "approvedAt" IS NOT NULL AND "withdrawnAt" IS NULL`,
    [runId, version],
  );
  return rowCount === 1;
}

/** Lines that the plan in force has promised for heaters that are still in service. */
export async function listCommitments(
  client: pg.ClientBase,
): Promise<readonly (Commitment & { readonly tag: string })[]> {
  const { rows } = await client.query<Commitment & { tag: string }>(
    `SELECT i."heaterId", i."optionCode", h.tag, span ->> 'start' AS start
     FROM "PlanItem" i
     JOIN "PlanRun" r ON r.id = i."planRunId"
     JOIN "Heater" h ON h.id = i."heaterId" AND h.status = 'in-service'
     JOIN LATERAL jsonb_array_elements(r.terms -> 'periods') AS span ON span ->> 'id' = i.period
     WHERE r."approvedAt" IS NOT NULL AND r."withdrawnAt" IS NULL
       AND i.life = 'committed' AND i."optionCode" IS NOT NULL
     ORDER BY i."heaterId"`,
  );
  return rows;
}

/** Marks as committed the lines of a plan for the heaters that an earlier one had promised. */
export async function carryCommitments(
  client: pg.ClientBase,
  runId: string,
  heaterIds: readonly string[],
): Promise<void> {
  await client.query(
    `UPDATE "PlanItem" SET life = 'committed', version = version + 1
     WHERE "planRunId" = $1 AND "heaterId" = ANY ($2)`,
    [runId, heaterIds],
  );
}

/** A line of a plan with what became of it and what the record says of the heater's end. */
export type LifeLine = {
  readonly heaterId: string;
  readonly tag: string;
  readonly unitLabel: string | null;
  readonly buildingId: string;
  readonly buildingName: string;
  readonly propertyName: string;
  readonly optionCode: string;
  readonly period: string;
  readonly plannedCents: number;
  readonly life: LineLife;
  readonly actualDay: CalendarDay | null;
  readonly actualCents: number | null;
  readonly version: number;
  /** Last day of the bracket in which the heater's end is recorded; null in service. */
  readonly recordedDay: CalendarDay | null;
  readonly recordedCents: number | null;
  readonly wasEmergency: boolean | null;
};

/** Lines of a plan that replace something, by period, place and tag. */
export async function listLifeLines(
  client: pg.ClientBase,
  runId: string,
): Promise<readonly LifeLine[]> {
  const { rows } = await client.query<LifeLine>(
    `SELECT i."heaterId", h.tag, u.label AS "unitLabel", b.id AS "buildingId",
       b.name AS "buildingName", p.name AS "propertyName", i."optionCode", i.period,
       i."capitalCents" AS "plannedCents", i.life, i."actualDay"::text, i."actualCents", i.version,
       t.latest::text AS "recordedDay", t."costCents" AS "recordedCents", t.emergency AS "wasEmergency"
     FROM "PlanItem" i
     JOIN "Heater" h ON h.id = i."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     LEFT JOIN "Retirement" t ON t."heaterId" = h.id
     WHERE i."planRunId" = $1 AND i.period IS NOT NULL
     ORDER BY i.period, p.name, b.name, u.label NULLS FIRST, h.tag`,
    [runId],
  );
  return rows;
}

/** Holds lines of a plan until the transaction ends, so that what is read of them stays true. */
export async function lockLines(
  client: pg.ClientBase,
  runId: string,
  heaterIds: readonly string[],
): Promise<void> {
  await client.query(
    `SELECT FROM "PlanItem" WHERE "planRunId" = $1 AND "heaterId" = ANY ($2) ORDER BY "heaterId" FOR UPDATE`,
    [runId, heaterIds],
  );
}

/** Writes what became of lines that are held (see {@link lockLines}), all in one statement. */
export async function writeLineSteps(
  client: pg.ClientBase,
  runId: string,
  steps: readonly (LineStep & { readonly heaterId: string })[],
): Promise<void> {
  await client.query(
    `UPDATE "PlanItem" i
     SET life = s.life, "actualDay" = s."actualDay", "actualCents" = s."actualCents",
       version = i.version + 1
     FROM jsonb_to_recordset($2::jsonb)
       AS s("heaterId" uuid, life text, "actualDay" date, "actualCents" bigint)
     WHERE i."planRunId" = $1 AND i."heaterId" = s."heaterId"`,
    [runId, JSON.stringify(steps)],
  );
}

/** Frozen inputs of a plan with the figures that they gave; null without a plan or without inputs. */
export async function readFrozen(
  client: pg.ClientBase,
  runId: string,
): Promise<{
  readonly frozenInputs: Buffer;
  readonly fingerprint: string;
  readonly objectiveCents: number;
} | null> {
  const { rows } = await client.query(
    `SELECT "frozenInputs", fingerprint, "objectiveCents" FROM "PlanRun"
     WHERE id = $1 AND "frozenInputs" IS NOT NULL AND status = 'done'`,
    [runId],
  );
  return rows[0] ?? null;
}

/** Lines of a plan without their parts, whatever became of their heaters. */
export async function listBareLines(
  client: pg.ClientBase,
  runId: string,
): Promise<
  readonly {
    readonly heaterId: string;
    readonly optionCode: string | null;
    readonly period: string | null;
    readonly capitalCents: number;
    readonly life: LineLife;
    readonly actualDay: CalendarDay | null;
  }[]
> {
  const { rows } = await client.query(
    `SELECT "heaterId", "optionCode", period, "capitalCents", life, "actualDay"::text
     FROM "PlanItem" WHERE "planRunId" = $1`,
    [runId],
  );
  return rows;
}

/** When and how the heaters of a plan went out of service, those that did. */
export async function listHeaterEnds(
  client: pg.ClientBase,
  runId: string,
): Promise<ReadonlyMap<string, HeaterEnd>> {
  const { rows } = await client.query<HeaterEnd & { heaterId: string }>(
    `SELECT t."heaterId", t.latest::text AS day, t.emergency AS "wasEmergency",
       EXISTS (SELECT 1 FROM "Heater" n WHERE n."predecessorId" = t."heaterId") AS "isReplaced"
     FROM "Retirement" t JOIN "PlanItem" i ON i."heaterId" = t."heaterId" AND i."planRunId" = $1`,
    [runId],
  );
  return new Map(rows.map(({ heaterId, ...end }) => [heaterId, end]));
}

/** What people call the heaters of some plans, and where they stand or stood. */
export async function listHeaterPlaces(
  client: pg.ClientBase,
  runIds: readonly string[],
): Promise<ReadonlyMap<string, { readonly tag: string; readonly place: string }>> {
  const { rows } = await client.query<{ id: string; tag: string; place: string }>(
    `SELECT h.id, h.tag, concat_ws(', ', p.name, b.name, u.label) AS place
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     WHERE h.id IN (SELECT "heaterId" FROM "PlanItem" WHERE "planRunId" = ANY ($1::uuid[]))`,
    [runIds],
  );
  return new Map(rows.map(({ id, ...place }) => [id, place]));
}
