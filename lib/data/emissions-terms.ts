import type pg from "pg";
import {
  DEFAULT_EMISSIONS_TERMS,
  type EmissionsTerms,
  emissionsTermsSchema,
} from "@/lib/core/emissions/emissions-terms";

export type EmissionsTermsRecord = {
  readonly terms: EmissionsTerms;
  /** Raised by every change; 0 before the first. */
  readonly version: number;
};

/** The organisation's rules; the published defaults before the first change. */
export async function readEmissionsTerms(client: pg.ClientBase): Promise<EmissionsTermsRecord> {
  const { rows } = await client.query<{ terms: unknown; version: number }>(
    'SELECT terms, version FROM "EmissionsTerms"',
  );
  const [row] = rows;
  if (!row) return { terms: DEFAULT_EMISSIONS_TERMS, version: 0 };
  return {
    terms: emissionsTermsSchema.parse({ ...DEFAULT_EMISSIONS_TERMS, ...(row.terms as object) }),
    version: row.version,
  };
}

/** @returns false when the rules have changed since `version` was read: nothing is written then. */
export async function writeEmissionsTerms(
  client: pg.ClientBase,
  organizationId: string,
  change: {
    readonly terms: EmissionsTerms;
    readonly version: number;
    readonly updatedBy: string | null;
  },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `INSERT INTO "EmissionsTerms" ("organizationId", terms, "updatedBy")
     SELECT $1, $2, $4 WHERE $3 = 0 OR EXISTS (SELECT FROM "EmissionsTerms")
     ON CONFLICT ("organizationId") DO UPDATE
       SET terms = EXCLUDED.terms, version = "EmissionsTerms".version + 1, "updatedAt" = now(),
           "updatedBy" = EXCLUDED."updatedBy"
       WHERE "EmissionsTerms".version = $3`,
    [organizationId, JSON.stringify(change.terms), change.version, change.updatedBy],
  );
  return rowCount === 1;
}
