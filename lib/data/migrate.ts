import { createHash } from "node:crypto";
import { readdir, readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { PrismaPg } from "@prisma/adapter-pg";
import { bindMigrationAwareSqlAdapterFactory } from "@prisma/driver-adapter-utils";
import * as engineGlue from "@prisma/schema-engine-wasm/schema_engine_bg";
import pg from "pg";

type SchemaEngine = Awaited<ReturnType<typeof engineGlue.SchemaEngine.new>>;
type MigrationList = Parameters<SchemaEngine["applyMigrations"]>[0]["migrationsList"];

/** Any constant will do, as long as every process of this program takes the same lock. */
const MIGRATION_LOCK = 7_240_113;
const NO_FILTER = { externalTables: [], externalEnums: [] };

let glueReady: Promise<void> | null = null;

/** The schema engine is a WebAssembly module whose glue expects to be handed its exports. */
function loadEngine(): Promise<void> {
  glueReady ??= (async () => {
    const require = createRequire(import.meta.url);
    const glue = engineGlue as unknown as WebAssembly.ModuleImports & {
      __wbg_set_wasm(exports: WebAssembly.Exports): void;
    };
    const file = require
      .resolve("@prisma/schema-engine-wasm")
      .replace(/schema_engine\.js$/, "schema_engine_bg.wasm");
    const { instance } = await WebAssembly.instantiate(await readFile(file), {
      "./schema_engine_bg.js": glue,
    });
    glue.__wbg_set_wasm(instance.exports);
    (instance.exports.__wbindgen_start as () => void)();
  })();
  return glueReady;
}

/**
 * The adapter splits a script at every semicolon, also inside a function's body. PostgreSQL takes a
 * script whole, and runs it as one transaction: a migration is applied or it is not.
 */
class WholeScripts extends PrismaPg {
  override async connect() {
    return takeScriptsWhole(await super.connect());
  }

  override async connectToShadowDb() {
    return takeScriptsWhole(await super.connectToShadowDb());
  }
}

function takeScriptsWhole<T extends Awaited<ReturnType<PrismaPg["connect"]>>>(adapter: T): T {
  adapter.executeScript = async (script) => {
    await adapter.underlyingDriver().query(script);
  };
  return adapter;
}

async function withEngine<T>(
  databaseUrl: string,
  schema: string,
  work: (engine: SchemaEngine) => Promise<T>,
): Promise<T> {
  await loadEngine();
  const pool = new pg.Pool({ connectionString: databaseUrl, max: 2 });
  const adapter = bindMigrationAwareSqlAdapterFactory(new WholeScripts(pool));
  const engine = await engineGlue.SchemaEngine.new(
    { datamodels: [["schema.prisma", schema]] },
    () => undefined,
    adapter,
  );
  try {
    return await work(engine);
  } finally {
    engine.free();
    await pool.end();
  }
}

/** The migrations on disk, in the order of their names. */
async function readMigrations(projectRoot: string): Promise<MigrationList> {
  const baseDir = join(projectRoot, "prisma/migrations");
  const entries = await readdir(baseDir, { withFileTypes: true });
  const names = entries.filter((entry) => entry.isDirectory()).map((entry) => entry.name);
  const migrationDirectories = await Promise.all(
    names.sort().map(async (path) => ({
      path,
      migrationFile: {
        path: "migration.sql",
        content: {
          tag: "ok" as const,
          value: await readFile(join(baseDir, path, "migration.sql"), "utf8"),
        },
      },
    })),
  );
  return {
    baseDir,
    lockfile: { path: "migration_lock.toml", content: 'provider = "postgresql"\n' },
    shadowDbInitScript: "",
    migrationDirectories,
  };
}

/** The migrations this program knows, each with the SHA-256 of its text as the database keeps it. */
export async function listMigrations(
  projectRoot: string,
): Promise<readonly { readonly name: string; readonly checksum: string }[]> {
  const { migrationDirectories } = await readMigrations(projectRoot);
  return migrationDirectories.map(({ path, migrationFile }) => {
    if (migrationFile.content.tag !== "ok") throw new Error(`cannot read migration ${path}`);
    const checksum = createHash("sha256").update(migrationFile.content.value).digest("hex");
    return { name: path, checksum };
  });
}

/**
 * Brings the database to the newest schema. Processes that start together wait for one another
 * under an advisory lock, so each migration runs once.
 * @param options.only stops short at the schema of these migrations, as an older archive needs it.
 * @returns the names of the migrations that were applied now.
 */
export async function applyMigrations(
  databaseUrl: string,
  projectRoot: string,
  { only }: { readonly only?: ReadonlySet<string> } = {},
): Promise<readonly string[]> {
  const all = await readMigrations(projectRoot);
  const migrationsList = {
    ...all,
    migrationDirectories: all.migrationDirectories.filter(({ path }) => !only || only.has(path)),
  };
  const lock = new pg.Client({ connectionString: databaseUrl });
  await lock.connect();
  try {
    await lock.query("SELECT pg_advisory_lock($1)", [MIGRATION_LOCK]);
    if (await isUpToDate(lock, migrationsList)) return [];
    const schema = await readFile(join(projectRoot, "prisma/schema.prisma"), "utf8");
    return await withEngine(databaseUrl, schema, async (engine) => {
      const { appliedMigrationNames } = await engine.applyMigrations({
        migrationsList,
        filters: NO_FILTER,
      });
      return appliedMigrationNames;
    });
  } finally {
    await lock.end();
  }
}

/** Spares a start the engine's loading time when nothing is to be done. */
async function isUpToDate(client: pg.Client, list: MigrationList): Promise<boolean> {
  const table = await client.query("SELECT to_regclass('public._prisma_migrations') AS name");
  if (table.rows[0].name === null) return false;
  const { rows } = await client.query(
    "SELECT migration_name FROM _prisma_migrations WHERE finished_at IS NOT NULL",
  );
  const done = new Set(rows.map((row) => row.migration_name as string));
  return list.migrationDirectories.every((directory) => done.has(directory.path));
}

/**
 * SQL that takes a database of one schema text to another; an absent `from` is an empty database.
 * The engine wants a server to talk to, though it changes nothing there.
 */
export async function diffSchemas(
  databaseUrl: string,
  from: string | null,
  to: string,
): Promise<string> {
  const asFiles = (content: string) => ({
    tag: "schemaDatamodel" as const,
    files: [{ path: "schema.prisma", content }],
  });
  return withEngine(databaseUrl, to, async (engine) => {
    const result = await engine.diff({
      from: from === null ? { tag: "empty" } : asFiles(from),
      to: asFiles(to),
      script: true,
      exitCode: null,
      filters: NO_FILTER,
    });
    return result.stdout ?? "";
  });
}
