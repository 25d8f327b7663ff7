import { randomUUID } from "node:crypto";
import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync, gzipSync } from "node:zlib";
import pg from "pg";
import { afterAll, beforeAll, expect, inject, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { dayFromParts } from "@/lib/core/shared/calendar-day";
import { ArchiveError } from "@/lib/data/archive-format";
import { beforeRestore, checkBackup, restoreBackup, writeBackup } from "@/lib/data/backup";
import { enqueueAll, listUnfinishedJobs } from "@/lib/data/job-queue";
import { openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let folder: string;
let archive: string;
const today = dayFromParts(2026, 5, 4);
const now = new Date("2026-05-04T12:00:00Z");

beforeAll(async () => {
  database = await openTestDatabase();
  await writeDemo(database.ownerUrl, { seed: 3, today });
  await enqueueAll(database.owner, [{ queue: "risk", data: { organizationId: randomUUID() } }]);
  folder = await mkdtemp(join(tmpdir(), "tanklore-archive-"));
  archive = join(folder, "whole.archive.gz");
  await writeBackup(database.ownerUrl, archive, now);
});

afterAll(async () => {
  await database.close();
  await rm(folder, { recursive: true, force: true });
});

const adminUrl = () => inject("adminUrl");

/** Every table's rows, in an order of their own text, so that two databases can be compared. */
async function readEverything(url: string): Promise<ReadonlyMap<string, readonly string[]>> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    const { rows: tables } = await client.query(
      "SELECT quote_ident(relname) AS name FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relname <> '_prisma_migrations' ORDER BY 1",
    );
    const contents = new Map<string, readonly string[]>();
    for (const { name } of tables) {
      const { rows } = await client.query(
        `SELECT t::text AS row FROM public.${name} t ORDER BY t::text COLLATE "C"`,
      );
      contents.set(
        name,
        rows.map(({ row }) => row),
      );
    }
    return contents;
  } finally {
    await client.end();
  }
}

function urlOf(name: string): string {
  const url = new URL(adminUrl());
  url.pathname = `/${name}`;
  return url.toString();
}

const restoreInto = (name: string, file: string) =>
  restoreBackup({ adminUrl: adminUrl(), database: name, file, projectRoot: process.cwd() });

async function databasesLike(name: string): Promise<readonly string[]> {
  const { rows } = await database.owner.query(
    "SELECT datname FROM pg_database WHERE datname LIKE $1 ORDER BY 1",
    [`${name}%`],
  );
  return rows.map(({ datname }) => datname);
}

test("what is restored is what was there, row for row, and the waiting jobs wait again", async () => {
  const name = `restored_${randomUUID().slice(0, 8)}`;
  const figures = await restoreInto(name, archive);
  const before = await readEverything(database.ownerUrl);
  const after = await readEverything(urlOf(name));
  expect([...after.keys()]).toEqual([...before.keys()]);
  for (const [table, rows] of before) expect(after.get(table), table).toEqual(rows);
  expect(figures.rows).toBe([...before.values()].reduce((sum, rows) => sum + rows.length, 0));
  expect(figures.rows).toBeGreaterThan(10_000);

  const client = new pg.Client({ connectionString: urlOf(name) });
  await client.connect();
  const jobs = await listUnfinishedJobs(client);
  await client.end();
  expect(jobs).toEqual(await listUnfinishedJobs(database.owner));
  expect(jobs).toHaveLength(1);
});

test("the record that a restore replaces is kept beside it", async () => {
  const name = `replaced_${randomUUID().slice(0, 8)}`;
  await restoreInto(name, archive);
  const client = new pg.Client({ connectionString: urlOf(name) });
  await client.connect();
  await client.query(`UPDATE "Organization" SET name = 'changed since'`);
  await client.end();
  await restoreInto(name, archive);
  const nameOf = async (url: string) =>
    (await readEverything(url)).get('"Organization"')?.join() ?? "";
  expect(await nameOf(urlOf(name))).not.toContain("changed since");
  expect(await nameOf(urlOf(beforeRestore(name)))).toContain("changed since");
});

test("a backup shows one moment, also while others write", async () => {
  const marks = () =>
    database.owner.query(`INSERT INTO "Organization" (id, name) VALUES ($1, 'late')`, [
      randomUUID(),
    ]);
  const file = join(folder, "busy.archive.gz");
  let isDone = false;
  const backup = writeBackup(database.ownerUrl, file, now).finally(() => {
    isDone = true;
  });
  while (!isDone) await marks();
  await backup;
  const { rows } = await checkBackup(file, process.cwd());
  const name = `busy_${randomUUID().slice(0, 8)}`;
  await restoreInto(name, file);
  const restored = await readEverything(urlOf(name));
  expect([...restored.values()].reduce((sum, list) => sum + list.length, 0)).toBe(rows);
  await database.owner.query(`DELETE FROM "Organization" WHERE name = 'late'`);
});

