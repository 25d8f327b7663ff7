import type pg from "pg";
import type {
  KeptHeater,
  KeptReason,
  UndoNote,
  WaterFacts,
} from "@/lib/core/exchange/import-batch";
import { HOME_FIELDS, type HomeFacts } from "@/lib/core/exchange/record-facts";
import { assignColumns, writeThroughStage } from "./import-stage";
import { FACT_COLUMNS, logHeaterChanges } from "./import-writes";
import type { ReplacedValues } from "./imports";

/** Takes a batch out of the record again, with few statements whatever its size. */

/** Names that are told of the heaters kept. */
const KEPT_NAMED = 200;

/**
 * Takes out what a batch added and puts back what it replaced, unless it was touched since.
 *
 * @param waters the tests of a property that the batch corrected, with what stood and what it put there
 */
export async function undoBatch(
  client: pg.ClientBase,
  stamp: { readonly organizationId: string; readonly batchId: string; readonly userId: string },
  waters: readonly {
    readonly testId: string;
    readonly before: WaterFacts;
    readonly after: WaterFacts;
  }[],
): Promise<UndoNote> {
  const { batchId } = stamp;
  // The statistics may be older than the batch: a plan made for few rows would take minutes for many.
  await client.query("SET LOCAL enable_nestloop = off");
  await markHeaters(client, batchId);
  const { keptCount, kept } = await readKept(client);
  const homes = await client.query<{ home: NonNullable<ReplacedValues["home"]> }>(
    `SELECT before -> 'home' AS home FROM "ImportRow"
     WHERE "batchId" = $1 AND before -> 'home' IS NOT NULL
       AND NOT EXISTS (SELECT FROM import_undo k WHERE k."heaterId" = "ImportRow"."heaterId" AND k.reason IS NOT NULL)
     ORDER BY "rowNumber"`,
    [batchId],
  );
  await takeBackHistory(client, batchId);
  const restoredHeaters = await restoreHeaters(client, batchId);
  await logHeaterChanges(
    client,
    stamp,
    "heater.import-undo",
    'r."heaterId" IN (SELECT "heaterId" FROM import_undo WHERE reason IS NULL)',
  );
  const removed = await client.query(
    `DELETE FROM "Heater" h USING import_undo u
     WHERE h.id = u."heaterId" AND u."isAdded" AND u.reason IS NULL`,
  );
  await restoreHomes(
    client,
    homes.rows.map(({ home }) => home),
  );
  await restoreWaters(client, batchId, waters);
  const places = await removeEmptyPlaces(client, batchId);
  return {
    removedHeaters: removed.rowCount ?? 0,
    restoredHeaters,
    ...places,
    keptCount,
    kept,
  };
}

type Reference = {
  readonly table: string;
  readonly column: string;
  /** It goes when what it names goes. */
  readonly cascades: boolean;
};

/** Every foreign key to a table, asked of the catalogue so that a later table is not forgotten. */
async function findReferences(client: pg.ClientBase, table: string): Promise<readonly Reference[]> {
  const { rows } = await client.query<Reference>(
    `SELECT r.relname AS table, a.attname AS column, c.confdeltype = 'c' AS cascades
     FROM pg_constraint c
     JOIN pg_class r ON r.oid = c.conrelid
     JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
     WHERE c.contype = 'f' AND c.confrelid = $1::regclass AND cardinality(c.conkey) = 1
     ORDER BY 1, 2`,
    [`"${table}"`],
  );
  return rows;
}

/** Tables whose rows about a heater are judged one by one, or are computed. */
const OWN_REASON: Readonly<Record<string, KeptReason | null>> = {
  Retirement: "retired",
  ServiceVisit: "visited",
  ReadinessAnswer: "surveyed",
  Heater: "succeeded",
  HeaterRisk: null,
};
const MADE_BY_BATCHES: readonly string[] = ["Retirement", "ServiceVisit"];

/** Every heater that the batch touched, with the reason for which it is left alone, if there is one. */
async function markHeaters(client: pg.ClientBase, batchId: string): Promise<void> {
  const reasons = (await findReferences(client, "Heater")).flatMap(({ table, column }) => {
    const reason = table in OWN_REASON ? OWN_REASON[table] : "planned";
    if (reason === null) return [];
    const isOthers = MADE_BY_BATCHES.includes(table)
      ? 'AND x."importBatchId" IS DISTINCT FROM $1'
      : "";
    return `WHEN EXISTS (SELECT FROM "${table}" x WHERE x."${column}" = h.id ${isOthers}) THEN '${reason}'`;
  });
  await client.query(
    `CREATE TEMPORARY TABLE import_undo ON COMMIT DROP AS
     SELECT h.id AS "heaterId", h.tag, true AS "isAdded",
       CASE WHEN h.version <> 1 THEN 'edited' ${reasons.join(" ")} END AS reason
     FROM "Heater" h WHERE h."importBatchId" = $1
     UNION ALL
     SELECT h.id, h.tag, false,
       CASE WHEN h.version <> (r.before ->> 'version')::int THEN 'edited' END
     FROM "ImportRow" r JOIN "Heater" h ON h.id = r."heaterId"
     WHERE r."batchId" = $1 AND r.verdict = 'change'`,
    [batchId],
  );
  await client.query('CREATE UNIQUE INDEX ON import_undo ("heaterId")');
  await client.query("ANALYZE import_undo");
}

