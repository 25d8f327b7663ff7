import { readFile, stat } from "node:fs/promises";
import { dirname, join } from "node:path";
import { expect, test } from "vitest";

const IMPORT = /^(?:import|export)\s+(?!type\b)(?:[^;"]*?\sfrom\s+)?"(\.{1,2}\/[^"]+|@\/[^"]+)";/gm;

/** Files of ours that are loaded together with `file`: what its static imports reach. */
async function loadedWith(file: string, seen = new Set<string>()): Promise<ReadonlySet<string>> {
  if (seen.has(file)) return seen;
  seen.add(file);
  const text = await readFile(file, "utf8");
  for (const [, target = ""] of text.matchAll(IMPORT)) {
    const path = target.startsWith("@/") ? target.slice(2) : join(dirname(file), target);
    const found = await resolve(path);
    if (found) await loadedWith(found, seen);
    else seen.add(path);
  }
  return seen;
}

async function resolve(path: string): Promise<string | null> {
  for (const candidate of [`${path}.ts`, `${path}.tsx`, path]) {
    if (
      await stat(candidate).then(
        (it) => it.isFile(),
        () => false,
      )
    )
      return candidate;
  }
  return null;
}

// A clone has no database client: the start makes it, so nothing may ask for it before.
test.each(["start", "backup", "restore", "worker"])(
  "%s loads nothing that needs the generated database client",
  async (command) => {
    const loaded = [...(await loadedWith(`lib/launch/${command}.ts`))];
    expect(loaded).toContain("lib/config/environment.ts");
    expect(loaded.filter((file) => file.startsWith("lib/data/generated"))).toEqual([]);
  },
);
