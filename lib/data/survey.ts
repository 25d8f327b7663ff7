import type pg from "pg";
import type { SurveyAnswer, SurveyItem } from "@/lib/core/heaters/readiness";
import type { SurveyMeasures } from "@/lib/core/heaters/readiness-measures";
import type { Answer, ReadinessItem } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** Survey answers of heaters in service (of one building, property or all), or of those named. */
export async function listSurveyAnswers(
  client: pg.ClientBase,
  {
    heaterIds = null,
    propertyId = null,
  }: { readonly heaterIds?: readonly string[] | null; readonly propertyId?: string | null },
): Promise<ReadonlyMap<string, readonly SurveyAnswer[]>> {
  const { rows } = await client.query<{ heaterId: string; answers: readonly SurveyAnswer[] }>(
    `SELECT a."heaterId", json_agg(json_build_object(
         'item', a.item, 'answer', a.answer, 'basis', a.basis, 'observedOn', a."observedOn",
         'observedBy', a."observedBy", 'note', a.note, 'measures', a.measures,
         'inferredFromId', a."inferredFromId")) AS answers
     FROM "ReadinessAnswer" a
     JOIN "Heater" h ON h.id = a."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     WHERE CASE WHEN $1::uuid[] IS NULL
       THEN h.status = 'in-service' AND ($2::uuid IS NULL OR b."propertyId" = $2)
       ELSE h.id = ANY ($1) END
     GROUP BY a."heaterId"`,
    [heaterIds, propertyId],
  );
  return new Map(rows.map(({ heaterId, answers }) => [heaterId, answers]));
}

/** Readiness items whose answer was carried over from a like home, by heater in service. */
export async function listInferredItems(
  client: pg.ClientBase,
): Promise<ReadonlyMap<string, readonly ReadinessItem[]>> {
  const { rows } = await client.query<{ heaterId: string; items: readonly ReadinessItem[] }>(
    `SELECT a."heaterId", array_agg(a.item ORDER BY a.item) AS items
     FROM "ReadinessAnswer" a JOIN "Heater" h ON h.id = a."heaterId"
     WHERE h.status = 'in-service' AND a.basis = 'inferred' AND a.answer <> 'unknown'
     GROUP BY a."heaterId"`,
  );
  return new Map(rows.map(({ heaterId, items }) => [heaterId, items]));
}

/** An answer as a person gave it on site. */
export type GivenAnswer = {
  readonly item: SurveyItem;
  readonly answer: Answer;
  readonly note: string | null;
  readonly measures: SurveyMeasures | null;
};

/** Keeps what was seen at a heater; an earlier answer, seen or inferred, gives way. */
export async function writeSeenAnswers(
  client: pg.ClientBase,
  organizationId: string,
  heaterId: string,
  answers: readonly GivenAnswer[],
  { observedOn, observedBy }: { readonly observedOn: CalendarDay; readonly observedBy: string },
): Promise<void> {
  await client.query(
    `INSERT INTO "ReadinessAnswer"
       (id, "organizationId", "heaterId", item, answer, note, measures, "observedOn", "observedBy")
     SELECT gen_random_uuid(), $1, $2, a.item, a.answer, a.note, a.measures, $3, $4
     FROM jsonb_to_recordset($5::jsonb) AS a (item text, answer text, note text, measures jsonb)
     ON CONFLICT ("heaterId", item) DO UPDATE SET answer = EXCLUDED.answer, note = EXCLUDED.note,
       measures = EXCLUDED.measures, "observedOn" = EXCLUDED."observedOn",
       "observedBy" = EXCLUDED."observedBy", basis = 'seen', "inferredFromId" = NULL,
       "inferenceId" = NULL`,
    [
      organizationId,
      heaterId,
      observedOn,
      observedBy,
      JSON.stringify(answers.map((answer) => ({ ...answer, measures: answer.measures ?? null }))),
    ],
  );
}

/**
 * Carries answers that were seen at one heater over to others, where nothing is on record yet.
 * @returns how many answers each of them got; those that got none are absent.
 */
export async function inferAnswers(
  client: pg.ClientBase,
  organizationId: string,
  copy: {
    readonly inferenceId: string;
    readonly fromId: string;
    readonly toIds: readonly string[];
    readonly items: readonly SurveyItem[];
  },
): Promise<ReadonlyMap<string, number>> {
  const { rows } = await client.query<{ heaterId: string; count: number }>(
    `WITH made AS (
       INSERT INTO "ReadinessAnswer"
         (id, "organizationId", "heaterId", item, answer, measures, "observedOn", "observedBy", basis,
          "inferredFromId", "inferenceId")
       SELECT gen_random_uuid(), $1, t.id, a.item, a.answer, a.measures, a."observedOn",
         a."observedBy", 'inferred', $2, $3
       FROM "ReadinessAnswer" a CROSS JOIN unnest($4::uuid[]) AS t (id)
       WHERE a."heaterId" = $2 AND a.basis = 'seen' AND a.answer <> 'unknown' AND a.item = ANY ($5)
       ON CONFLICT ("heaterId", item) DO NOTHING
       RETURNING "heaterId"
     ) SELECT "heaterId", count(*) FROM made GROUP BY "heaterId"`,
    [organizationId, copy.fromId, copy.inferenceId, copy.toIds, copy.items],
  );
  return new Map(rows.map(({ heaterId, count }) => [heaterId, count]));
}

/** Takes a copying back: what was seen since stays. */
export async function deleteInference(client: pg.ClientBase, inferenceId: string): Promise<number> {
  const { rowCount } = await client.query(
    'DELETE FROM "ReadinessAnswer" WHERE "inferenceId" = $1',
    [inferenceId],
  );
  return rowCount ?? 0;
}

/** A copying of which answers still stand. */
export type Inference = {
  readonly id: string;
  readonly fromId: string;
  readonly fromTag: string;
  readonly answers: number;
  readonly heaters: number;
};

export async function listInferences(
  client: pg.ClientBase,
  buildingId: string,
): Promise<readonly Inference[]> {
  const { rows } = await client.query<Inference>(
    `SELECT a."inferenceId" AS id, f.id AS "fromId", f.tag AS "fromTag", count(*) AS answers,
       count(DISTINCT a."heaterId") AS heaters
     FROM "ReadinessAnswer" a
     JOIN "Heater" h ON h.id = a."heaterId"
     JOIN "Heater" f ON f.id = a."inferredFromId"
     WHERE h."buildingId" = $1 AND a."inferenceId" IS NOT NULL
     GROUP BY a."inferenceId", f.id, f.tag ORDER BY f.tag, a."inferenceId"`,
    [buildingId],
  );
  return rows;
}

/**
 * Sets what the survey saw of pan and shut-off in the heater's own record, which says what a leak costs.
 * @returns false when the record said so already.
 */
export async function updateRecordedPlace(
  client: pg.ClientBase,
  heaterId: string,
  { drainPan, leakShutoff }: { readonly drainPan?: Answer; readonly leakShutoff?: Answer },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "Heater" SET "drainPan" = COALESCE($2, "drainPan"),
       "leakShutoff" = COALESCE($3, "leakShutoff"), version = version + 1, "updatedAt" = now()
     WHERE id = $1
       AND ("drainPan" <> COALESCE($2, "drainPan") OR "leakShutoff" <> COALESCE($3, "leakShutoff"))`,
    [heaterId, drainPan ?? null, leakShutoff ?? null],
  );
  return rowCount === 1;
}
