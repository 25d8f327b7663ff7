import { existsSync } from "node:fs";
import { join } from "node:path";
import { type Environment, EnvironmentError, readEnvironment } from "@/lib/config/environment";
import { ArchiveError } from "@/lib/data/archive-format";
import { findRunningPostgres, startEmbeddedPostgres } from "./embedded-postgres";
import { loadSecrets } from "./secrets";
import { StartError } from "./start-error";

export type ReachedDatabase = {
  /** The record's database, as its owner. */
  readonly ownerUrl: string;
  readonly database: string;
  /** Another database of the same server. */
  readonly adminUrl: string;
  readonly stop: () => Promise<void>;
};

/** The name of the embedded server's database. */
export const EMBEDDED_DATABASE = "tanklore";

/**
 * The database for a command beside the program: the one of DATABASE_URL, the embedded server of a
 * program that runs, or that server started for the command alone.
 * @param options.mayMake whether a data directory may be made where there is none yet.
 */
export async function reachDatabase(
  environment: Environment,
  { mayMake }: { readonly mayMake: boolean },
): Promise<ReachedDatabase> {
  if (environment.databaseUrl) {
    const admin = new URL(environment.databaseUrl);
    const database = decodeURIComponent(admin.pathname.slice(1));
    admin.pathname = "/postgres";
    return {
      ownerUrl: environment.databaseUrl,
      database,
      adminUrl: admin.toString(),
      stop: async () => undefined,
    };
  }
  const directory = join(environment.dataDir, "postgres");
  if (!mayMake && !existsSync(directory)) {
    throw new StartError(`there is no record in ${environment.dataDir}: set TANKLORE_DATA_DIR`);
  }
  const { databasePassword: password } = await loadSecrets(environment.dataDir);
  const server =
    (await findRunningPostgres({ directory, password })) ??
    (await startEmbeddedPostgres({ directory, password }));
  return {
    ownerUrl: server.urlOf(EMBEDDED_DATABASE),
    database: EMBEDDED_DATABASE,
    adminUrl: server.urlOf("postgres"),
    stop: server.stop,
  };
}

/** Runs a command: what a person can put right becomes one line and exit code 1. */
export async function runCommand(work: (environment: Environment) => Promise<void>): Promise<void> {
  try {
    await work(readEnvironment());
  } catch (error) {
    const isPlain = [StartError, EnvironmentError, ArchiveError].some((it) => error instanceof it);
    console.error(isPlain ? (error as Error).message : error);
    process.exitCode = 1;
  }
}
