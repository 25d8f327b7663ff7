import { link, rm } from "node:fs/promises";
import pg from "pg";
import { from as copyFrom, to as copyTo } from "pg-copy-streams";
import {
  ARCHIVE_FORMAT,
  ArchiveError,
  type ArchiveHeader,
  ArchiveWriter,
  readArchive,
} from "./archive-format";
import { enqueueAll, listUnfinishedJobs, prepareQueue } from "./job-queue";
import { applyMigrations, listMigrations } from "./migrate";

export type ArchiveFigures = {
  readonly tables: number;
  readonly rows: number;
  readonly jobs: number;
  readonly madeAt: string;
};

/**
 * Writes the whole record into one archive: every table as it stood at one moment (one repeatable-read
 * snapshot), the migrations it was made under, and the jobs that were waiting. The file appears under
 * its name when it is whole.
 * @param ownerUrl connection of the tables' owner, who passes row-level security.
 * @param file must not exist yet.
 */
export async function writeBackup(
  ownerUrl: string,
  file: string,
  now: Date,
): Promise<ArchiveFigures> {
  const client = new pg.Client({ connectionString: ownerUrl });
  await client.connect();
  const unfinished = `${file}.unfinished`;
  await rm(unfinished, { force: true });
  try {
    await client.query("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
    const writer = new ArchiveWriter(unfinished);
    const madeAt = now.toISOString();
    await writer.write({
      kind: "archive",
      program: "tanklore",
      format: ARCHIVE_FORMAT,
      madeAt,
      postgres: (await client.query("SHOW server_version")).rows[0].server_version,
      migrations: await readAppliedMigrations(client),
    });
    let rows = 0;
    const tables = await readTables(client);
    for (const table of tables) {
      await writer.write({ kind: "table", ...table });
      const names = table.columns.map((column) => client.escapeIdentifier(column)).join(", ");
      const name = client.escapeIdentifier(table.name);
      rows += await writer.writeRows(
        client.query(copyTo(`COPY public.${name} (${names}) TO STDOUT`)),
      );
    }
    const sequences = await client.query(
      "SELECT sequencename AS name, last_value::text AS \"lastValue\" FROM pg_sequences WHERE schemaname = 'public' AND last_value IS NOT NULL",
    );
    await writer.write({ kind: "sequences", values: sequences.rows });
    const jobs = await listUnfinishedJobs(client);
    await writer.write({ kind: "jobs", jobs: [...jobs] });
    await writer.close();
    await client.query("COMMIT");
    // A link takes a name only where there is none, so an archive is never written over.
    await link(unfinished, file);
    await rm(unfinished);
    return { tables: tables.length, rows, jobs: jobs.length, madeAt };
  } catch (error) {
    await rm(unfinished, { force: true });
    throw error;
  } finally {
    await client.end();
  }
}

/**
 * Reads an archive whole and compares every count and digest; nothing is changed.
 * @throws {ArchiveError} when it is damaged, or made by a newer program than this.
 */
export async function checkBackup(
  file: string,
  projectRoot: string,
): Promise<ArchiveFigures & { readonly header: ArchiveHeader }> {
  const known = await listMigrations(projectRoot);
  let header: ArchiveHeader | null = null;
  let tables = 0;
  let rows = 0;
  let jobs = 0;
  await readArchive(file, {
    onHeader: (it) => {
      header = it;
      for (const { name, checksum } of it.migrations) {
        const own = known.find((migration) => migration.name === name);
        if (!own) {
          throw new ArchiveError(
            `the archive is of a newer program: this one does not know migration ${name}`,
          );
        }
        if (own.checksum !== checksum) {
          throw new ArchiveError(
            `the archive is of another line of this program: migration ${name} differs`,
          );
        }
      }
    },
    onTableEnd: (_, count) => {
      tables += 1;
      rows += count;
    },
    onJobs: async (list) => {
      jobs = list.length;
    },
  });
  const opened = header as ArchiveHeader | null;
  if (opened === null) throw new ArchiveError("this file is not an archive of this program");
  return { tables, rows, jobs, madeAt: opened.madeAt, header: opened };
}

/** Where the record that a restore replaced is kept, until the next restore. */
export const beforeRestore = (database: string) => `${database}_before_restore`;

/**
 * Puts an archive in the place of the database, all or nothing: the archive is checked whole, loaded
 * beside it under the migrations it was made with, compared with its own counts and with every foreign
 * key, brought to this program's schema, and only then takes the name. The record as it was is kept as
 * `<name>_before_restore` until the next restore.
 * @param adminUrl any other database of the same server; the role must be a superuser.
 * @throws {ArchiveError} with one line; the database is then as it was.
 */
export async function restoreBackup(options: {
  readonly adminUrl: string;
  readonly database: string;
  readonly file: string;
  readonly projectRoot: string;
}): Promise<ArchiveFigures> {
  const { adminUrl, database, file, projectRoot } = options;
  const { header, ...figures } = await checkBackup(file, projectRoot);
  const admin = new pg.Client({ connectionString: adminUrl });
  await admin.connect();
  try {
    await refuseWithoutRights(admin);
    await refuseInUse(admin, database);
    const fresh = `${database}_restoring`;
    await drop(admin, fresh);
    await admin.query(`CREATE DATABASE ${admin.escapeIdentifier(fresh)}`);
    try {
      const url = withDatabase(adminUrl, fresh);
      await applyMigrations(url, projectRoot, {
        only: new Set(header.migrations.map(({ name }) => name)),
      });
      await load(url, file);
      await applyMigrations(url, projectRoot);
      await prepareQueue(url);
      await enqueueArchived(url, file);
      await drop(admin, beforeRestore(database));
      await takePlace(admin, fresh, database);
    } catch (error) {
      await drop(admin, fresh);
      throw error;
    }
  } finally {
    await admin.end();
  }
  return figures;
}

async function refuseWithoutRights(admin: pg.Client): Promise<void> {
  const { rows } = await admin.query(
    "SELECT rolsuper AS may FROM pg_roles WHERE rolname = current_user",
  );
  if (rows[0].may) return;
  throw new ArchiveError(
    "restoring needs a superuser of the database server; on a server of your own use pg_dump and pg_restore",
  );
}

async function refuseInUse(admin: pg.Client, database: string): Promise<void> {
  const { rows } = await admin.query(
    "SELECT count(*)::int AS users FROM pg_stat_activity WHERE datname = $1",
    [database],
  );
  if (rows[0].users === 0) return;
  throw new ArchiveError(
    "the database is in use: stop the program and its workers, then restore again",
  );
}

/** Loads the tables in one transaction; triggers and keys rest meanwhile and are checked after. */
async function load(url: string, file: string): Promise<void> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await client.query("BEGIN");
    await client.query("SET LOCAL session_replication_role = replica");
    const own = await readTables(client);
    // A migration may have written rows; the archive holds all there is to hold.
    const names = own.map((table) => client.escapeIdentifier(table.name)).join(", ");
    await client.query(`TRUNCATE ${names}`);
    await readArchive(file, {
      onTable: (table) => {
        const target = own.find(({ name }) => name === table.name);
        const unknown = table.columns.filter((column) => !target?.columns.includes(column));
        if (!target || unknown.length > 0) {
          throw new ArchiveError(
            `the archive does not fit its own migrations: table ${table.name} ${unknown.join(", ")}`,
          );
        }
        const columns = table.columns.map((column) => client.escapeIdentifier(column)).join(", ");
        const name = client.escapeIdentifier(table.name);
        return client.query(copyFrom(`COPY public.${name} (${columns}) FROM STDIN`));
      },
      onTableEnd: async (table, rows) => {
        const name = client.escapeIdentifier(table.name);
        const { rows: found } = await client.query(
          `SELECT count(*)::int AS rows FROM public.${name}`,
        );
        if (found[0].rows !== rows) {
          throw new ArchiveError(`table ${table.name}: ${found[0].rows} of ${rows} rows arrived`);
        }
      },
      onSequences: async (values) => {
        for (const { name, lastValue } of values) {
          await client.query("SELECT setval(format('public.%I', $1::text)::regclass, $2::bigint)", [
            name,
            lastValue,
          ]);
        }
      },
    });
    await client.query("SET LOCAL session_replication_role = origin");
    await checkForeignKeys(client);
    await client.query("COMMIT");
    await client.query("ANALYZE");
  } finally {
    await client.end();
  }
}

