import { chmod, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { diffSchemas } from "@/lib/data/migrate";
import { startEmbeddedPostgres } from "./embedded-postgres";

/**
 * `npm run migration -- readable_name`: the next migration, from what has changed in the schema file
 * since the last one. The schema as of the last migration is kept beside the migrations.
 */
const [name] = process.argv.slice(2);
if (!name || !/^[a-z0-9_]+$/.test(name)) {
  console.error("give the migration a readable name of lower-case letters, digits and underscores");
  process.exit(2);
}

const folder = join(process.cwd(), "prisma/migrations");
const lastSchemaFile = join(folder, "last-schema.prisma");
const schema = await readFile(join(process.cwd(), "prisma/schema.prisma"), "utf8");

const scratch = await mkdtemp(join(tmpdir(), "tanklore-migration-"));
await chmod(scratch, 0o755);
const server = await startEmbeddedPostgres({
  directory: join(scratch, "postgres"),
  password: "throw-away",
  unsafeFast: true,
});
const sql = await diffSchemas(
  server.urlOf("postgres"),
  await readFile(lastSchemaFile, "utf8"),
  schema,
).finally(async () => {
  await server.stop();
  await rm(scratch, { recursive: true, force: true });
});

if (sql.trim() === "" || sql.includes("This is an empty migration")) {
  console.log("the schema file asks for nothing new");
} else {
  const taken = (await readdir(folder)).filter((entry) => /^\d{4}_/.test(entry)).sort();
  const number = String(Number(taken.at(-1)?.slice(0, 4) ?? 0) + 1).padStart(4, "0");
  await mkdir(join(folder, `${number}_${name}`));
  await writeFile(join(folder, `${number}_${name}`, "migration.sql"), sql);
  await writeFile(lastSchemaFile, schema);
  console.log(`wrote prisma/migrations/${number}_${name}/migration.sql: read it before you use it`);
}
