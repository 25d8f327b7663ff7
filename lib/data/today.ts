import type pg from "pg";

/** Counts over the whole portfolio that the first page shows, each from one aggregate query. */
export type PortfolioCounts = {
  readonly inService: number;
  readonly scored: number;
  readonly expectedFailures: number;
  readonly expectedLossCents: number;
  /** Heaters likelier than not to fail within 12 months. */
  readonly likelyFailures: number;
  readonly estimatedInstallDays: number;
};

export async function countPortfolio(client: pg.ClientBase): Promise<PortfolioCounts> {
  const { rows } = await client.query<PortfolioCounts>(
    `SELECT count(*) AS "inService", count(r."heaterId") AS scored,
       COALESCE(sum(r."failureProbability"), 0)::float8 AS "expectedFailures",
       COALESCE(sum(r."expectedLossCents"), 0)::float8 AS "expectedLossCents",
       count(*) FILTER (WHERE r."failureProbability" > 0.5) AS "likelyFailures",
       count(*) FILTER (WHERE h."installEarliest" < h."installLatest"
         OR h."installEvidence" IN ('staff-estimate', 'building-age', 'none')) AS "estimatedInstallDays"
     FROM "Heater" h LEFT JOIN "HeaterRisk" r ON r."heaterId" = h.id
     WHERE h.status = 'in-service'`,
  );
  return rows[0] as PortfolioCounts;
}

export type WorstHeater = {
  readonly heaterId: string;
  readonly tag: string;
  readonly property: string;
  readonly building: string;
  readonly failureProbability: number;
  readonly expectedLossCents: number;
};

/** The heaters that cost most in expectation over the next 12 months. */
export async function listCostliestRisks(
  client: pg.ClientBase,
  count: number,
): Promise<readonly WorstHeater[]> {
  const { rows } = await client.query<WorstHeater>(
    `SELECT r."heaterId", h.tag, p.name AS property, b.name AS building, r."failureProbability",
       r."expectedLossCents"
     FROM "HeaterRisk" r
     JOIN "Heater" h ON h.id = r."heaterId" AND h.status = 'in-service'
     JOIN "Building" b ON b.id = h."buildingId" JOIN "Property" p ON p.id = b."propertyId"
     ORDER BY r."expectedLossCents" DESC, r."heaterId" LIMIT $1`,
    [count],
  );
  return rows;
}

export type WaitingWork = {
  readonly runsUnderWay: number;
  readonly stagedImports: number;
  readonly emergenciesThisYear: number;
  readonly retiredThisYear: number;
  readonly visitsLast30Days: number;
};

export async function countWaitingWork(client: pg.ClientBase, today: string): Promise<WaitingWork> {
  const { rows } = await client.query<WaitingWork>(
    `SELECT
       (SELECT count(*) FROM "PlanRun" WHERE status IN ('queued', 'running')) AS "runsUnderWay",
       (SELECT count(*) FROM "ImportBatch" WHERE status = 'staged') AS "stagedImports",
       (SELECT count(*) FROM "Retirement"
         WHERE emergency AND latest >= date_trunc('year', $1::date)) AS "emergenciesThisYear",
       (SELECT count(*) FROM "Retirement"
         WHERE latest >= date_trunc('year', $1::date)) AS "retiredThisYear",
       (SELECT count(*) FROM "ServiceVisit"
         WHERE "visitedOn" > $1::date - 30 AND "visitedOn" <= $1::date) AS "visitsLast30Days"`,
    [today],
  );
  return rows[0] as WaitingWork;
}
