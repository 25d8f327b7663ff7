import { chmod, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { applyMigrations } from "@/lib/data/migrate";
import { ensureDatabase, prepareAppRole } from "@/lib/data/prepare";
import { startEmbeddedPostgres } from "@/lib/launch/embedded-postgres";

export const TEMPLATE_DATABASE = "template_tanklore";
export const TEST_APP_PASSWORD = "throw-away-app-password";

export type ThrowawayServer = {
  readonly urlOf: (database: string) => string;
  readonly stop: () => Promise<void>;
};

/** A real PostgreSQL of its own with one migrated, empty database to copy from. */
export async function startThrowawayServer(): Promise<ThrowawayServer> {
  const folder = await mkdtemp(join(tmpdir(), "tanklore-test-"));
  await chmod(folder, 0o755);
  const server = await startEmbeddedPostgres({
    directory: join(folder, "postgres"),
    password: "throw-away-owner-password",
    unsafeFast: true,
  });
  await ensureDatabase(server.urlOf("postgres"), TEMPLATE_DATABASE);
  await applyMigrations(server.urlOf(TEMPLATE_DATABASE), process.cwd());
  await prepareAppRole(server.urlOf(TEMPLATE_DATABASE), TEST_APP_PASSWORD);
  return {
    urlOf: server.urlOf,
    stop: async () => {
      await server.stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
