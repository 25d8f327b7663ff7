import type pg from "pg";
import { type ScenarioTerms, scenarioTermsSchema } from "@/lib/core/planning/scenario";

export type ScenarioRecord = {
  readonly id: string;
  readonly name: string;
  readonly terms: ScenarioTerms;
  readonly version: number;
  readonly updatedAt: Date;
  /** Runs that exist of it, whatever became of them. */
  readonly runCount: number;
};

type ScenarioRow = Omit<ScenarioRecord, "terms"> & { readonly terms: unknown };

const COLUMNS = `s.id, s.name, s.terms, s.version, s."updatedAt",
  (SELECT count(*) FROM "PlanRun" r WHERE r."scenarioId" = s.id) AS "runCount"`;

/** Scenarios, the latest first. */
export async function listScenarios(client: pg.ClientBase): Promise<readonly ScenarioRecord[]> {
  const { rows } = await client.query<ScenarioRow>(
    `SELECT ${COLUMNS} FROM "Scenario" s ORDER BY s."createdAt" DESC, s.id`,
  );
  return rows.map(recordOf);
}

export async function findScenario(
  client: pg.ClientBase,
  id: string,
): Promise<ScenarioRecord | null> {
  const { rows } = await client.query<ScenarioRow>(
    `SELECT ${COLUMNS} FROM "Scenario" s WHERE s.id = $1`,
    [id],
  );
  return rows[0] ? recordOf(rows[0]) : null;
}

/** @returns the new scenario's id. */
export async function insertScenario(
  client: pg.ClientBase,
  organizationId: string,
  scenario: { readonly name: string; readonly terms: ScenarioTerms; readonly createdBy: string },
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "Scenario" (id, "organizationId", name, terms, "createdBy")
     VALUES (gen_random_uuid(), $1, $2, $3, $4) RETURNING id`,
    [organizationId, scenario.name, JSON.stringify(scenario.terms), scenario.createdBy],
  );
  return (rows[0] as { id: string }).id;
}

/** @returns false when another change came first (the version is not the one that was read). */
export async function updateScenario(
  client: pg.ClientBase,
  id: string,
  version: number,
  { name, terms }: { readonly name: string; readonly terms: ScenarioTerms },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "Scenario" SET name = $3, terms = $4, version = version + 1, "updatedAt" = now()
     WHERE id = $1 AND version = $2`,
    [id, version, name, JSON.stringify(terms)],
  );
  return rowCount === 1;
}

function recordOf(row: ScenarioRow): ScenarioRecord {
  return { ...row, terms: scenarioTermsSchema.parse(row.terms) };
}
