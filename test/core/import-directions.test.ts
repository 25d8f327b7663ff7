import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";

/** Each plants one import where the map of DEVELOPERS.md does not allow it. */
const FORBIDDEN: readonly (readonly [file: string, line: string])[] = [
  ["lib/core/shared/planted.ts", 'import "@/lib/core/survival/model";'],
  ["lib/core/survival/planted.ts", 'import "@/lib/core/planning/problem";'],
  ["lib/core/energy/planted.ts", 'import "@/lib/core/emissions/factors";'],
  ["lib/core/planning/planted.ts", 'import "highs";'],
  ["lib/core/planning/planted.ts", 'import "node:fs";'],
  ["lib/core/heaters/planted.ts", 'import "react";'],
  ["lib/core/heaters/planted.ts", 'import "../shared/money";'],
  ["lib/core/new-folder/planted.ts", 'import "@/lib/core/shared/money";'],
  ["lib/services/planted.ts", 'import "pg";'],
  ["lib/services/planted.ts", 'import "@/lib/jobs/worker";'],
  ["lib/jobs/planted.ts", 'import "@/lib/data/pool";'],
  ["lib/data/planted.ts", 'import "@/lib/services/viewer";'],
  ["app/planted.ts", 'import "@/lib/data/pool";'],
  ["app/planted.ts", 'import "@prisma/client";'],
  ["lib/new-folder/planted.ts", 'import "@/lib/core/shared/money";'],
];

const ALLOWED: readonly (readonly [file: string, line: string])[] = [
  ["lib/core/planning/planted.ts", 'import "@/lib/core/survival/model";'],
  ["lib/core/planning/solvers/planted.ts", 'import "highs";'],
  ["lib/core/emissions/planted.ts", 'import "@/lib/core/energy/annual-energy";'],
  ["lib/services/planted.ts", 'import "@/lib/data/pool";'],
  ["lib/jobs/planted.ts", 'import "@/lib/services/viewer";'],
  ["app/planted.ts", 'import "@/lib/services/viewer";'],
];

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "tanklore-directions-"));
  const settings = JSON.parse(readFileSync("biome.json", "utf8"));
  writeFileSync(
    join(folder, "biome.json"),
    JSON.stringify({ ...settings, $schema: undefined, vcs: undefined }),
  );
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

function check(
  file: string,
  line: string,
): { readonly code: number | null; readonly said: string } {
  const path = join(folder, file);
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, `${line}\n`);
  const biome = join(process.cwd(), "node_modules/@biomejs/biome/bin/biome");
  const result = spawnSync(process.execPath, [biome, "lint", file], {
    cwd: folder,
    encoding: "utf8",
  });
  rmSync(path);
  return { code: result.status, said: result.stdout + result.stderr };
}

describe("import directions", () => {
  test.each(FORBIDDEN)("%s may not contain %s", (file, line) => {
    const { code, said } = check(file, line);
    expect(code).not.toBe(0);
    expect(said).toMatch(/noRestrictedImports|noNodejsModules/);
  });

  test.each(ALLOWED)("%s may contain %s", (file, line) => {
    expect(check(file, line)).toMatchObject({ code: 0 });
  });
});
