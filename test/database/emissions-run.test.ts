import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { findEmissionsRun } from "@/lib/data/emissions-runs";
import { withSql } from "@/lib/data/tenant";
import { reproduceAccount, requestAccount } from "@/lib/services/emissions";
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

describe("an account of the demo portfolio", () => {
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
