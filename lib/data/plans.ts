import type pg from "pg";
import type { Answer, ReadinessItem, Technology } from "@/lib/core/heaters/vocabulary";
import type { PriceParts } from "@/lib/core/planning/costing";
import type { CostPart } from "@/lib/core/planning/options";
import { type ScenarioTerms, scenarioTermsSchema } from "@/lib/core/planning/scenario";

/**
 * SQL for the id of the plan that pages go by: the one in force or, while none is, the one finished
 * last.
 */
export const PLAN_THAT_COUNTS = `(SELECT id FROM "PlanRun" WHERE status = 'done'
  ORDER BY ("approvedAt" IS NOT NULL AND "withdrawnAt" IS NULL) DESC, "finishedAt" DESC LIMIT 1)`;

export const RUN_STATUSES = [
  "queued",
  "running",
  "done",
  "infeasible",
  "failed",
  "cancelled",
] as const;
export type RunStatus = (typeof RUN_STATUSES)[number];

/** What a page that waits for a run shows. */
export type RunProgress = {
  readonly status: RunStatus;
  /** 0 to 1. */
  readonly progress: number;
  readonly message: string | null;
};

export type RunRecord = RunProgress & {
  readonly id: string;
  readonly scenarioId: string;
  readonly scenarioName: string;
  readonly seed: number;
  readonly method: string | null;
  readonly fingerprint: string | null;
  readonly objectiveCents: number | null;
  readonly lowerBoundCents: number | null;
  readonly gap: number | null;
  readonly createdAt: Date;
  readonly startedAt: Date | null;
  readonly finishedAt: Date | null;
};

const RUN_COLUMNS = `r.id, r."scenarioId", s.name AS "scenarioName", r.status, r.progress, r.message,
  r.seed, r.method, r.fingerprint, r."objectiveCents", r."lowerBoundCents", r.gap, r."createdAt",
  r."startedAt", r."finishedAt"`;

/** @returns the new run's id. */
export async function insertRun(
  client: pg.ClientBase,
  organizationId: string,
  run: {
    readonly scenarioId: string;
    readonly terms: ScenarioTerms;
    readonly seed: number;
    readonly requestedBy: string;
  },
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "PlanRun" (id, "organizationId", "scenarioId", terms, seed, "requestedBy", message)
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, 'Waiting for a worker') RETURNING id`,
    [organizationId, run.scenarioId, JSON.stringify(run.terms), run.seed, run.requestedBy],
  );
  return (rows[0] as { id: string }).id;
}

/** A run with the terms it was made from and, when it is done, its summary as stored. */
export async function findRun(
  client: pg.ClientBase,
  id: string,
): Promise<(RunRecord & { readonly terms: ScenarioTerms; readonly summary: unknown }) | null> {
  const { rows } = await client.query<RunRecord & { terms: unknown; summary: unknown }>(
    `SELECT ${RUN_COLUMNS}, r.terms, r.summary
     FROM "PlanRun" r JOIN "Scenario" s ON s.id = r."scenarioId" WHERE r.id = $1`,
    [id],
  );
  const [row] = rows;
  return row ? { ...row, terms: scenarioTermsSchema.parse(row.terms) } : null;
}

export async function findRunProgress(
  client: pg.ClientBase,
  id: string,
): Promise<RunProgress | null> {
  const { rows } = await client.query<RunProgress>(
    'SELECT status, progress, message FROM "PlanRun" WHERE id = $1',
    [id],
  );
  return rows[0] ?? null;
}

/** Every run without its terms, with the headline of its summary, the latest first. */
export async function listRuns(
  client: pg.ClientBase,
): Promise<readonly (RunRecord & { readonly headline: unknown })[]> {
  const { rows } = await client.query<RunRecord & { headline: unknown }>(
    `SELECT ${RUN_COLUMNS}, r.summary -> 'headline' AS headline
     FROM "PlanRun" r JOIN "Scenario" s ON s.id = r."scenarioId"
     ORDER BY r."createdAt" DESC, r.id`,
  );
  return rows;
}

/**
 * Takes a run for computing. A run that was left half-way by a worker that died is taken again; one
 * that ended is not.
 */
export async function claimRun(
  client: pg.ClientBase,
  id: string,
): Promise<{ readonly terms: ScenarioTerms; readonly seed: number } | null> {
  const { rows } = await client.query<{ terms: unknown; seed: number }>(
    `UPDATE "PlanRun" SET status = 'running', progress = 0, "startedAt" = now(),
       message = 'Reading the record'
     WHERE id = $1 AND status IN ('queued', 'running') RETURNING terms, seed`,
    [id],
  );
  const [row] = rows;
  return row ? { terms: scenarioTermsSchema.parse(row.terms), seed: row.seed } : null;
}

/** @returns false when the run is no longer under way: it was cancelled. */
export async function writeProgress(
  client: pg.ClientBase,
  id: string,
  progress: number,
  message: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "PlanRun" SET progress = $2, message = $3 WHERE id = $1 AND status = 'running'`,
    [id, progress, message],
  );
  return rowCount === 1;
}

