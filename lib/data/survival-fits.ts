import type pg from "pg";
import type { SurvivalModel } from "@/lib/core/survival/model";

/**
 * The model of the adopted fit; null when none is adopted, or the adopted one was made by a method
 * whose models this program no longer reads.
 */
export async function findAdoptedModel(
  client: pg.ClientBase,
  method: string,
): Promise<SurvivalModel | null> {
  const { rows } = await client.query<{ model: SurvivalModel }>(
    'SELECT model FROM "SurvivalFit" WHERE "isAdopted" AND method = $1',
    [method],
  );
  return rows[0]?.model ?? null;
}