async function readKept(
  client: pg.ClientBase,
): Promise<{ readonly keptCount: number; readonly kept: readonly KeptHeater[] }> {
  const { rows } = await client.query<KeptHeater & { readonly total: number; reason: KeptReason }>(
    `SELECT "heaterId", tag, reason, count(*) OVER () AS total FROM import_undo
     WHERE reason IS NOT NULL ORDER BY tag LIMIT ${KEPT_NAMED}`,
  );
  return {
    keptCount: rows[0]?.total ?? 0,
    kept: rows.map(({ heaterId, tag, reason }) => ({ heaterId, tag, reason })),
  };
}

/** Visits and ends of service that the batch added, of heaters that are not left alone. */
async function takeBackHistory(client: pg.ClientBase, batchId: string): Promise<void> {
  for (const table of ["ServiceVisit", "Retirement"]) {
    await client.query(
      `DELETE FROM "${table}" x USING import_undo u
       WHERE x."heaterId" = u."heaterId" AND u.reason IS NULL AND x."importBatchId" = $1`,
      [batchId],
    );
  }
  await client.query(
    `UPDATE "Retirement" x SET earliest = (o ->> 'earliest')::date, latest = (o ->> 'latest')::date,
       cause = o ->> 'cause'
     FROM (SELECT r."heaterId", r.before -> 'retirement' AS o FROM "ImportRow" r
       JOIN import_undo u ON u."heaterId" = r."heaterId" AND NOT u."isAdded" AND u.reason IS NULL
       WHERE r."batchId" = $1 AND r.before -> 'retirement' IS NOT NULL) s
     WHERE x."heaterId" = s."heaterId"`,
    [batchId],
  );
}

async function restoreHeaters(client: pg.ClientBase, batchId: string): Promise<number> {
  const columns = ["buildingId", "unitId", ...FACT_COLUMNS];
  const { rowCount } = await client.query(
    `UPDATE "Heater" h SET ${assignColumns(columns)}, version = h.version + 1, "updatedAt" = now()
     FROM (SELECT o.* FROM "ImportRow" r
       JOIN import_undo u ON u."heaterId" = r."heaterId" AND NOT u."isAdded" AND u.reason IS NULL
       JOIN "Heater" c ON c.id = r."heaterId"
       CROSS JOIN LATERAL jsonb_populate_record(c, r.before -> 'heater') o
       WHERE r."batchId" = $1 AND r.verdict = 'change') s
     WHERE h.id = s.id`,
    [batchId],
  );
  return rowCount ?? 0;
}

/** What rows replaced of homes on record, where it still stands as they left it. */
async function restoreHomes(
  client: pg.ClientBase,
  homes: readonly NonNullable<ReplacedValues["home"]>[],
): Promise<void> {
  if (homes.length === 0) return;
  // Of a home that several rows changed, what stood before the first, and what the last put there.
  const merged = new Map<string, { before: HomeFacts; after: HomeFacts }>();
  for (const { unitId, before, after } of homes) {
    merged.set(unitId, { before: merged.get(unitId)?.before ?? before, after });
  }
  const types = {
    floor: "int",
    riser: "text",
    bedrooms: "int",
    bathrooms: "float8",
    occupants: "int",
  };
  const was = Object.entries(types).map(([column, type]) => [`was_${column}`, type] as const);
  await writeThroughStage(
    client,
    "import_home_undo",
    { id: "uuid", ...types, ...Object.fromEntries(was) },
    [...merged].map(([id, { before, after }]) => [
      id,
      ...HOME_FIELDS.map((field) => before[field]),
      ...HOME_FIELDS.map((field) => after[field]),
    ]),
    [
      [
        `UPDATE "Unit" u SET ${HOME_FIELDS.map(
          (field) =>
            `"${field}" = CASE WHEN u."${field}" IS NOT DISTINCT FROM s."was_${field}" THEN s."${field}" ELSE u."${field}" END`,
        ).join(", ")}
         FROM import_home_undo s WHERE u.id = s.id`,
        [],
      ],
    ],
  );
}

async function restoreWaters(
  client: pg.ClientBase,
  batchId: string,
  waters: Parameters<typeof undoBatch>[2],
): Promise<void> {
  await client.query('DELETE FROM "WaterTest" WHERE "importBatchId" = $1', [batchId]);
  for (const { testId, before, after } of waters) {
    await client.query(
      `UPDATE "WaterTest" SET "hardnessMgPerLitre" = $2, softened = $3
       WHERE id = $1 AND "hardnessMgPerLitre" IS NOT DISTINCT FROM $4 AND softened = $5`,
      [
        testId,
        before.hardnessMgPerLitre,
        before.softened,
        after.hardnessMgPerLitre,
        after.softened,
      ],
    );
  }
}

/** Homes, buildings and properties that the batch made and that nothing names any more. */
async function removeEmptyPlaces(
  client: pg.ClientBase,
  batchId: string,
): Promise<Pick<UndoNote, "removedHomes" | "removedBuildings" | "removedProperties">> {
  const remove = async (table: string) => {
    const references = await findReferences(client, table);
    const isNamed = references
      .filter(({ cascades }) => !cascades)
      .map(
        (other) =>
          `AND NOT EXISTS (SELECT FROM "${other.table}" x WHERE x."${other.column}" = p.id)`,
      );
    const { rowCount } = await client.query(
      `DELETE FROM "${table}" p WHERE p."importBatchId" = $1 ${isNamed.join(" ")}`,
      [batchId],
    );
    return rowCount ?? 0;
  };
  return {
    removedHomes: await remove("Unit"),
    removedBuildings: await remove("Building"),
    removedProperties: await remove("Property"),
  };
}