/** Every row that points somewhere must find what it points at. */
async function checkForeignKeys(client: pg.Client): Promise<void> {
  const { rows: keys } = await client.query(
    `SELECT conname AS name, conrelid::regclass::text AS child, confrelid::regclass::text AS parent,
       (SELECT array_agg(quote_ident(attname) ORDER BY place) FROM unnest(conkey) WITH ORDINALITY AS k(number, place)
          JOIN pg_attribute ON attrelid = conrelid AND attnum = number)::text[] AS own,
       (SELECT array_agg(quote_ident(attname) ORDER BY place) FROM unnest(confkey) WITH ORDINALITY AS k(number, place)
          JOIN pg_attribute ON attrelid = confrelid AND attnum = number)::text[] AS theirs
     FROM pg_constraint WHERE contype = 'f' AND connamespace = 'public'::regnamespace`,
  );
  for (const key of keys as readonly ForeignKey[]) {
    const present = key.own.map((column) => `c.${column} IS NOT NULL`).join(" AND ");
    const match = key.own.map((column, at) => `p.${key.theirs[at]} = c.${column}`).join(" AND ");
    const { rows } = await client.query(
      `SELECT count(*)::int AS lost FROM ${key.child} c WHERE ${present}
         AND NOT EXISTS (SELECT FROM ${key.parent} p WHERE ${match})`,
    );
    if (rows[0].lost > 0) {
      throw new ArchiveError(
        `the archive contradicts itself: ${rows[0].lost} rows of ${key.child} point at nothing in ${key.parent}`,
      );
    }
  }
}