test("an archive that was changed or cut anywhere is refused, and nothing is made", async () => {
  const bytes = await readFile(archive);
  const plain = gunzipSync(bytes);
  const flipped = Buffer.from(plain);
  const middle = Math.floor(plain.length / 2);
  flipped[middle] = (flipped[middle] ?? 0) ^ 1;
  const text = plain.toString("latin1");
  const damaged: Record<string, Buffer> = {
    "a bit flipped inside": gzipSync(flipped),
    "a bit flipped in the packed file": Buffer.concat([
      bytes.subarray(0, 5000),
      Buffer.from([(bytes[5000] ?? 0) ^ 1]),
      bytes.subarray(5001),
    ]),
    "cut short": bytes.subarray(0, bytes.length - 2000),
    "cut at a record": gzipSync(plain.subarray(0, plain.lastIndexOf('{"kind":"close"'))),
    "rows taken out, counts left": gzipSync(
      Buffer.from(text.replace(/("kind":"chunk","bytes":)\d+/, "$11"), "latin1"),
    ),
    "more behind the end": gzipSync(
      Buffer.concat([plain, Buffer.from('{"kind":"jobs","jobs":[]}\n')]),
    ),
    "another file": Buffer.from("date,serial\n2020-01-01,1\n"),
    "an empty file": Buffer.alloc(0),
  };
  for (const [what, content] of Object.entries(damaged)) {
    const file = join(folder, "damaged.gz");
    await writeFile(file, content);
    const name = `damaged_${randomUUID().slice(0, 8)}`;
    await expect(restoreInto(name, file), what).rejects.toThrow(ArchiveError);
    expect(await databasesLike(name), what).toEqual([]);
  }
});

/** The archive with its records changed and its digests made right again, as a forger would. */
async function rewrite(change: (plain: string) => string): Promise<string> {
  const { createHash } = await import("node:crypto");
  const plain = change(gunzipSync(await readFile(archive)).toString("latin1"));
  const at = plain.lastIndexOf('{"kind":"close"');
  const body = Buffer.from(plain.slice(0, at), "latin1");
  const close = JSON.parse(plain.slice(at)) as { tables: number };
  const sha256 = createHash("sha256").update(body).digest("hex");
  const file = join(folder, `${randomUUID()}.gz`);
  const end = Buffer.from(`${JSON.stringify({ ...close, kind: "close", sha256 })}\n`);
  await writeFile(file, gzipSync(Buffer.concat([body, end])));
  return file;
}

test("an archive of a newer program is refused by name", async () => {
  const newerSchema = await rewrite((plain) =>
    plain.replace('"migrations":[', '"migrations":[{"name":"9999_later","checksum":"00"},'),
  );
  await expect(restoreInto("never", newerSchema)).rejects.toThrow(/newer program.*9999_later/);
  const newerFormat = await rewrite((plain) => plain.replace('"format":1', '"format":2'));
  await expect(restoreInto("never", newerFormat)).rejects.toThrow(/newer/);
  const otherLine = await rewrite((plain) =>
    plain.replace(/"checksum":"[0-9a-f]{64}"/, `"checksum":"${"0".repeat(64)}"`),
  );
  await expect(restoreInto("never", otherLine)).rejects.toThrow(/0001_record differs/);
  expect(await databasesLike("never")).toEqual([]);
});

test("an archive whose rows point at nothing is refused, and the record stays", async () => {
  const name = `kept_${randomUUID().slice(0, 8)}`;
  await restoreInto(name, archive);
  const before = await readEverything(urlOf(name));
  const { createHash } = await import("node:crypto");
  const emptied = await rewrite((plain) => {
    // The table of properties without its rows: every building then points at nothing.
    const start = plain.indexOf('{"kind":"chunk"', plain.indexOf('"name":"Property"'));
    const end = plain.indexOf('{"kind":"end"', start);
    const after = plain.indexOf("\n", end);
    const sha256 = createHash("sha256").digest("hex");
    return `${plain.slice(0, start)}${JSON.stringify({ kind: "end", rows: 0, sha256 })}${plain.slice(after)}`;
  });
  await expect(restoreInto(name, emptied)).rejects.toThrow(/point at nothing in "Property"/);
  expect(await readEverything(urlOf(name))).toEqual(before);
  expect(await databasesLike(`${name}_restoring`)).toEqual([]);
});

test("a database in use is not replaced", async () => {
  const name = new URL(database.ownerUrl).pathname.slice(1);
  await expect(restoreInto(name, archive)).rejects.toThrow(/in use/);
});

test("a backup never writes over a file and leaves none behind when it fails", async () => {
  const taken = join(folder, "taken.gz");
  await writeFile(taken, "an older archive");
  await expect(writeBackup(database.ownerUrl, taken, now)).rejects.toThrow(/EEXIST/);
  await expect(
    writeBackup(database.ownerUrl, join(folder, "no-such-folder", "x.gz"), now),
  ).rejects.toThrow(/ENOENT/);
  expect(await readFile(taken, "utf8")).toBe("an older archive");
  expect((await readdir(folder)).filter((name) => name.includes("unfinished"))).toEqual([]);
});
