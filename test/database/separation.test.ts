import { randomUUID } from "node:crypto";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { withRecords, withSql } from "@/lib/data/tenant";
import { openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let app: pg.Client;
let first: string;
let second: string;

/** Every table with an organisation, asked of the catalogue so that a new one cannot be forgotten. */
let tenantTables: readonly string[];

beforeAll(async () => {
  database = await openTestDatabase();
  const today = calendarDay("2026-06-30");
  first = await writeDemo(database.ownerUrl, { seed: 1, today, heaters: 60 });
  second = await writeDemo(database.ownerUrl, { seed: 2, today, heaters: 60, people: false });
  app = new pg.Client({ connectionString: database.appUrl });
  await app.connect();
  const { rows } = await database.owner.query(
    `SELECT table_name FROM information_schema.columns
     WHERE table_schema = 'public' AND column_name = 'organizationId' ORDER BY table_name`,
  );
  tenantTables = rows.map((row) => row.table_name as string);
});

afterAll(async () => {
  await app?.end();
  await database?.close();
});

/** Rows of a table that a transaction of the application's role sees, by organisation. */
async function seen(table: string, organizationId: string | null): Promise<Map<string, number>> {
  await app.query("BEGIN");
  try {
    if (organizationId) {
      await app.query("SELECT set_config('tanklore.organization', $1, true)", [organizationId]);
    }
    const { rows } = await app.query(
      `SELECT COALESCE("organizationId"::text, 'published') AS id, count(*)::int AS n FROM "${table}" GROUP BY 1`,
    );
    return new Map(rows.map((row) => [row.id as string, row.n as number]));
  } finally {
    await app.query("ROLLBACK");
  }
}

describe("separation of organisations", () => {
  test("there is something to separate", () => {
    expect(tenantTables).toContain("Heater");
    expect(tenantTables.length).toBeGreaterThan(15);
  });

  test("every table with an organisation is under row-level security", async () => {
    const { rows } = await database.owner.query(
      `SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'
         AND NOT relrowsecurity AND relname = ANY ($1)`,
      [tenantTables],
    );
    expect(rows).toEqual([]);
  });

  test("the application's role cannot pass row-level security", async () => {
    const { rows } = await app.query(
      "SELECT rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user",
    );
    expect(rows).toEqual([{ rolsuper: false, rolbypassrls: false }]);
  });

  test("a query without a filter sees rows of its own organisation only", async () => {
    for (const table of tenantTables) {
      const visible = await seen(table, first);
      visible.delete("published");
      expect(
        [...visible.keys()].filter((id) => id !== first),
        table,
      ).toEqual([]);
    }
    expect((await seen("Heater", first)).get(first)).toBeGreaterThan(0);
    expect((await seen("Heater", second)).get(second)).toBeGreaterThan(0);
  });

  test("a transaction that names no organisation sees nothing", async () => {
    for (const table of tenantTables) {
      const visible = await seen(table, null);
      visible.delete("published");
      expect([...visible.keys()], table).toEqual([]);
    }
  });

  test("a row cannot be written for another organisation", async () => {
    const insert = withSql({ organizationId: first }, (client) =>
      client.query('INSERT INTO "Property" (id, "organizationId", name) VALUES ($1, $2, $3)', [
        randomUUID(),
        second,
        "Taken",
      ]),
    );
    await expect(insert).rejects.toThrow(/row-level security/);
  });

  test("a row of another organisation can be neither changed nor deleted", async () => {
    const changed = await withSql({ organizationId: first }, async (client) => {
      const update = await client.query(
        `UPDATE "Heater" SET notes = 'mine' WHERE "organizationId" = $1`,
        [second],
      );
      const remove = await client.query('DELETE FROM "VisitTask" WHERE "organizationId" = $1', [
        second,
      ]);
      return [update.rowCount, remove.rowCount];
    });
    expect(changed).toEqual([0, 0]);
  });

  test("the record library is held to the same rule as plain SQL", async () => {
    const organizations = await withRecords({ organizationId: second }, (records) =>
      records.heater.groupBy({ by: ["organizationId"] }),
    );
    expect(organizations.map((row) => row.organizationId)).toEqual([second]);
  });

  test("the log of changes can be added to, never changed", async () => {
    await withSql({ organizationId: first }, (client) =>
      client.query(
        `INSERT INTO "AuditEntry" (id, "organizationId", action, entity) VALUES ($1, $2, 'test', 'test')`,
        [randomUUID(), first],
      ),
    );
    for (const sql of [`UPDATE "AuditEntry" SET action = 'other'`, 'DELETE FROM "AuditEntry"']) {
      await expect(
        withSql({ organizationId: first }, (client) => client.query(sql)),
      ).rejects.toThrow(/permission denied/);
    }
  });
});
