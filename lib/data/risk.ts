import type pg from "pg";
import type { InstallEvidence, Place, Technology } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { copyRows } from "./bulk";

/** A heater's risk as it is written. */
export type RiskRow = {
  readonly heaterId: string;
  readonly failureProbability: number;
  /** Band of 90 % on that chance. */
  readonly failureLower: number;
  readonly failureUpper: number;
  readonly medianRemainingYears: number;
  readonly expectedLossCents: number;
  readonly ageYears: number;
};

/** What every row of one writing shares. */
export type RiskStamp = {
  readonly organizationId: string;
  readonly asOf: CalendarDay;
  readonly method: string;
};

const RISK_COLUMNS = [
  "heaterId",
  "failureProbability",
  "failureLower",
  "failureUpper",
  "medianRemainingYears",
  "expectedLossCents",
  "ageYears",
] as const;
const RISK_COLUMN_LIST = RISK_COLUMNS.map((column) => `"${column}"`).join(", ");

/** Lets one pass over an organisation's fleet run at a time; freed with the transaction. */
export async function lockRiskPass(client: pg.ClientBase, organizationId: string): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", [
    `risk-pass ${organizationId}`,
  ]);
}

/** Where a pass gathers its rows before it publishes them. */
export type RiskStage = {
  readonly add: (rows: readonly RiskRow[]) => Promise<void>;
  /**
   * Writes the gathered rows in one statement. Left alone: heaters retired since, and rows renewed by
   * an edit after the stage was opened. Rows of heaters that are no longer in service go.
   * @returns the number of rows written.
   */
  readonly publish: (stamp: RiskStamp) => Promise<number>;
};

/** Opens a stage in the transaction of `client`. */
export async function openRiskStage(client: pg.ClientBase): Promise<RiskStage> {
  await client.query(
    `CREATE TEMPORARY TABLE risk_stage (
       "heaterId" uuid NOT NULL, "failureProbability" float8 NOT NULL,
       "failureLower" float8 NOT NULL, "failureUpper" float8 NOT NULL,
       "medianRemainingYears" float8 NOT NULL, "expectedLossCents" int NOT NULL,
       "ageYears" float8 NOT NULL
     ) ON COMMIT DROP`,
  );
  const opened = await client.query<{ at: string }>("SELECT clock_timestamp()::text AS at");
  return {
    add: (rows) =>
      copyRows(
        client,
        "risk_stage",
        RISK_COLUMNS,
        rows.map((row) => RISK_COLUMNS.map((column) => row[column])),
      ),
    publish: async ({ organizationId, asOf, method }) => {
      await client.query(
        `DELETE FROM "HeaterRisk" r USING "Heater" h
         WHERE h.id = r."heaterId" AND h.status <> 'in-service'`,
      );
      const written = await client.query(
        `INSERT INTO "HeaterRisk" AS r ("organizationId", "asOf", method, ${RISK_COLUMN_LIST})
         SELECT $1, $2, $3, ${RISK_COLUMNS.map((column) => `s."${column}"`).join(", ")}
         FROM risk_stage s JOIN "Heater" h ON h.id = s."heaterId" AND h.status = 'in-service'
         ORDER BY s."heaterId"
         ${ON_CONFLICT}
         WHERE r."scoredAt" < $4::timestamptz`,
        [organizationId, asOf, method, opened.rows[0].at],
      );
      return written.rowCount ?? 0;
    },
  };
}

const ON_CONFLICT = `ON CONFLICT ("heaterId") DO UPDATE SET
  "asOf" = EXCLUDED."asOf", method = EXCLUDED.method, "scoredAt" = clock_timestamp(),
  ${RISK_COLUMNS.map((column) => `"${column}" = EXCLUDED."${column}"`).join(", ")}`;

