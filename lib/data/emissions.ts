import type pg from "pg";
import { type ScenarioTerms, scenarioTermsSchema } from "@/lib/core/planning/scenario";

/** A finished plan, as far as emissions along it need to know. */
export type PlannedSwaps = {
  readonly runId: string;
  readonly scenarioName: string;
  readonly terms: ScenarioTerms;
  /** Every heater that the plan has a line for; null where it is left for the whole horizon. */
  readonly lines: ReadonlyMap<
    string,
    { readonly optionCode: string; readonly period: string } | null
  >;
};

/** The plan run asked for, or the latest that is done; null when there is none. */
export async function loadPlannedSwaps(
  client: pg.ClientBase,
  runId: string | null,
): Promise<PlannedSwaps | null> {
  const runs = await client.query<{ id: string; name: string; terms: unknown }>(
    `SELECT r.id, s.name, r.terms FROM "PlanRun" r JOIN "Scenario" s ON s.id = r."scenarioId"
     WHERE r.status = 'done' AND ($1::uuid IS NULL OR r.id = $1)
     ORDER BY r."finishedAt" DESC LIMIT 1`,
    [runId],
  );
  const [run] = runs.rows;
  if (!run) return null;
  const items = await client.query<{
    heaterId: string;
    optionCode: string | null;
    period: string | null;
  }>('SELECT "heaterId", "optionCode", period FROM "PlanItem" WHERE "planRunId" = $1', [run.id]);
  return {
    runId: run.id,
    scenarioName: run.name,
    terms: scenarioTermsSchema.parse(run.terms),
    lines: new Map(
      items.rows.map(({ heaterId, optionCode, period }) => [
        heaterId,
        optionCode !== null && period !== null ? { optionCode, period } : null,
      ]),
    ),
  };
}

/** Plan runs that are done, the latest first, to choose from. */
export async function listDoneRuns(
  client: pg.ClientBase,
): Promise<readonly { readonly id: string; readonly name: string; readonly finishedAt: Date }[]> {
  const { rows } = await client.query(
    `SELECT r.id, s.name, r."finishedAt" FROM "PlanRun" r JOIN "Scenario" s ON s.id = r."scenarioId"
     WHERE r.status = 'done' ORDER BY r."finishedAt" DESC LIMIT 50`,
  );
  return rows;
}
