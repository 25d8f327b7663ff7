import { inflateRawSync } from "node:zlib";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { findEmissionsRun } from "@/lib/data/emissions-runs";
import { withSql } from "@/lib/data/tenant";
import {
  cancelAccount,
  readEmissions,
  reproduceAccount,
  requestAccount,
} from "@/lib/services/emissions";
import { accountCsv, accountWorkbook } from "@/lib/services/emissions-export";
import { executeEmissionsRun } from "@/lib/services/emissions-run";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-20");

let database: TestDatabase;
let viewer: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 3,
    today: TODAY,
    heaters: 150,
    people: false,
  });
  viewer = { ...(await anOrganization(database)), organizationId };
});

afterAll(() => database.close());

/** Asks for an account and computes it as the worker does. */
async function computeAccount(year: number): Promise<string> {
  const asked = await requestAccount(viewer, { year, plan: null }, TODAY);
  if (!asked.ok) throw new Error(asked.problems[0]?.message);
  const { runId } = asked.value;
  await executeEmissionsRun(
    { organizationId: viewer.organizationId, runId },
    { signal: new AbortController().signal },
  );
  return runId;
}

async function summaryOf(runId: string): Promise<AccountSummary> {
  const run = await withSql(viewer, (client) => findEmissionsRun(client, runId));
  expect(run?.message).toBeNull();
  return run?.summary as AccountSummary;
}

/** Texts of the parts of a ZIP archive by name, from its own directory. */
function unzip(file: Buffer): ReadonlyMap<string, string> {
  const parts = new Map<string, string>();
  const end = file.lastIndexOf(Buffer.from("504b0506", "hex"));
  let at = file.readUInt32LE(end + 16);
  for (let count = file.readUInt16LE(end + 10); count > 0; count--) {
    const size = file.readUInt32LE(at + 20);
    const nameLength = file.readUInt16LE(at + 28);
    const offset = file.readUInt32LE(at + 42);
    const name = file.toString("utf8", at + 46, at + 46 + nameLength);
    const from = offset + 30 + file.readUInt16LE(offset + 26) + file.readUInt16LE(offset + 28);
    parts.set(name, inflateRawSync(file.subarray(from, from + size)).toString("utf8"));
    at += 46 + nameLength;
  }
  return parts;
}

