import { afterAll, beforeAll, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { exportOrganization } from "@/lib/services/organization-export";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

type Line = {
  kind?: string;
  table?: string;
  row?: Record<string, unknown>;
  rows?: Record<string, number>;
};

let database: TestDatabase;
let owner: Viewer;
let lines: readonly Line[];

beforeAll(async () => {
  database = await openTestDatabase();
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 5,
    today: calendarDay("2026-05-04"),
    heaters: 200,
  });
  await writeDemo(database.ownerUrl, {
    seed: 6,
    today: calendarDay("2026-05-04"),
    heaters: 100,
    people: false,
  });
  owner = { ...(await anOrganization(database)), organizationId };
  lines = await exported(owner);
});

afterAll(() => database.close());

async function exported(viewer: Viewer): Promise<readonly Line[]> {
  let text = "";
  for await (const line of exportOrganization(viewer, new Date("2026-05-04T10:00:00Z")))
    text += line;
  return text
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line) as Line);
}

test("the export holds every row of the organization and says how many there are", async () => {
  const end = lines.at(-1);
  expect(end?.kind).toBe("end");
  expect(Object.values(end?.rows ?? {}).reduce((sum, count) => sum + count, 0)).toBe(
    lines.length - 2,
  );
  for (const table of ["Heater", "Building", "ServiceVisit", "Retirement", "WaterTest"]) {
    const { rows } = await database.owner.query(
      `SELECT count(*)::int AS count FROM "${table}" WHERE "organizationId" = $1`,
      [owner.organizationId],
    );
    expect(rows[0].count, table).toBeGreaterThan(0);
    expect(end?.rows?.[table], table).toBe(rows[0].count);
  }
});

test("nothing of another organization is in it", () => {
  const foreign = lines.filter(
    ({ row }) => row?.organizationId !== undefined && row.organizationId !== owner.organizationId,
  );
  expect(foreign).toEqual([]);
  expect(lines.filter(({ table }) => table === "Organization")).toHaveLength(1);
});

test("no password, session or secret is in it, and who took it stands in the log", async () => {
  expect(JSON.stringify(lines)).not.toMatch(/"password"|"token"|secretHash/);
  const { rows } = await database.owner.query(
    `SELECT count(*)::int AS count FROM "AuditEntry" WHERE action = 'organization.export' AND "organizationId" = $1`,
    [owner.organizationId],
  );
  expect(rows[0].count).toBe(1);
});

test("a reader that goes away half-way leaves no transaction open", async () => {
  const some = exportOrganization(owner, new Date());
  for (let i = 0; i < 5; i++) await some.next();
  await some.return(undefined);
  const { rows } = await database.owner.query(
    `SELECT count(*)::int AS open FROM pg_stat_activity
     WHERE datname = current_database() AND state LIKE 'idle in transaction%'`,
  );
  expect(rows[0].open).toBe(0);
});

test("only an owner may take it", () => {
  for (const role of ["manager", "maintenance", "sustainability", "viewer"] as const) {
    expect(() => exportOrganization({ ...owner, role }, new Date())).toThrow(/not-allowed/);
  }
});
