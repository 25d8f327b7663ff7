import { join } from "node:path";
import type { Environment } from "@/lib/config/environment";
import { releaseAbandonedJobs } from "@/lib/data/job-queue";
import { applyMigrations } from "@/lib/data/migrate";
import { ensureDatabase, isEmptyInstallation, prepareAppRole } from "@/lib/data/prepare";
import { startEmbeddedPostgres } from "./embedded-postgres";
import { EMBEDDED_DATABASE } from "./reach-database";
import type { Secrets } from "./secrets";
import { StartError } from "./start-error";

export type Database = {
  readonly ownerUrl: string;
  readonly appUrl: string;
  readonly isEmbedded: boolean;
  readonly isEmpty: boolean;
  readonly stop: () => Promise<void>;
};

/** Starts or reaches the database, migrates it and makes the application's role. */
export async function openDatabase(
  environment: Environment,
  secrets: Secrets,
  projectRoot: string,
): Promise<Database> {
  const server = environment.databaseUrl
    ? { ownerUrl: environment.databaseUrl, stop: async () => undefined }
    : await embedded(environment, secrets);
  try {
    await applyMigrations(server.ownerUrl, projectRoot);
    const appUrl =
      environment.appDatabaseUrl ?? (await prepareAppRole(server.ownerUrl, secrets.appPassword));
    if (environment.databaseUrl === null) await releaseAbandonedJobs(server.ownerUrl);
    const isEmpty = await isEmptyInstallation(server.ownerUrl);
    return { ...server, appUrl, isEmpty, isEmbedded: environment.databaseUrl === null };
  } catch (error) {
    await server.stop();
    throw explain(error, environment);
  }
}

async function embedded(environment: Environment, secrets: Secrets) {
  const server = await startEmbeddedPostgres({
    directory: join(environment.dataDir, "postgres"),
    password: secrets.databasePassword,
  });
  try {
    await ensureDatabase(server.urlOf("postgres"), EMBEDDED_DATABASE);
  } catch (error) {
    await server.stop();
    throw explain(error, environment);
  }
  return { ownerUrl: server.urlOf(EMBEDDED_DATABASE), stop: server.stop };
}

function explain(error: unknown, environment: Environment): unknown {
  const code = (error as { code?: string }).code;
  if (code === "28P01") {
    return new StartError(
      environment.databaseUrl
        ? "the database refuses the password in DATABASE_URL"
        : `the data in ${environment.dataDir} does not belong to its secrets.json: restore both from one backup`,
    );
  }
  if (code === "ECONNREFUSED" || code === "ENOTFOUND") {
    return new StartError(`cannot reach the database: ${(error as Error).message}`);
  }
  if (code === "42501") {
    return new StartError(
      `the database user may not do what a start needs (${(error as Error).message}): give it the right, or make the role tanklore_app yourself and set TANKLORE_APP_DATABASE_URL`,
    );
  }
  return error;
}