describe("an account of the demo portfolio", () => {
  test("is exported as rows whose texts no program runs, and as a workbook that reads back", async () => {
    const runId = await computeAccount(2025);
    const summary = await summaryOf(runId);
    await database.owner.query(
      `UPDATE "EmissionsRunRow" SET tag = '=HYPERLINK("http://x.example")' WHERE "runId" = $1 AND "rowNumber" = 1`,
      [runId],
    );
    const lines = await accountCsv(viewer, runId);
    let csv = "";
    for await (const line of lines ?? []) csv += line;
    expect(csv.trimEnd().split("\r\n")).toHaveLength(summary.entries + 1);
    expect(csv).toContain("'=HYPERLINK");

    const made = await accountWorkbook(viewer, runId);
    const parts = unzip(made?.file ?? Buffer.alloc(0));
    const rows = parts.get("xl/worksheets/sheet2.xml") ?? "";
    expect(rows).toContain('<t xml:space="preserve">=HYPERLINK');
    expect(rows).not.toContain("<f>=HYPERLINK");
    // What the formulas show before they are computed adds up to the account, to the gram.
    const shown = [...rows.matchAll(/<c r="S\d+"><f>[^<]*<\/f><v>([^<]*)<\/v>/g)];
    expect(shown).toHaveLength(summary.entries);
    const total = shown.reduce((sum, match) => sum + Number(match[1]), 0);
    expect(Math.abs(total - locationTotal(summary.kgCo2e))).toBeLessThan(0.0005);
    // And the formulas compute what they show: amount times the rate that they point at.
    const rates = [
      ...(parts.get("xl/worksheets/sheet3.xml") ?? "").matchAll(
        /<c r="C(\d+)"><f>[^<]*<\/f><v>([^<]*)<\/v>/g,
      ),
    ];
    const rateOf = new Map(rates.map((match) => [match[1], Number(match[2])]));
    const row =
      /<c r="L2"><v>([^<]*)<\/v>.*?<f>Rates!\$C\$(\d+)<\/f>.*?<c r="S2"><f>L2\*R2<\/f><v>([^<]*)<\/v>/.exec(
        rows,
      );
    expect(Number(row?.[1]) * (rateOf.get(row?.[2] ?? "") ?? 0)).toBeCloseTo(Number(row?.[3]), 6);
  });

  test("does not reproduce once a row has been touched", async () => {
    const runId = await computeAccount(2025);
    await database.owner.query(
      'UPDATE "EmissionsRunRow" SET amount = amount * 1.001 WHERE "runId" = $1 AND "rowNumber" = 2',
      [runId],
    );
    expect((await reproduceAccount(viewer, runId))?.reproduces).toBe(false);
  });

  test("is the same account with the same fingerprint when nothing has changed", async () => {
    const [one, other] = [await computeAccount(2024), await computeAccount(2024)];
    const { runs } = await readEmissions(viewer, { runId: null, propertyId: null }, TODAY);
    const of = (id: string) => runs.find((run) => run.id === id)?.fingerprint;
    expect(of(one)).toMatch(/^[0-9a-f]{64}$/);
    expect(of(one)).toBe(of(other));
  });

  test("is not there for another organisation, and not to be asked for by a mere viewer", async () => {
    const runId = await computeAccount(2025);
    const stranger = await anOrganization(database, { name: "Another organisation" });
    expect(await reproduceAccount(stranger, runId)).toBeNull();
    expect(await accountWorkbook(stranger, runId)).toBeNull();
    expect(await accountCsv(stranger, runId)).toBeNull();
    const { account } = await readEmissions(stranger, { runId, propertyId: null }, TODAY);
    expect(account).toBeNull();
    const asked = () =>
      requestAccount({ ...viewer, role: "viewer" }, { year: 2025, plan: null }, TODAY);
    expect(asked).toThrow(/not-allowed/);
  });

  test("is left alone when it was cancelled before the worker came", async () => {
    const asked = await requestAccount(viewer, { year: 2025, plan: null }, TODAY);
    if (!asked.ok) throw new Error("not asked");
    const { runId } = asked.value;
    expect((await cancelAccount(viewer, runId)).ok).toBe(true);
    await executeEmissionsRun(
      { organizationId: viewer.organizationId, runId },
      { signal: new AbortController().signal },
    );
    const run = await withSql(viewer, (client) => findEmissionsRun(client, runId));
    expect(run).toMatchObject({ status: "cancelled", summary: null });
    expect((await cancelAccount(viewer, runId)).ok).toBe(false);
  });

  test("of a year that has not begun is refused", async () => {
    const asked = await requestAccount(viewer, { year: 2027, plan: null }, TODAY);
    expect(asked).toMatchObject({ ok: false, problems: [{ path: "year" }] });
  });

  test("is kept with its rows, adds up and reproduces from what is kept", async () => {
    const runId = await computeAccount(2025);
    const summary = await summaryOf(runId);
    expect(summary.heaters).toBeGreaterThan(140);
    expect(locationTotal(summary.kgCo2e)).toBeGreaterThan(50_000);
    const rows = await database.owner.query(
      'SELECT count(*)::int AS count, sum("kgCo2e") AS kg FROM "EmissionsRunRow" WHERE "runId" = $1',
      [runId],
    );
    expect(rows.rows[0].count).toBe(summary.entries);
    expect(Math.abs(rows.rows[0].kg - locationTotal(summary.kgCo2e))).toBeLessThan(0.0005);
    const years = await database.owner.query(
      `SELECT sum("scope1Kg" + "scope2LocationKg" + "scope3Kg") AS kg FROM "EmissionsRunYear"
       WHERE "runId" = $1 AND series = 'achieved' AND year = 2025`,
      [runId],
    );
    expect(Math.abs(years.rows[0].kg - locationTotal(summary.kgCo2e))).toBeLessThan(0.0005);
    expect(await reproduceAccount(viewer, runId)).toMatchObject({
      reproduces: true,
      entries: summary.entries,
    });
  });
});