/** Writes the risks of a few heaters at once, and takes away those of `goneIds`. */
export async function writeRisks(
  client: pg.ClientBase,
  { organizationId, asOf, method }: RiskStamp,
  rows: readonly RiskRow[],
  goneIds: readonly string[],
): Promise<void> {
  if (goneIds.length > 0) {
    await client.query('DELETE FROM "HeaterRisk" WHERE "heaterId" = ANY ($1)', [goneIds]);
  }
  if (rows.length === 0) return;
  const sorted = [...rows].sort((a, b) => (a.heaterId < b.heaterId ? -1 : 1));
  await client.query(
    `INSERT INTO "HeaterRisk" ("organizationId", "asOf", method, ${RISK_COLUMN_LIST})
     SELECT $1, $2, $3, s.*
     FROM unnest($4::uuid[], $5::float8[], $6::float8[], $7::float8[], $8::float8[], $9::int[],
       $10::float8[]) AS s
     ${ON_CONFLICT}`,
    [
      organizationId,
      asOf,
      method,
      ...RISK_COLUMNS.map((column) => sorted.map((row) => row[column])),
    ],
  );
}

/** Which of these heaters are in service. */
export async function findInService(
  client: pg.ClientBase,
  heaterIds: readonly string[],
): Promise<ReadonlySet<string>> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT id FROM "Heater" WHERE id = ANY ($1) AND status = 'in-service'`,
    [heaterIds],
  );
  return new Set(rows.map((row) => row.id));
}

// ---- failures by year ----

export type RiskYearRow = {
  /** Null for all properties together. */
  readonly propertyId: string | null;
  readonly kind: "ahead" | "past";
  readonly year: number;
  readonly heaterYears: number;
  readonly expected: number;
  readonly draws: readonly number[];
  readonly happened: number | null;
};

const YEAR_COLUMNS = [
  "propertyId",
  "kind",
  "year",
  "heaterYears",
  "expected",
  "draws",
  "happened",
] as const;

/** Replaces the organisation's failures by year. */
export async function replaceRiskYears(
  client: pg.ClientBase,
  { organizationId, asOf, method }: RiskStamp,
  rows: readonly RiskYearRow[],
): Promise<void> {
  // COPY does not go into a table under row-level security: the rows pass through one without.
  await client.query(
    `CREATE TEMPORARY TABLE risk_year_stage (
       "propertyId" uuid, kind text, year int, "heaterYears" float8, expected float8,
       draws float8[], happened int
     ) ON COMMIT DROP`,
  );
  await copyRows(
    client,
    "risk_year_stage",
    YEAR_COLUMNS,
    rows.map((row) =>
      YEAR_COLUMNS.map((column) => (column === "draws" ? `{${row.draws.join(",")}}` : row[column])),
    ),
  );
  const columns = YEAR_COLUMNS.map((column) => `"${column}"`).join(", ");
  await client.query('DELETE FROM "RiskYear"');
  await client.query(
    `INSERT INTO "RiskYear" (id, "organizationId", "asOf", method, ${columns})
     SELECT gen_random_uuid(), $1, $2, $3, ${columns} FROM risk_year_stage`,
    [organizationId, asOf, method],
  );
}

/** Failures by year of one property, or of all together. */
export async function readRiskYears(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<readonly RiskYearRow[]> {
  const { rows } = await client.query<RiskYearRow>(
    `SELECT "propertyId", kind, year, "heaterYears", expected, draws, happened
     FROM "RiskYear" WHERE "propertyId" IS NOT DISTINCT FROM $1::uuid ORDER BY kind, year`,
    [propertyId],
  );
  return rows;
}

// ---- the state of the pass ----

export type RiskState = {
  readonly inService: number;
  readonly scored: number;
  /** Oldest day of any row; null when nothing is scored. */
  readonly asOf: CalendarDay | null;
  /** Day of the failures by year; null when there are none. */
  readonly yearsAsOf: CalendarDay | null;
  readonly methods: readonly string[];
};

/** How far the organisation's risks are complete and how old they are. */
export async function readRiskState(client: pg.ClientBase): Promise<RiskState> {
  const { rows } = await client.query<RiskState>(
    `SELECT count(*) AS "inService", count(r."heaterId") AS scored, min(r."asOf") AS "asOf",
       (SELECT min("asOf") FROM "RiskYear" WHERE "propertyId" IS NULL) AS "yearsAsOf",
       COALESCE(array_agg(DISTINCT r.method) FILTER (WHERE r.method IS NOT NULL), '{}') AS methods
     FROM "Heater" h LEFT JOIN "HeaterRisk" r ON r."heaterId" = h.id
     WHERE h.status = 'in-service'`,
  );
  return rows[0];
}

/** Serialises requests for a pass, so that two pages do not both ask. */
export async function lockRiskRequests(
  client: pg.ClientBase,
  organizationId: string,
): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", [
    `risk-request ${organizationId}`,
  ]);
}

/** Passes of an organisation that wait in the queue, and those under way. */
export async function countPendingPasses(
  client: pg.ClientBase,
  organizationId: string,
): Promise<{ readonly waiting: number; readonly running: number }> {
  const { rows } = await client.query<{ waiting: number; running: number }>(
    `SELECT count(*) FILTER (WHERE state IN ('created', 'retry')) AS waiting,
       count(*) FILTER (WHERE state = 'active') AS running
     FROM pgboss.job
     WHERE name = 'risk' AND state IN ('created', 'retry', 'active')
       AND data ->> 'organizationId' = $1`,
    [organizationId],
  );
  return rows[0];
}

// ---- the ranking ----

export type RankingOrder = "chance" | "loss";

export type RankedRow = RiskRow & {
  readonly asOf: CalendarDay;
  readonly method: string;
  readonly tag: string;
  readonly technology: Technology;
  readonly propertyId: string;
  readonly propertyName: string;
  readonly buildingName: string;
  readonly unitLabel: string | null;
  readonly place: Place;
  readonly installEarliest: CalendarDay;
  readonly installLatest: CalendarDay;
  readonly installEvidence: InstallEvidence;
};

const ORDER_COLUMNS: Readonly<Record<RankingOrder, string>> = {
  chance: '"failureProbability"',
  loss: '"expectedLossCents"',
};

/** One page of the ranking, from rank `offset + 1`; equal values by heater id, as the index has them. */
export async function readRanking(
  client: pg.ClientBase,
  {
    order,
    propertyId,
    limit,
    offset,
  }: {
    readonly order: RankingOrder;
    readonly propertyId: string | null;
    readonly limit: number;
    readonly offset: number;
  },
): Promise<readonly RankedRow[]> {
  const by = ORDER_COLUMNS[order];
  // The ids of the page first, from the index; what is shown of them is joined afterwards.
  const { rows } = await client.query<RankedRow>(
    `SELECT ${RISK_COLUMNS.map((column) => `p."${column}"`).join(", ")}, p."asOf", p.method, h.tag, h.technology, h.place, h."installEarliest", h."installLatest",
       h."installEvidence", b."propertyId", b.name AS "buildingName", q.name AS "propertyName",
       u.label AS "unitLabel"
     FROM (
       SELECT r.* FROM "HeaterRisk" r
       ${propertyId === null ? "" : 'JOIN "Heater" g ON g.id = r."heaterId" JOIN "Building" c ON c.id = g."buildingId" AND c."propertyId" = $3'}
       ORDER BY r.${by} DESC, r."heaterId" DESC LIMIT $1 OFFSET $2
     ) p
     JOIN "Heater" h ON h.id = p."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" q ON q.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     ORDER BY p.${by} DESC, p."heaterId" DESC`,
    propertyId === null ? [limit, offset] : [limit, offset, propertyId],
  );
  return rows;
}

// ---- the fleet in groups ----

/** Sums over a group of heaters in service. */
export type RiskGroup = {
  readonly key: string;
  readonly name: string;
  readonly heaters: number;
  readonly expectedFailures: number;
  readonly expectedLossCents: number;
  readonly meanAgeYears: number;
};

/** Edges of the classes of 12-month chance: a class is from its edge up to the next. */
export const CHANCE_EDGES = [0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5] as const;

export type RiskGroups = {
  readonly byTechnology: readonly RiskGroup[];
  readonly byProperty: readonly RiskGroup[];
  /** Heaters in each class of {@link CHANCE_EDGES}, in order. */
  readonly byChance: readonly number[];
  readonly byInstallEvidence: readonly {
    readonly evidence: InstallEvidence;
    readonly width: "day" | "years" | "wide";
    readonly heaters: number;
  }[];
};

type GroupRow = Omit<RiskGroup, "key" | "name"> & {
  readonly dimension: number;
  readonly technology: string;
  readonly propertyId: string;
  readonly propertyName: string;
  readonly bucket: number;
  readonly evidence: InstallEvidence;
  readonly width: "day" | "years" | "wide";
};

/** Bits of GROUPING(technology, property, bucket, evidence): a bit is 0 where the row is grouped by it. */
const DIMENSIONS = { technology: 0b0111, property: 0b1011, chance: 0b1101, evidence: 0b1110 };

/** The scored fleet by technology, property, class of chance and evidence of its install day. */
export async function readRiskGroups(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<RiskGroups> {
  // One look at the fleet for all four groupings.
  const { rows } = await client.query<GroupRow>(
    `SELECT GROUPING(f.technology, f."propertyId", f.bucket, f.evidence) AS dimension,
       f.technology, f."propertyId", q.name AS "propertyName", f.bucket, f.evidence, f.width,
       count(*) AS heaters, sum(f."failureProbability") AS "expectedFailures",
       sum(f."expectedLossCents") AS "expectedLossCents", avg(f."ageYears") AS "meanAgeYears"
     FROM (
       SELECT h.technology, b."propertyId", h."installEvidence" AS evidence, r."failureProbability",
         r."expectedLossCents", r."ageYears",
         width_bucket(r."failureProbability", $2::float8[]) AS bucket,
         CASE WHEN h."installEarliest" = h."installLatest" THEN 'day'
           WHEN h."installLatest" - h."installEarliest" <= 731 THEN 'years' ELSE 'wide' END AS width
       FROM "HeaterRisk" r JOIN "Heater" h ON h.id = r."heaterId"
       JOIN "Building" b ON b.id = h."buildingId"
       WHERE $1::uuid IS NULL OR b."propertyId" = $1
     ) f LEFT JOIN "Property" q ON q.id = f."propertyId"
     GROUP BY GROUPING SETS ((f.technology), (f."propertyId", q.name), (f.bucket), (f.evidence, f.width))
     ORDER BY dimension, "expectedFailures" DESC, q.name`,
    [propertyId, [...CHANCE_EDGES]],
  );
  const of = (dimension: number) => rows.filter((row) => row.dimension === dimension);
  const countOf = new Map(of(DIMENSIONS.chance).map(({ bucket, heaters }) => [bucket, heaters]));
  return {
    byTechnology: of(DIMENSIONS.technology).map((row) => groupOf(row, row.technology, "")),
    byProperty: of(DIMENSIONS.property).map((row) =>
      groupOf(row, row.propertyId, row.propertyName),
    ),
    byChance: CHANCE_EDGES.map((_, index) => countOf.get(index + 1) ?? 0),
    byInstallEvidence: of(DIMENSIONS.evidence)
      .map(({ evidence, width, heaters }) => ({ evidence, width, heaters }))
      .sort((a, b) => b.heaters - a.heaters),
  };
}

function groupOf(row: GroupRow, key: string, name: string): RiskGroup {
  const { heaters, expectedFailures, expectedLossCents, meanAgeYears } = row;
  return { key, name, heaters, expectedFailures, expectedLossCents, meanAgeYears };
}

/** Properties with heaters in service, for a choice. */
export async function listScoredProperties(
  client: pg.ClientBase,
): Promise<readonly { readonly id: string; readonly name: string }[]> {
  const { rows } = await client.query<{ id: string; name: string }>(
    'SELECT id, name FROM "Property" ORDER BY name',
  );
  return rows;
}
