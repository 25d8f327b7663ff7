import { execFileSync, spawnSync } from "node:child_process";
import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { trueMeterFactor } from "@/demo-seed/meters";
import { writeDemo } from "@/demo-seed/write";
import type { AccountSummary, AchievedDetail } from "@/lib/core/emissions/account-summary";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { CHANGE_CAUSES } from "@/lib/core/emissions/property-account";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { findEmissionsRun, listEmissionsRuns, listRunYears } from "@/lib/data/emissions-runs";
import { readEmissionsTerms } from "@/lib/data/emissions-terms";
import { withSql } from "@/lib/data/tenant";
import { reproduceAccount } from "@/lib/services/emissions";
import { accountWorkbook } from "@/lib/services/emissions-export";
import { accountForDemo, executeEmissionsRun } from "@/lib/services/emissions-run";
import type { Viewer } from "@/lib/services/viewer";
import { writeWorkbook } from "@/lib/services/workbook/write-workbook";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-20");
const HEATERS = 260;

let database: TestDatabase;
let viewer: Viewer;
let runId: string;
let summary: AccountSummary;

/** Does the worker's part for every run that waits, the oldest first. */
async function work(): Promise<void> {
  const { organizationId } = viewer;
  for (;;) {
    const runs = await withSql(viewer, (client) => listEmissionsRuns(client));
    const waiting = runs.findLast(({ status }) => status === "queued");
    if (!waiting) return;
    await executeEmissionsRun(
      { organizationId, runId: waiting.id, opensAccounts: waiting.year === waiting.baseYear },
      { signal: new AbortController().signal },
    );
  }
}

beforeAll(async () => {
  database = await openTestDatabase();
  const terms = { seed: 1, today: TODAY, heaters: HEATERS, people: false };
  const organizationId = await writeDemo(database.ownerUrl, terms);
  viewer = { ...(await anOrganization(database)), organizationId };
  await accountForDemo(viewer, TODAY);
  await work();
  await withSql(viewer, async (client) => {
    const [last] = await listEmissionsRuns(client);
    runId = last?.id ?? "";
    summary = (await findEmissionsRun(client, runId))?.summary as AccountSummary;
  });
}, 60_000);

afterAll(() => database.close());

describe("the demo's account", () => {
  test("is last year's, against a base year whose figure was adopted from a kept account", async () => {
    const runs = await withSql(viewer, (client) => listEmissionsRuns(client));
    expect(runs.map(({ year, status }) => [year, status])).toEqual([
      [2025, "done"],
      [2022, "done"],
    ]);
    const { terms } = await withSql(viewer, readEmissionsTerms);
    expect(terms.adopted?.fingerprint).toBe(runs[1]?.fingerprint);
    expect(summary.base.adoptedKg).toBe(terms.adopted?.kgCo2e);
    // The record has not changed in between: the base year comes out as it was adopted.
    expect(summary.base.computedKg).toBeCloseTo(summary.base.adoptedKg ?? 0, 6);
    expect((await reproduceAccount(viewer, runId))?.reproduces).toBe(true);
  });

  test("finds the stated factor of every meter, to within three halves of its 90 % band", async () => {
    const years = await withSql(viewer, (client) =>
      listRunYears(client, runId, { year: 2025, series: "achieved" }),
    );
    const ids = years.map(({ propertyId }) => propertyId).sort();
    let metered = 0;
    for (const { propertyId, detail } of years) {
      const { calibration, meteredShare } = detail as AchievedDetail;
      const stated = trueMeterFactor(ids.indexOf(propertyId));
      expect(calibration === null).toBe(stated === null);
      if (!calibration?.band90 || stated === null) continue;
      metered += 1;
      expect(meteredShare).toBeGreaterThan(0.99);
      const half = (calibration.band90[1] - calibration.band90[0]) / 2;
      expect(half).toBeLessThan(0.02);
      expect(Math.abs(calibration.factor - stated)).toBeLessThan(1.5 * half);
    }
    expect(metered).toBe(3);
  });

  test("tells swaps, grid, care and occupancy apart, and they add up to the change", () => {
    const [base, ...later] = summary.achieved;
    for (const year of later) {
      const sum = CHANGE_CAUSES.reduce((total, cause) => total + year.change[cause], 0);
      const change = locationTotal(year.kgCo2e) - locationTotal(base?.kgCo2e ?? year.kgCo2e);
      expect(Math.abs(sum - change)).toBeLessThan(0.001);
    }
    const { change } = summary.achieved.find(({ year }) => year === 2025) as (typeof later)[number];
    expect(change.swaps).toBeLessThan(-100);
    // California's grid of 2023 is 14 % below that of 2022 (eGRID, as quoted).
    expect(change.grid).toBeLessThan(-100);
    expect(change.care).not.toBe(0);
    expect(change.occupancy).toBeLessThan(-100);
  });

  test("has a target line from the adopted figure, and a path that follows the grid's outlook", () => {
    const target = new Map(summary.target.map(({ year, kgCo2e }) => [year, kgCo2e]));
    const adopted = summary.base.adoptedKg ?? 0;
    expect(target.get(2022)).toBeCloseTo(adopted, 6);
    expect(target.get(2030)).toBeCloseTo(0.7 * adopted, 6);
    const electric = (year: number) =>
      summary.path.find((each) => each.year === year)?.planned.scope2Location ?? 0;
    expect(electric(2036) / electric(2026)).toBeCloseTo(0.7, 6);
  });

  test("differs by market: the green tariff counts, certificates that nobody retired do not", () => {
    const { kgCo2e, allocation } = summary;
    expect(kgCo2e.scope2Market).toBeLessThan(0.9 * kgCo2e.scope2Location);
    expect(allocation?.used.map(({ instrument }) => instrument.kind)).toEqual(["supplier-rate"]);
    expect(allocation?.refused.map(({ reasons }) => reasons)).toEqual([
      ["is not tracked and retired for the reporter"],
    ]);
  });

  test("finds the limit broken from the year in which it tightens", () => {
    const years = summary.policies.map(({ year, kind }) => [year, kind]);
    expect(years[0]).toEqual([2030, "over-limit"]);
    expect(years).toHaveLength(2036 - 2030 + 1);
  });
});