/** Ends a run without a plan. A run that has ended already keeps its end. */
export async function endRun(
  client: pg.ClientBase,
  id: string,
  status: Extract<RunStatus, "infeasible" | "failed" | "cancelled">,
  message: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "PlanRun" SET status = $2, message = $3, "finishedAt" = now()
     WHERE id = $1 AND status IN ('queued', 'running')`,
    [id, status, message],
  );
  return rowCount === 1;
}

/** Puts a run back so that the queue's next try takes it from the start. */
export async function requeueRun(client: pg.ClientBase, id: string): Promise<void> {
  await client.query(
    `UPDATE "PlanRun" SET status = 'queued', progress = 0,
       message = 'The worker was stopped; the run starts again with the next one'
     WHERE id = $1 AND status = 'running'`,
    [id],
  );
}

/** What a line costs in parts, all cents. */
export type LineParts = {
  /** Present value over the horizon; the sum is what the line adds to the plan's objective. */
  readonly price: PriceParts;
  /** The swap in the money of its period, before incentives: equipment, labour, … */
  readonly swap: Readonly<Partial<Record<CostPart, number>>>;
  readonly incentiveCents: number;
  /** Present value of leaving the heater for the whole horizon, for comparison. */
  readonly leftCents: number;
  /** Chance of failing before the swap (over the horizon for a heater that is left). */
  readonly failsBefore: number;
  /** Survey answers that are not known. */
  readonly unknownReadiness: readonly ReadinessItem[];
};

export type PlanLine = {
  readonly heaterId: string;
  readonly optionCode: string | null;
  readonly period: string | null;
  readonly capitalCents: number;
  readonly hours: number;
  readonly parts: LineParts;
};

export type FinishedPlan = {
  readonly method: string;
  readonly fingerprint: string;
  /** What the fingerprint is of. */
  readonly frozenInputs: Buffer;
  readonly objectiveCents: number;
  readonly lowerBoundCents: number | null;
  readonly gap: number | null;
  readonly summary: object;
  readonly lines: readonly PlanLine[];
  readonly upgrades: readonly {
    readonly buildingId: string;
    readonly period: string;
    readonly costCents: number;
  }[];
};

/** Lines sent in one statement. (COPY is not open to a role under row-level security.) */
const LINES_AT_ONCE = 2_000;

/**
 * Stores a plan whole, in the caller's transaction. What an earlier try left is replaced.
 * @returns false when the run was cancelled meanwhile: nothing may be stored, roll back.
 */
export async function storePlan(
  client: pg.ClientBase,
  organizationId: string,
  runId: string,
  plan: FinishedPlan,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "PlanRun" SET status = 'done', progress = 1, message = NULL, "finishedAt" = now(),
       method = $2, fingerprint = $3, "objectiveCents" = $4, "lowerBoundCents" = $5, gap = $6,
       summary = $7, "frozenInputs" = $8
     WHERE id = $1 AND status = 'running'`,
    [
      runId,
      plan.method,
      plan.fingerprint,
      plan.objectiveCents,
      plan.lowerBoundCents,
      plan.gap,
      JSON.stringify(plan.summary),
      plan.frozenInputs,
    ],
  );
  if (rowCount !== 1) return false;
  await client.query('DELETE FROM "PlanItem" WHERE "planRunId" = $1', [runId]);
  await client.query('DELETE FROM "PlanUpgrade" WHERE "planRunId" = $1', [runId]);
  for (let from = 0; from < plan.lines.length; from += LINES_AT_ONCE) {
    await client.query(
      `INSERT INTO "PlanItem" (id, "organizationId", "planRunId", "heaterId", "optionCode", period,
         "capitalCents", hours, parts)
       SELECT gen_random_uuid(), $1, $2, "heaterId", "optionCode", period, "capitalCents", hours, parts
       FROM jsonb_to_recordset($3::jsonb) AS line ("heaterId" uuid, "optionCode" text, period text,
         "capitalCents" int, hours float8, parts jsonb)`,
      [organizationId, runId, JSON.stringify(plan.lines.slice(from, from + LINES_AT_ONCE))],
    );
  }
  await client.query(
    `INSERT INTO "PlanUpgrade" (id, "organizationId", "planRunId", "buildingId", period, "costCents")
     SELECT gen_random_uuid(), $1, $2, "buildingId", period, "costCents"
     FROM jsonb_to_recordset($3::jsonb) AS upgrade ("buildingId" uuid, period text, "costCents" int)`,
    [organizationId, runId, JSON.stringify(plan.upgrades)],
  );
  return true;
}

export type BuildingRecord = {
  readonly id: string;
  readonly name: string;
  readonly propertyName: string;
  readonly headroomCircuits: number | null;
  readonly upgradeCostCents: number | null;
  readonly upgradeAddsCircuits: number | null;
  /** Whether its service or demand is on record at all, so that a headroom of null means enough. */
  readonly serviceKnown: boolean;
};

