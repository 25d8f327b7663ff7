import pg from "pg";
import { prepareQueue } from "./job-queue";

const APP_ROLE = "tanklore_app";

/** Makes the database when it is absent. `adminUrl` points at any database of the server. */
export async function ensureDatabase(adminUrl: string, name: string): Promise<boolean> {
  return withClient(adminUrl, async (client) => {
    const { rowCount } = await client.query("SELECT FROM pg_database WHERE datname = $1", [name]);
    if (rowCount) return false;
    await client.query(`CREATE DATABASE ${client.escapeIdentifier(name)}`);
    return true;
  });
}

/**
 * Makes the application's own role, which can sign in and cannot pass row-level security, and the
 * job queue that it uses. To be run after the migrations.
 * @returns the connection address of that role.
 */
export async function prepareAppRole(ownerUrl: string, password: string): Promise<string> {
  await prepareQueue(ownerUrl);
  await withClient(ownerUrl, async (client) => {
    await client.query(
      `ALTER ROLE ${APP_ROLE} LOGIN PASSWORD ${client.escapeLiteral(password)} NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE`,
    );
    const { rows } = await client.query("SELECT current_database() AS name, current_user AS owner");
    const database = client.escapeIdentifier(rows[0].name);
    await client.query(`GRANT CONNECT, TEMPORARY ON DATABASE ${database} TO ${APP_ROLE}`);
    await client.query(`GRANT ${APP_ROLE} TO ${client.escapeIdentifier(rows[0].owner)}`);
    await client.query(`GRANT USAGE ON SCHEMA pgboss TO ${APP_ROLE}`);
    await client.query(`GRANT ALL ON ALL TABLES IN SCHEMA pgboss TO ${APP_ROLE}`);
  });
  const url = new URL(ownerUrl);
  url.username = APP_ROLE;
  url.password = password;
  return url.toString();
}

/** True when no organisation is on record yet: a new installation. */
export async function isEmptyInstallation(ownerUrl: string): Promise<boolean> {
  return withClient(ownerUrl, async (client) => {
    const { rows } = await client.query('SELECT EXISTS (SELECT FROM "Organization") AS present');
    return !rows[0].present;
  });
}

async function withClient<T>(url: string, work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}
