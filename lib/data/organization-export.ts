import { appPool } from "./connections";
import type { Tenant } from "./tenant";

/** Tables that follow from others, and what no export carries. */
const LEFT_OUT_TABLES = ["RegisterLine", "RegisterStale"];
const LEFT_OUT_COLUMNS: Readonly<Record<string, readonly string[]>> = {
  CalendarFeed: ["secretHash"],
};
const ROWS_AT_ONCE = 500;

export type ExportedRow = { readonly table: string; readonly json: string };

/**
 * Every row of one organisation, table by table, as it stood at one moment; rows as JSON text. It runs
 * as the application's role, so row-level security decides what belongs to the organisation.
 */
export async function* readOrganizationRows(tenant: Tenant): AsyncGenerator<ExportedRow> {
  const client = await appPool().connect();
  let broken: Error | undefined;
  try {
    await client.query("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
    await client.query("SELECT set_config('tanklore.organization', $1, true)", [
      tenant.organizationId,
    ]);
    const { rows: tables } = await client.query(
      `SELECT c.relname AS name FROM pg_class c
       WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND c.relname <> ALL ($1)
         AND (c.relname = 'Organization' OR EXISTS (SELECT FROM pg_attribute a
           WHERE a.attrelid = c.oid AND a.attname = 'organizationId' AND NOT a.attisdropped))
         AND has_table_privilege(c.oid, 'SELECT')
       ORDER BY c.relname <> 'Organization', c.relname`,
      [LEFT_OUT_TABLES],
    );
    for (const { name } of tables) {
      yield* readTable(client, name, `SELECT * FROM public.${client.escapeIdentifier(name)}`);
    }
    yield* readTable(
      client,
      "Person",
      `SELECT u.id, u.name, u.email, m.role FROM "User" u JOIN "Member" m ON m."userId" = u.id`,
    );
    await client.query("COMMIT");
  } catch (error) {
    await client.query("ROLLBACK").catch((reason: Error) => {
      broken = reason;
    });
    throw error;
  } finally {
    // Also when the reader went away half-way: the connection goes back without a transaction.
    if (!broken) await client.query("ROLLBACK").catch(() => undefined);
    client.release(broken);
  }
}

async function* readTable(
  client: import("pg").PoolClient,
  table: string,
  select: string,
): AsyncGenerator<ExportedRow> {
  await client.query(
    `DECLARE exported NO SCROLL CURSOR FOR SELECT (to_jsonb(t) - $1::text[])::text AS json FROM (${select}) t`,
    [LEFT_OUT_COLUMNS[table] ?? []],
  );
  for (;;) {
    const { rows } = await client.query(`FETCH ${ROWS_AT_ONCE} FROM exported`);
    for (const { json } of rows) yield { table, json };
    if (rows.length < ROWS_AT_ONCE) break;
  }
  await client.query("CLOSE exported");
}
