import { randomUUID } from "node:crypto";
import type { Role } from "@/lib/core/shared/roles";
import { appPool } from "./connections";
import { insertMember, insertUser, setPassword } from "./people";
import { withSql } from "./tenant";

/** True while no organisation is on record. */
export async function isInstallationEmpty(): Promise<boolean> {
  const { rows } = await appPool().query<{ empty: boolean }>(
    "SELECT installation_is_empty() AS empty",
  );
  return rows[0].empty;
}

export type Founding = {
  readonly organizationName: string;
  readonly unitSystem: "us" | "si";
  readonly name: string;
  readonly email: string;
  readonly passwordHash: string;
};

/**
 * Makes the first organisation and its owner in one transaction. Of several who try at once one
 * succeeds.
 * @returns the organisation's id, or null when there is an organisation already.
 */
export async function foundOrganization(founding: Founding): Promise<string | null> {
  const organizationId = randomUUID();
  return withSql({ organizationId }, async (client) => {
    await client.query("SELECT pg_advisory_xact_lock(hashtextextended('first-run', 0))");
    const { rows } = await client.query<{ empty: boolean }>(
      "SELECT installation_is_empty() AS empty",
    );
    if (!rows[0].empty) return null;
    await client.query('INSERT INTO "Organization" (id, name, "unitSystem") VALUES ($1, $2, $3)', [
      organizationId,
      founding.organizationName,
      founding.unitSystem,
    ]);
    const userId = await insertUser(client, founding);
    await setPassword(client, userId, founding.passwordHash);
    const role: Role = "owner";
    await insertMember(client, organizationId, { userId, role });
    return organizationId;
  });
}
