import type pg from "pg";
import {
  DEFAULT_OPTIONS,
  type OptionTerms,
  optionTermsSchema,
  type ReplacementOption,
} from "@/lib/core/planning/options";

/** An option of the organisation's own catalogue. */
export type CatalogueOption = ReplacementOption & {
  readonly id: string;
  /** An option that is not active is kept for the plans that used it, and offered to no new one. */
  readonly isActive: boolean;
};

/** The catalogue in its order. */
export async function listOptions(client: pg.ClientBase): Promise<readonly CatalogueOption[]> {
  const { rows } = await client.query<{
    id: string;
    code: string;
    name: string;
    terms: unknown;
    isActive: boolean;
  }>(`SELECT id, code, name, terms, "isActive" FROM "OptionType" ORDER BY "sortOrder", code`);
  return rows.map((row) => ({ ...row, terms: optionTermsSchema.parse(row.terms) }));
}

/** Gives an organisation without a catalogue the starting one. Safe to call at once from two places. */
export async function ensureOptions(client: pg.ClientBase, organizationId: string): Promise<void> {
  const { rows } = await client.query<{ present: boolean }>(
    'SELECT EXISTS (SELECT FROM "OptionType") AS present',
  );
  if (rows[0]?.present) return;
  await client.query(
    `INSERT INTO "OptionType" (id, "organizationId", code, name, technology, terms, "sortOrder")
     SELECT gen_random_uuid(), $1, code, name, technology, terms, position
     FROM jsonb_to_recordset($2::jsonb)
       AS option (code text, name text, technology text, terms jsonb, position int)
     ON CONFLICT ("organizationId", code) DO NOTHING`,
    [
      organizationId,
      JSON.stringify(
        DEFAULT_OPTIONS.map(({ code, name, terms }, position) => ({
          code,
          name,
          technology: terms.technology,
          terms,
          position,
        })),
      ),
    ],
  );
}

/** @returns false when the catalogue has an option of this code already. */
export async function insertOption(
  client: pg.ClientBase,
  organizationId: string,
  { code, name, terms }: ReplacementOption,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `INSERT INTO "OptionType" (id, "organizationId", code, name, technology, terms, "sortOrder")
     SELECT gen_random_uuid(), $1, $2, $3, $4, $5, COALESCE(max("sortOrder"), -1) + 1
     FROM "OptionType"
     ON CONFLICT ("organizationId", code) DO NOTHING`,
    [organizationId, code, name, terms.technology, JSON.stringify(terms)],
  );
  return rowCount === 1;
}

/** @returns false when the catalogue has no such option. */
export async function updateOption(
  client: pg.ClientBase,
  code: string,
  { name, terms, isActive }: { name: string; terms: OptionTerms; isActive: boolean },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "OptionType" SET name = $2, terms = $3, "isActive" = $4, technology = $5 WHERE code = $1`,
    [code, name, JSON.stringify(terms), isActive, terms.technology],
  );
  return rowCount === 1;
}