/** Buildings with what their electrical service still carries. */
export async function listBuildings(client: pg.ClientBase): Promise<readonly BuildingRecord[]> {
  const { rows } = await client.query<BuildingRecord>(
    `SELECT b.id, b.name, p.name AS "propertyName", b."headroomCircuits", b."upgradeCostCents",
       b."upgradeAddsCircuits",
       b."serviceAmps" IS NOT NULL AND b."measuredPeakKw" IS NOT NULL AS "serviceKnown"
     FROM "Building" b JOIN "Property" p ON p.id = b."propertyId" ORDER BY b.id`,
  );
  return rows;
}

export async function countHeatersInService(client: pg.ClientBase): Promise<number> {
  const { rows } = await client.query<{ count: number }>(
    `SELECT count(*) FROM "Heater" WHERE status = 'in-service'`,
  );
  return rows[0]?.count ?? 0;
}

/** Survey answers of the heaters in service, by heater. */
export async function listReadiness(
  client: pg.ClientBase,
): Promise<ReadonlyMap<string, Readonly<Partial<Record<ReadinessItem, Answer>>>>> {
  const { rows } = await client.query<{
    heaterId: string;
    answers: Partial<Record<ReadinessItem, Answer>>;
  }>(
    `SELECT r."heaterId", jsonb_object_agg(r.item, r.answer) AS answers
     FROM "ReadinessAnswer" r JOIN "Heater" h ON h.id = r."heaterId"
     WHERE h.status = 'in-service' GROUP BY r."heaterId"`,
  );
  return new Map(rows.map((row) => [row.heaterId, row.answers]));
}

/** Swaps of one building in one period. */
export type ScheduleGroup = {
  readonly period: string;
  readonly buildingId: string;
  readonly buildingName: string;
  readonly propertyName: string;
  readonly optionCode: string;
  readonly swaps: number;
  readonly capitalCents: number;
  readonly hours: number;
};

export async function listScheduleGroups(
  client: pg.ClientBase,
  runId: string,
): Promise<readonly ScheduleGroup[]> {
  const { rows } = await client.query<ScheduleGroup>(
    `SELECT i.period, b.id AS "buildingId", b.name AS "buildingName", p.name AS "propertyName",
       i."optionCode", count(*) AS swaps, sum(i."capitalCents") AS "capitalCents",
       sum(i.hours) AS hours
     FROM "PlanItem" i
     JOIN "Heater" h ON h.id = i."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     WHERE i."planRunId" = $1 AND i.period IS NOT NULL
     GROUP BY i.period, b.id, p.id, i."optionCode"
     ORDER BY i.period, p.name, b.name, i."optionCode"`,
    [runId],
  );
  return rows;
}

/** A line with what a person needs to find the heater. */
export type ScheduleLine = PlanLine & {
  readonly tag: string;
  readonly technology: Technology;
  readonly installEarliest: string;
  readonly installLatest: string;
  readonly unitLabel: string | null;
  readonly buildingName: string;
  readonly propertyName: string;
};

/**
 * Lines of a run: all, those of a building in one period, or those of heaters that are left. In the
 * order of period, place and tag.
 */
export async function listLines(
  client: pg.ClientBase,
  runId: string,
  {
    buildingId = null,
    period = null,
    left = false,
  }: {
    readonly buildingId?: string | null;
    readonly period?: string | null;
    /** True for the heaters that stay for the whole horizon only. */
    readonly left?: boolean;
  } = {},
): Promise<readonly ScheduleLine[]> {
  const { rows } = await client.query<ScheduleLine>(
    `SELECT i."heaterId", i."optionCode", i.period, i."capitalCents", i.hours, i.parts,
       h.tag, h.technology, h."installEarliest", h."installLatest", u.label AS "unitLabel",
       b.name AS "buildingName", p.name AS "propertyName"
     FROM "PlanItem" i
     JOIN "Heater" h ON h.id = i."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     WHERE i."planRunId" = $1
       AND ($2::uuid IS NULL OR b.id = $2)
       AND ($3::text IS NULL OR i.period = $3)
       AND (NOT $4 OR i.period IS NULL)
     ORDER BY i.period NULLS LAST, p.name, b.name, u.label NULLS FIRST, h.tag`,
    [runId, buildingId, period, left],
  );
  return rows;
}

/** Electrical upgrades of a run, in the order of their periods. */
export async function listUpgrades(
  client: pg.ClientBase,
  runId: string,
): Promise<
  readonly {
    readonly period: string;
    readonly costCents: number;
    readonly buildingId: string;
    readonly buildingName: string;
    readonly propertyName: string;
    readonly headroomCircuits: number | null;
    readonly upgradeAddsCircuits: number | null;
  }[]
> {
  const { rows } = await client.query(
    `SELECT x.period, x."costCents", b.id AS "buildingId", b.name AS "buildingName",
       p.name AS "propertyName", b."headroomCircuits", b."upgradeAddsCircuits"
     FROM "PlanUpgrade" x
     JOIN "Building" b ON b.id = x."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     WHERE x."planRunId" = $1 ORDER BY x.period, p.name, b.name`,
    [runId],
  );
  return rows;
}
