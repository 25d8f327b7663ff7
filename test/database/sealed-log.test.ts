import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { afterAll, beforeAll, beforeEach, expect, test } from "vitest";
import { ACTIONS_WITH_WORDS } from "@/app/(desk)/settings/log/words";
import { writeAudit } from "@/lib/data/audit";
import { verifyChanges } from "@/lib/data/change-log";
import { withSql } from "@/lib/data/tenant";
import { ACTIONS } from "@/lib/services/permissions";
import { exportLog } from "@/lib/services/settings-log";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let viewer: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
});

beforeEach(async () => {
  viewer = await anOrganization(database);
});

afterAll(() => database?.close());

function write(subject: string, tenant = viewer): Promise<void> {
  return withSql(tenant, (client) =>
    writeAudit(client, tenant.organizationId, {
      userId: tenant.userId,
      action: "heater.edit",
      entity: "Heater",
      entityId: subject,
      before: { tag: subject, volumeGal: 40 },
      after: { tag: subject, volumeGal: 50 },
    }),
  );
}

const verify = (tenant = viewer) => withSql(tenant, verifyChanges);

test("a log that nothing happened to is unbroken up to its last entry", async () => {
  expect(await verify()).toMatchObject({ sealed: 0, brokenAt: null });
  for (const subject of ["1", "2", "3"]) await write(subject);
  const found = await verify();
  expect(found).toMatchObject({ sealed: 3, brokenAt: null });
  expect(found.lastHash).toMatch(/^[0-9a-f]{64}$/);
});

test.each([
  ["is changed", `UPDATE "AuditEntry" SET after = '{"volumeGal": 75}'`],
  ["is given to somebody else", `UPDATE "AuditEntry" SET "userId" = 'other'`],
  ["is dated otherwise", `UPDATE "AuditEntry" SET at = at - interval '1 day'`],
  ["is removed", `DELETE FROM "AuditEntry"`],
])("an entry that %s behind the program's back breaks the log there", async (_how, sql) => {
  for (const subject of ["1", "2", "3"]) await write(subject);
  await database.owner.query(`${sql} WHERE "organizationId" = $1 AND "entityId" = '2'`, [
    viewer.organizationId,
  ]);
  expect(await verify()).toMatchObject({ brokenAt: 2 });
});

test("an entry slipped in without a seal is found", async () => {
  await write("1");
  await database.owner.query("BEGIN");
  await database.owner.query("SET LOCAL session_replication_role = replica");
  await database.owner.query(
    `INSERT INTO "AuditEntry" (id, "organizationId", action, entity)
     VALUES (gen_random_uuid(), $1, 'heater.edit', 'Heater')`,
    [viewer.organizationId],
  );
  await database.owner.query("COMMIT");
  expect(await verify()).toMatchObject({ brokenAt: null, unsealed: 1 });
});

test("writers at the same time make one chain, and another organisation has its own", async () => {
  const other = await anOrganization(database);
  await Promise.all([
    ...Array.from({ length: 20 }, (_, index) => write(String(index))),
    ...Array.from({ length: 5 }, (_, index) => write(String(index), other)),
  ]);
  expect(await verify()).toMatchObject({ sealed: 20, brokenAt: null, unsealed: 0 });
  expect(await verify(other)).toMatchObject({ sealed: 5, brokenAt: null, unsealed: 0 });
});

test("a change that is rolled back leaves neither entry nor seal", async () => {
  await write("1");
  await expect(
    withSql(viewer, async (client) => {
      await writeAudit(client, viewer.organizationId, {
        userId: null,
        action: "heater.edit",
        entity: "Heater",
        entityId: "2",
      });
      throw new RangeError("no");
    }),
  ).rejects.toThrow("no");
  expect(await verify()).toMatchObject({ sealed: 1, brokenAt: null, unsealed: 0 });
});

test("the whole log can be taken out, in order, with its seals, and only one's own", async () => {
  const other = await anOrganization(database);
  await write("theirs", other);
  for (const subject of ["1", "=2", "3"]) await write(subject);
  const read = async (format: "csv" | "jsonl") => {
    let text = "";
    for await (const part of exportLog(viewer, format)) text += part;
    return text;
  };
  const entries = (await read("jsonl"))
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line));
  expect(entries.map(({ position, entityId }) => [position, entityId])).toEqual([
    [1, "1"],
    [2, "=2"],
    [3, "3"],
  ]);
  expect(entries[0]).toMatchObject({ before: { volumeGal: 40 }, after: { volumeGal: 50 } });
  expect(entries[2].hash).toBe((await verify()).lastHash);
  const lines = (await read("csv")).trimEnd().split("\r\n");
  expect(lines).toHaveLength(4);
  expect(lines[2]).toContain(",'=2,volumeGal,40,50,");
});

test.each([
  `UPDATE "AuditSeal" SET hash = ''`,
  'DELETE FROM "AuditSeal"',
  `INSERT INTO "AuditSeal" VALUES (current_organization(), 9, gen_random_uuid(), '')`,
  'TRUNCATE "AuditEntry"',
  `UPDATE "AuditEntry" SET action = 'other'`,
  'DELETE FROM "AuditEntry"',
])("the application cannot do %s", async (sql) => {
  await write("1");
  await expect(withSql(viewer, (client) => client.query(sql))).rejects.toThrow(/permission denied/);
});

test("every action that a use case writes to the log has words for the screen", async () => {
  const directory = "lib/services";
  const files = await readdir(directory, { recursive: true });
  const written = new Set<string>();
  for (const file of files.filter((name) => name.endsWith(".ts"))) {
    const text = await readFile(join(directory, file), "utf8");
    if (!text.includes("writeAudit")) continue;
    for (const [, action] of text.matchAll(/"([a-z]+(?:-[a-z]+)*(?:\.[a-z]+(?:-[a-z]+)*)+)"/g)) {
      written.add(action);
    }
  }
  const actions = [...written].filter(
    (one) => !(ACTIONS as readonly string[]).includes(one) && !/\.(csv|ics|xlsx)$/.test(one),
  );
  expect(actions.length).toBeGreaterThan(50);
  expect(actions.filter((one) => !ACTIONS_WITH_WORDS.has(one))).toEqual([]);
});
