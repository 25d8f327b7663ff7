import type pg from "pg";
import type { FactorActivity, FactorRow, FactorUnit } from "@/lib/core/emissions/factors";

/** One of the organisation's own factors, as it is stored. */
export type OwnFactor = {
  readonly id: string;
  readonly activity: FactorActivity;
  readonly region: string | null;
  readonly gas: string;
  readonly value: number;
  readonly unit: FactorUnit;
  readonly vintage: number;
  readonly source: string;
  readonly version: number;
  readonly createdAt: Date;
  readonly enteredBy: string | null;
  readonly withdrawnAt: Date | null;
};

const SAME = `activity = $1 AND region IS NOT DISTINCT FROM $2 AND gas = $3 AND vintage = $4`;

/** Every version of the organisation's own factors, the latest version of each first. */
export async function listOwnFactors(client: pg.ClientBase): Promise<readonly OwnFactor[]> {
  const { rows } = await client.query<OwnFactor>(
    `SELECT f.id, f.activity, f.region, f.gas, f.value, f.unit, f.vintage, f.source, f.version,
       f."createdAt", f."withdrawnAt", u.name AS "enteredBy"
     FROM "EmissionFactor" f LEFT JOIN "User" u ON u.id = f."enteredBy"
     WHERE f."organizationId" IS NOT NULL
     ORDER BY f.activity, f.region NULLS FIRST, f.vintage DESC, f.gas, f.version DESC`,
  );
  return rows;
}

/** The versions that hold: of each factor the highest, unless it is withdrawn. */
export function factorsInForce(factors: readonly OwnFactor[]): readonly FactorRow[] {
  const highest = new Map<string, OwnFactor>();
  for (const factor of factors) {
    const key = [factor.activity, factor.region, factor.gas, factor.vintage].join("/");
    const known = highest.get(key);
    if (!known || factor.version > known.version) highest.set(key, factor);
  }
  return [...highest.values()]
    .filter(({ withdrawnAt }) => withdrawnAt === null)
    .map((factor) => factorRowOf(factor));
}

/** An own factor as the core reads it; its id names the version. */
export function factorRowOf(factor: OwnFactor): FactorRow {
  const { activity, region, gas, value, unit, vintage, source, version } = factor;
  const place = region === null ? "" : `/${region}`;
  return {
    id: `own/${activity}${place}/${vintage}/${gas}/v${version}`,
    activity,
    region,
    gas,
    value,
    unit,
    vintage,
    source,
    evidence: "entered",
  };
}

export type NewFactor = Pick<
  OwnFactor,
  "activity" | "region" | "gas" | "value" | "unit" | "vintage" | "source"
>;

/**
 * Adds the next version of a factor; earlier ones stay on record.
 * @returns its id and version.
 */
export async function insertFactor(
  client: pg.ClientBase,
  organizationId: string,
  factor: NewFactor,
  enteredBy: string,
): Promise<{ readonly id: string; readonly version: number }> {
  const { rows } = await client.query<{ id: string; version: number }>(
    `INSERT INTO "EmissionFactor" (id, "organizationId", activity, region, gas, vintage, value, unit,
       source, evidence, "enteredBy", version)
     SELECT gen_random_uuid(), $5, $1, $2, $3, $4, $6, $7, $8, 'entered', $9,
       1 + COALESCE(max(version), 0)
     FROM "EmissionFactor" WHERE "organizationId" = $5 AND ${SAME}
     RETURNING id, version`,
    [
      factor.activity,
      factor.region,
      factor.gas,
      factor.vintage,
      organizationId,
      factor.value,
      factor.unit,
      factor.source,
      enteredBy,
    ],
  );
  return rows[0] as { id: string; version: number };
}

/**
 * Withdraws a version, or takes it back into force.
 * @returns the factor as it is then, or null when there is none.
 */
export async function setFactorWithdrawn(
  client: pg.ClientBase,
  id: string,
  isWithdrawn: boolean,
): Promise<OwnFactor | null> {
  const { rows } = await client.query<OwnFactor>(
    `UPDATE "EmissionFactor" SET "withdrawnAt" = CASE WHEN $2 THEN now() END
     WHERE id = $1 AND "organizationId" IS NOT NULL RETURNING *`,
    [id, isWithdrawn],
  );
  return rows[0] ?? null;
}

/** One writer of factors at a time, so that versions count up without a gap or a double. */
export async function lockFactors(client: pg.ClientBase, organizationId: string): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended('factors/' || $1, 0))", [
    organizationId,
  ]);
}
