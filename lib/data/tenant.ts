import type pg from "pg";
import { appPool, signInRecords } from "./connections";
import type { Prisma } from "./generated/client";

/** Whose rows a transaction may see. */
export type Tenant = { readonly organizationId: string };

/** A connection inside a transaction, as services hand it on. */
export type SqlClient = pg.ClientBase;
/** The connection that {@link withSql} gives. */
export type TenantClient = pg.PoolClient;

/** Prisma inside a tenant's transaction. */
export type TenantRecords = Prisma.TransactionClient;

/** Runs `work` in one transaction that sees and writes only rows of the tenant, through Prisma. */
export function withRecords<T>(
  tenant: Tenant,
  work: (records: TenantRecords) => Promise<T>,
  { timeoutSeconds = 30 }: { readonly timeoutSeconds?: number } = {},
): Promise<T> {
  return signInRecords().$transaction(
    async (records) => {
      await records.$queryRaw`SELECT set_config('tanklore.organization', ${tenant.organizationId}, true)`;
      return work(records);
    },
    { timeout: timeoutSeconds * 1000, maxWait: 10_000 },
  );
}

/** Runs `work` in one transaction that sees and writes only rows of the tenant, through SQL. */
export async function withSql<T>(
  tenant: Tenant,
  work: (client: pg.PoolClient) => Promise<T>,
): Promise<T> {
  return inTransaction(appPool(), "tanklore.organization", tenant.organizationId, work);
}

/** Runs `work` in a transaction that sees a person's own memberships and nothing else. */
export async function asPerson<T>(
  userId: string,
  work: (client: pg.PoolClient) => Promise<T>,
): Promise<T> {
  return inTransaction(appPool(), "tanklore.person", userId, work);
}

async function inTransaction<T>(
  pool: pg.Pool,
  setting: string,
  value: string,
  work: (client: pg.PoolClient) => Promise<T>,
): Promise<T> {
  const client = await pool.connect();
  let broken: Error | undefined;
  try {
    await client.query("BEGIN");
    await client.query("SELECT set_config($1, $2, true)", [setting, value]);
    const result = await work(client);
    await client.query("COMMIT");
    return result;
  } catch (error) {
    await client.query("ROLLBACK").catch((reason: Error) => {
      broken = reason;
    });
    throw error;
  } finally {
    client.release(broken);
  }
}
