import type pg from "pg";
import { type Policy, policyRuleSchema } from "@/lib/core/emissions/policies";

export type PolicyRecord = Policy & { readonly propertyName: string | null };

/** Rules of one property (those of every property included), or all. */
export async function listPolicies(
  client: pg.ClientBase,
  propertyId: string | null = null,
): Promise<readonly PolicyRecord[]> {
  const { rows } = await client.query<Omit<PolicyRecord, "rule"> & { rule: unknown }>(
    `SELECT y.id, y.name, y."propertyId", p.name AS "propertyName", y.rule, y.source
     FROM "PropertyPolicy" y LEFT JOIN "Property" p ON p.id = y."propertyId"
     WHERE $1::uuid IS NULL OR y."propertyId" IS NULL OR y."propertyId" = $1
     ORDER BY y."propertyId" NULLS FIRST, y.name, y.id`,
    [propertyId],
  );
  return rows.map((row) => ({ ...row, rule: policyRuleSchema.parse(row.rule) }));
}

export async function insertPolicy(
  client: pg.ClientBase,
  organizationId: string,
  policy: Omit<Policy, "id">,
  enteredBy: string,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "PropertyPolicy" (id, "organizationId", "propertyId", name, rule, source, "enteredBy")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6) RETURNING id`,
    [
      organizationId,
      policy.propertyId,
      policy.name,
      JSON.stringify(policy.rule),
      policy.source,
      enteredBy,
    ],
  );
  return (rows[0] as { id: string }).id;
}

/** Takes a rule out; gives what it was, or null when there is none. */
export async function deletePolicy(
  client: pg.ClientBase,
  id: string,
): Promise<Readonly<Record<string, unknown>> | null> {
  const { rows } = await client.query('DELETE FROM "PropertyPolicy" WHERE id = $1 RETURNING *', [
    id,
  ]);
  return rows[0] ?? null;
}
