import { fileURLToPath } from "node:url";
import { defineConfig } from "vitest/config";

const root = fileURLToPath(new URL(".", import.meta.url));

/** The pure part runs without a database; the database part starts one throw-away server. */
export default defineConfig({
  resolve: {
    alias: { "@": root.replace(/\/$/, ""), "server-only": `${root}test/support/empty.ts` },
  },
  test: {
    projects: [
      {
        extends: true,
        test: {
          name: "core",
          include: ["test/{core,properties,reference}/**/*.test.ts"],
          setupFiles: ["test/support/fail-on-console-error.ts"],
          testTimeout: 60_000,
        },
      },
      {
        extends: true,
        test: {
          name: "database",
          include: ["test/database/**/*.test.ts"],
          globalSetup: ["test/support/database-server.ts"],
          setupFiles: ["test/support/fail-on-console-error.ts"],
          testTimeout: 120_000,
          hookTimeout: 120_000,
          fileParallelism: false,
        },
      },
      {
        extends: true,
        test: {
          name: "browser",
          include: ["test/browser/**/*.test.ts"],
          globalSetup: ["test/support/browser-program.ts"],
          testTimeout: 240_000,
          hookTimeout: 300_000,
          fileParallelism: false,
        },
      },
    ],
  },
});