type ForeignKey = {
  readonly child: string;
  readonly parent: string;
  readonly own: readonly string[];
  readonly theirs: readonly string[];
};

async function enqueueArchived(url: string, file: string): Promise<void> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await readArchive(file, { onJobs: (jobs) => enqueueAll(client, jobs) });
  } finally {
    await client.end();
  }
}

/** Both names change in one transaction: at no moment is there no database. */
async function takePlace(admin: pg.Client, fresh: string, database: string): Promise<void> {
  const name = admin.escapeIdentifier(database);
  await admin.query("BEGIN");
  try {
    const { rowCount } = await admin.query("SELECT FROM pg_database WHERE datname = $1", [
      database,
    ]);
    if (rowCount) {
      const kept = admin.escapeIdentifier(beforeRestore(database));
      await admin.query(`ALTER DATABASE ${name} RENAME TO ${kept}`);
    }
    await admin.query(`ALTER DATABASE ${admin.escapeIdentifier(fresh)} RENAME TO ${name}`);
    await admin.query("COMMIT");
  } catch (error) {
    await admin.query("ROLLBACK");
    throw error;
  }
}

async function drop(admin: pg.Client, database: string): Promise<void> {
  await admin.query(`DROP DATABASE IF EXISTS ${admin.escapeIdentifier(database)} WITH (FORCE)`);
}

async function readAppliedMigrations(
  client: pg.Client,
): Promise<{ name: string; checksum: string }[]> {
  const { rows } = await client.query(
    "SELECT migration_name AS name, checksum FROM _prisma_migrations WHERE finished_at IS NOT NULL AND rolled_back_at IS NULL ORDER BY migration_name",
  );
  return rows;
}

/** The tables of the record and the columns that are written (generated ones follow from them). */
async function readTables(
  client: pg.Client,
): Promise<readonly { readonly name: string; readonly columns: string[] }[]> {
  const { rows } = await client.query(
    `SELECT relname AS name, array_agg(attname::text ORDER BY attnum) AS columns
     FROM pg_class JOIN pg_attribute ON attrelid = pg_class.oid AND attnum > 0
       AND NOT attisdropped AND attgenerated = ''
     WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relname <> '_prisma_migrations'
     GROUP BY relname ORDER BY relname`,
  );
  return rows;
}

function withDatabase(address: string, database: string): string {
  const url = new URL(address);
  url.pathname = `/${database}`;
  return url.toString();
}
