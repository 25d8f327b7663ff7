import { spawn } from "node:child_process";
import { createHash } from "node:crypto";
import { readdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { StartError } from "./start-error";

const SOURCES = ["app", "lib", "public"];
const FILES = ["package-lock.json", "next.config.mjs", "tsconfig.json", "prisma/schema.prisma"];

/** Builds the pages when their sources have changed since the last build. */
export async function buildIfStale(
  projectRoot: string,
  say: (line: string) => void,
): Promise<boolean> {
  const fingerprint = await fingerprintSources(projectRoot);
  const stamp = join(projectRoot, ".next/sources.sha256");
  if ((await readFile(stamp, "utf8").catch(() => "")) === fingerprint) return false;

  say("building the pages (once after each change, about a minute) …");
  const output: string[] = [];
  const code = await new Promise<number | null>((resolve) => {
    const child = spawn(
      process.execPath,
      [join(projectRoot, "node_modules/next/dist/bin/next"), "build"],
      {
        cwd: projectRoot,
        env: { ...process.env, NODE_ENV: "production", NEXT_TELEMETRY_DISABLED: "1" },
        stdio: ["ignore", "pipe", "pipe"],
      },
    );
    for (const stream of [child.stdout, child.stderr]) {
      stream.on("data", (chunk: Buffer) => output.push(chunk.toString()));
    }
    child.once("exit", resolve);
  });
  if (code !== 0) throw new StartError(`the build failed:\n${output.join("")}`);
  await writeFile(stamp, fingerprint);
  return true;
}

async function fingerprintSources(projectRoot: string): Promise<string> {
  const hash = createHash("sha256");
  for (const folder of SOURCES) {
    const entries = await readdir(join(projectRoot, folder), {
      recursive: true,
      withFileTypes: true,
    }).catch(() => []);
    const paths = entries
      .filter((entry) => entry.isFile())
      .map((entry) => join(entry.parentPath, entry.name));
    for (const path of paths.sort()) hash.update(path).update(await readFile(path));
  }
  for (const file of FILES) hash.update(await readFile(join(projectRoot, file)).catch(() => ""));
  return hash.digest("hex");
}
