import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { poissonCdf } from "@/lib/core/heaters/spares";
import { calendarDay, DAYS_PER_YEAR } from "@/lib/core/shared/calendar-day";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { forecastFailure } from "@/lib/core/survival/predict";
import { loadFleet } from "@/lib/data/fleet";
import { withSql } from "@/lib/data/tenant";
import { readSpares, saveSparesTerms } from "@/lib/services/spares";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-25");

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  stranger = await anOrganization(database, { name: "Another organisation" });
  manager = {
    ...stranger,
    role: "manager",
    organizationId: await writeDemo(database.ownerUrl, {
      seed: 7,
      today: TODAY,
      heaters: 150,
      people: false,
    }),
  };
});

afterAll(async () => {
  await database?.close();
});

const sum = (values: readonly number[]) => values.reduce((total, value) => total + value, 0);

describe("spares", () => {
  test("cover every heater once, with the failures that the risk model expects in the lead time", async () => {
    const { lines, unmet, heaters, draws } = await readSpares(manager, null, TODAY);
    expect(sum(lines.map(({ today }) => today.heaters)) + unmet).toBe(heaters);
    expect(draws).toBe(0);
    const fleet = await withSql(manager, (client) => loadFleet(client));
    const expected = sum(
      fleet.heaters.map(
        (heater) =>
          forecastFailure(PRIOR_MODEL, heater, {
            today: TODAY,
            horizonsYears: [21 / DAYS_PER_YEAR],
          }).failureProbabilities[0] ?? 0,
      ),
    );
    if (unmet === 0) expect(sum(lines.map(({ today }) => today.expected))).toBeCloseTo(expected, 9);
    for (const { today: need } of lines) {
      expect(poissonCdf(need.stock, need.expected)).toBeGreaterThanOrEqual(0.95);
      if (need.stock > 0) expect(poissonCdf(need.stock - 1, need.expected)).toBeLessThan(0.95);
    }
  });

  test("ask for more heat pumps once every place is made ready", async () => {
    const { lines } = await readSpares(manager, null, TODAY);
    const pump = lines.find(({ code }) => code === "hp240-50");
    expect(pump?.whenReady.heaters).toBeGreaterThan(pump?.today.heaters ?? 0);
    expect(pump?.whenReady.stock).toBeGreaterThanOrEqual(pump?.today.stock ?? 0);
  });

  test("grow with the lead time and the chance, once those are entered", async () => {
    const before = await readSpares(manager, null, TODAY);
    const saved = await saveSparesTerms(manager, {
      servicePercent: "99",
      generalLeadDays: "21",
      leadDays: { "gas-40": "90", "electric-50": "" },
      onHand: { "gas-40": "1", "unheard-of": "3" },
    });
    expect(saved).toEqual({ ok: true, value: null });
    const after = await readSpares(manager, null, TODAY);
    expect(after.terms).toMatchObject({
      isEntered: true,
      leadDays: { "gas-40": 90 },
      onHand: { "gas-40": 1 },
    });
    const gas = (view: typeof after) => view.lines.find(({ code }) => code === "gas-40");
    expect(gas(after)?.leadDays).toBe(90);
    expect(gas(after)?.today.expected).toBeGreaterThan(3 * (gas(before)?.today.expected ?? 0));
    expect(gas(after)?.today.stock).toBeGreaterThan(gas(before)?.today.stock ?? 0);
    expect(gas(after)?.onHand).toBe(1);
  });

  test.each([
    [{ servicePercent: "100", generalLeadDays: "21" }, "servicePercent"],
    [{ servicePercent: "95", generalLeadDays: "" }, "generalLeadDays"],
    [
      { servicePercent: "95", generalLeadDays: "21", leadDays: { "gas-40": "0" } },
      "leadDays.gas-40",
    ],
  ])("are refused with where and what (%#)", async (input, path) => {
    const refused = await saveSparesTerms(manager, input);
    expect(refused.ok ? [] : refused.problems.map((problem) => problem.path)).toContain(path);
  });

  test("are each organisation's own", async () => {
    expect(await readSpares(stranger, null, TODAY)).toMatchObject({ heaters: 0, unmet: 0 });
    await expect(async () => saveSparesTerms({ ...manager, role: "viewer" }, {})).rejects.toThrow(
      /not-allowed/,
    );
  });
});
