import type pg from "pg";

export type OrganizationRow = {
  readonly name: string;
  readonly isDemo: boolean;
  readonly unitSystem: "us" | "si";
  readonly settings: Readonly<Record<string, unknown>>;
};

/** The organisation of the transaction. */
export async function readOrganization(client: pg.ClientBase): Promise<OrganizationRow> {
  const { rows } = await client.query<OrganizationRow>(
    'SELECT name, "isDemo", "unitSystem", settings FROM "Organization"',
  );
  return rows[0];
}
