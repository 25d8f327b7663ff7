import { execFile } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { promisify } from "node:util";

const run = promisify(execFile);

/**
 * Writes the database client from the schema when the schema has changed since it was written.
 * The generator asks for an engine binary that it does not use for this; any executable serves.
 */
export async function generateClient(projectRoot: string): Promise<boolean> {
  const schema = await readFile(join(projectRoot, "prisma/schema.prisma"));
  const require = createRequire(import.meta.url);
  const { version } = require("prisma/package.json") as { version: string };
  const fingerprint = createHash("sha256").update(version).update(schema).digest("hex");
  const stamp = join(projectRoot, "lib/data/generated/fingerprint.txt");
  if ((await readFile(stamp, "utf8").catch(() => "")) === fingerprint) return false;

  const command = join(projectRoot, "node_modules/prisma/build/index.js");
  await run(process.execPath, [command, "generate", "--no-hints"], {
    cwd: projectRoot,
    env: {
      ...process.env,
      PRISMA_SCHEMA_ENGINE_BINARY: process.execPath,
      CHECKPOINT_DISABLE: "1",
      PRISMA_HIDE_UPDATE_MESSAGE: "1",
    },
  });
  await mkdir(join(projectRoot, "lib/data/generated"), { recursive: true });
  await writeFile(stamp, fingerprint);
  return true;
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) {
  await generateClient(process.cwd());
}
