import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { applyMigrations, diffSchemas } from "@/lib/data/migrate";
import { openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;

beforeAll(async () => {
  database = await openTestDatabase();
});

afterAll(() => database?.close());

/** Columns and indexes of a schema, as the catalogue tells them. */
async function shapeOf(schema: string) {
  const columns = await database.owner.query(
    `SELECT table_name, column_name, data_type, is_nullable, column_default
     FROM information_schema.columns WHERE table_schema = $1 AND table_name <> '_prisma_migrations'
     ORDER BY table_name, column_name`,
    [schema],
  );
  const unique = await database.owner.query(
    `SELECT tablename, indexname FROM pg_indexes
     WHERE schemaname = $1 AND tablename <> '_prisma_migrations' ORDER BY 1, 2`,
    [schema],
  );
  return { columns: columns.rows, indexes: unique.rows.map((row) => row.indexname as string) };
}

describe("migrations", () => {
  test("the migrations make what the schema file says", async () => {
    const schema = await readFile("prisma/schema.prisma", "utf8");
    const script = await diffSchemas(database.ownerUrl, null, schema);
    await database.owner.query(
      `CREATE SCHEMA from_file; SET search_path TO from_file; ${script.replaceAll(/CREATE SCHEMA IF NOT EXISTS "public";/g, "")}; SET search_path TO public`,
    );
    const migrated = await shapeOf("public");
    const fromFile = await shapeOf("from_file");
    expect(migrated.columns).toEqual(fromFile.columns);
    // Migrations may add indexes that a schema file cannot say; none of the file's may be missing.
    expect(fromFile.indexes.filter((name) => !migrated.indexes.includes(name))).toEqual([]);
  });

  test("the schema kept beside the migrations is the schema file", async () => {
    const read = (path: string) => readFile(path, "utf8");
    expect(await read("prisma/migrations/last-schema.prisma")).toBe(
      await read("prisma/schema.prisma"),
    );
  });

  test("a migrated database has nothing left to apply, however many processes ask at once", async () => {
    const all = await Promise.all(
      Array.from({ length: 5 }, () => applyMigrations(database.ownerUrl, process.cwd())),
    );
    expect(all.flat()).toEqual([]);
  });
});
