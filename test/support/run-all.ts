import { spawn } from "node:child_process";
import { readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { generateClient } from "@/lib/launch/generate";

/** `npm test`: style and import directions, types, every test, one closing line. */
type Tally = { passed: number; failed: number; skipped: number };

const BIN = (name: string) => join("node_modules", ...name.split("/"));

async function main(): Promise<number> {
  const tally: Tally = { passed: 0, failed: 0, skipped: 0 };
  await generateClient(process.cwd());
  await check(tally, "style and import directions", BIN("@biomejs/biome/bin/biome"), [
    "check",
    "--error-on-warnings",
    ".",
  ]);
  await check(tally, "route types", BIN("next/dist/bin/next"), ["typegen"]);
  await check(tally, "types", BIN("typescript/bin/tsc"), ["--noEmit"]);

  const report = join(tmpdir(), `tanklore-tests-${process.pid}.json`);
  const code = await run(BIN("vitest/vitest.mjs"), [
    "run",
    "--reporter=default",
    "--reporter=json",
    `--outputFile.json=${report}`,
    ...process.argv.slice(2),
  ]);
  const result = await readFile(report, "utf8").catch(() => null);
  await rm(report, { force: true });
  if (result === null) tally.failed += 1;
  else {
    const counts = JSON.parse(result) as {
      numPassedTests: number;
      numFailedTests: number;
      numPendingTests: number;
    };
    tally.passed += counts.numPassedTests;
    tally.failed += counts.numFailedTests;
    tally.skipped += counts.numPendingTests;
    // A file that cannot be loaded, or an error outside every test, fails the run without a failed test.
    if (code !== 0 && counts.numFailedTests === 0) tally.failed += 1;
  }
  console.log(`${tally.passed} passed, ${tally.failed} failed, ${tally.skipped} skipped`);
  return tally.failed === 0 ? 0 : 1;
}

async function check(
  tally: Tally,
  title: string,
  script: string,
  flags: readonly string[],
): Promise<void> {
  const code = await run(script, flags);
  console.log(`${code === 0 ? "ok" : "FAILED"}: ${title}`);
  if (code === 0) tally.passed += 1;
  else tally.failed += 1;
}

function run(script: string, flags: readonly string[]): Promise<number> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [script, ...flags], {
      stdio: ["ignore", "inherit", "inherit"],
      env: { ...process.env, NEXT_TELEMETRY_DISABLED: "1" },
    });
    child.once("exit", (code) => resolve(code ?? 1));
  });
}

process.exitCode = await main();
