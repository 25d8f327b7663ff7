import type pg from "pg";
import type { Answer } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** One analysis of a property's water; null is not measured. */
export type WaterAnalysis = {
  readonly sampledOn: CalendarDay;
  readonly hardnessMgPerLitre: number | null;
  readonly calciumMgPerLitre: number | null;
  readonly softened: Answer;
  readonly ph: number | null;
  readonly alkalinityMgPerLitre: number | null;
  readonly dissolvedSolidsMgPerLitre: number | null;
  readonly temperatureF: number | null;
  readonly disinfectant: string | null;
  readonly note: string | null;
};

export type WaterAnalysisRow = WaterAnalysis & { readonly id: string };

const COLUMNS = [
  "sampledOn",
  "hardnessMgPerLitre",
  "calciumMgPerLitre",
  "softened",
  "ph",
  "alkalinityMgPerLitre",
  "dissolvedSolidsMgPerLitre",
  "temperatureF",
  "disinfectant",
  "note",
] as const satisfies readonly (keyof WaterAnalysis)[];

const NAMES = COLUMNS.map((column) => `"${column}"`).join(", ");

/** A property's analyses, oldest first. */
export async function listAnalyses(
  client: pg.ClientBase,
  propertyId: string,
): Promise<readonly WaterAnalysisRow[]> {
  const { rows } = await client.query<WaterAnalysisRow>(
    `SELECT id, ${NAMES} FROM "WaterTest" WHERE "propertyId" = $1 ORDER BY "sampledOn", id`,
    [propertyId],
  );
  return rows;
}

/** The latest analysis of each property, by property. */
export async function listLatestAnalyses(
  client: pg.ClientBase,
): Promise<ReadonlyMap<string, WaterAnalysis>> {
  const { rows } = await client.query<WaterAnalysis & { propertyId: string }>(
    `SELECT DISTINCT ON ("propertyId") "propertyId", ${NAMES} FROM "WaterTest"
     ORDER BY "propertyId", "sampledOn" DESC`,
  );
  return new Map(rows.map((row) => [row.propertyId, row]));
}

export async function insertAnalysis(
  client: pg.ClientBase,
  organizationId: string,
  propertyId: string,
  analysis: WaterAnalysis,
): Promise<string> {
  const places = COLUMNS.map((_, index) => `$${index + 3}`).join(", ");
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "WaterTest" (id, "organizationId", "propertyId", ${NAMES})
     VALUES (gen_random_uuid(), $1, $2, ${places}) RETURNING id`,
    [organizationId, propertyId, ...COLUMNS.map((column) => analysis[column])],
  );
  return rows[0].id;
}

/** Takes an analysis off the record; gives what it said, null when there is none. */
export async function deleteAnalysis(
  client: pg.ClientBase,
  id: string,
): Promise<(WaterAnalysis & { readonly propertyId: string }) | null> {
  const { rows } = await client.query<WaterAnalysis & { propertyId: string }>(
    `DELETE FROM "WaterTest" WHERE id = $1 RETURNING "propertyId", ${NAMES}`,
    [id],
  );
  return rows[0] ?? null;
}