/** Makes a spreadsheet program compute every formula of a workbook when it opens it. */
const RECALCULATE = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item></oor:items>`;

/** Separator, quote, UTF-8, from line 1, …, numbers in full, every sheet into a file of its own. */
const EVERY_SHEET_AS_CSV =
  "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1";

/** Cells by sheet as LibreOffice computes them from the formulas. */
async function computeSheets(
  workbook: Buffer,
): Promise<ReadonlyMap<string, readonly (readonly string[])[]>> {
  const folder = await mkdtemp(join(tmpdir(), "workbook-"));
  try {
    await mkdir(join(folder, "profile/user"), { recursive: true });
    await writeFile(join(folder, "profile/user/registrymodifications.xcu"), RECALCULATE);
    await writeFile(join(folder, "w.xlsx"), workbook);
    execFileSync(
      "soffice",
      [
        `-env:UserInstallation=${pathToFileURL(join(folder, "profile"))}`,
        "--headless",
        "--convert-to",
        EVERY_SHEET_AS_CSV,
        "--outdir",
        join(folder, "out"),
        join(folder, "w.xlsx"),
      ],
      { stdio: "ignore", timeout: 90_000 },
    );
    const sheets = new Map<string, readonly (readonly string[])[]>();
    for (const name of await readdir(join(folder, "out"))) {
      const text = await readFile(join(folder, "out", name), "utf8");
      sheets.set(name.slice("w-".length, -".csv".length), text.split("\n").map(cellsOf));
    }
    return sheets;
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

function cellsOf(line: string): readonly string[] {
  return [...line.matchAll(/(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/g)].map(
    ([, quoted, plain]) => quoted ?? plain ?? "",
  );
}

const hasSoffice = spawnSync("soffice", ["--version"]).status === 0;

describe("the auditor's workbook in another program", () => {
  test.skipIf(!hasSoffice)(
    "computes the account's totals from its own rows and factors (needs LibreOffice: soffice)",
    async () => {
      const made = await accountWorkbook(viewer, runId);
      const sheets = await computeSheets(made?.file ?? Buffer.alloc(0));
      expect([...sheets.keys()].sort()).toEqual(
        ["Account", "Assumptions", "Factors", "Lines", "Rates", "Rows", "Years"].sort(),
      );
      const account = new Map(sheets.get("Account")?.map(([label, value]) => [label, value]));
      const { kgCo2e } = summary;
      for (const [label, kg] of [
        ["Scope 1", kgCo2e.scope1],
        ["Scope 2, location-based", kgCo2e.scope2Location],
        ["Scope 2, market-based", kgCo2e.scope2Market],
        ["Scope 3, category 13: residents’ meters", kgCo2e.scope3],
        ["Together, location-based", locationTotal(kgCo2e)],
      ] as const) {
        expect(kg).toBeGreaterThan(0);
        expect(Math.abs(Number(account.get(label)) - kg), label).toBeLessThan(0.001);
      }
      expect(sheets.get("Rows")?.filter(([row]) => Number(row) > 0)).toHaveLength(summary.entries);
      const baseYear = sheets.get("Years")?.find(([year]) => year === "2022");
      expect(baseYear?.slice(5)).toEqual(["0", "0", "0", "0", "0", "0"]);
      expect(Number(baseYear?.[1])).toBeCloseTo(summary.achieved[0]?.kgCo2e.scope1 ?? 0, 5);
    },
    120_000,
  );

  test.skipIf(!hasSoffice)(
    "is computed by it, not read from what we wrote (needs LibreOffice: soffice)",
    async () => {
      const workbook = await writeWorkbook([
        { name: "A", widths: [], headingRows: 0, rows: [[{ formula: "1+1", result: 999 }]] },
      ]);
      expect((await computeSheets(workbook)).get("A")?.[0]).toEqual(["2"]);
    },
    120_000,
  );
});
