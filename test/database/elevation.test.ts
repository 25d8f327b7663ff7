import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { readElevation } from "@/lib/services/elevation";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-25");

let database: TestDatabase;
let viewer: Viewer;
let stranger: Viewer;
/** The building with most heaters that have floor and riser. */
let buildingId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  stranger = await anOrganization(database, { name: "Another organisation" });
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 5,
    today: TODAY,
    heaters: 120,
    people: false,
  });
  viewer = { ...stranger, role: "viewer", organizationId };
  const { rows } = await database.owner.query(
    `SELECT h."buildingId" FROM "Heater" h JOIN "Unit" u ON u.id = h."unitId"
     WHERE h.status = 'in-service' AND u.floor IS NOT NULL AND u.riser IS NOT NULL
     GROUP BY 1 ORDER BY count(*) DESC, 1 LIMIT 1`,
  );
  buildingId = rows[0].buildingId;
});

afterAll(() => database.close());

/** A finished plan that swaps one heater and upgrades the building's service in one period. */
async function addPlan(heaterId: string, period: string, finishedAt: string): Promise<void> {
  const scenarioId = randomUUID();
  const runId = randomUUID();
  await database.owner.query(
    `INSERT INTO "Scenario" (id, "organizationId", name, terms) VALUES ($1, $2, 'A plan', '{}')`,
    [scenarioId, viewer.organizationId],
  );
  await database.owner.query(
    `INSERT INTO "PlanRun" (id, "organizationId", "scenarioId", status, terms, "finishedAt")
     VALUES ($1, $2, $3, 'done', '{}', $4)`,
    [runId, viewer.organizationId, scenarioId, finishedAt],
  );
  await database.owner.query(
    `INSERT INTO "PlanItem" (id, "organizationId", "planRunId", "heaterId", "optionCode", period,
       "capitalCents", parts) VALUES ($1, $2, $3, $4, 'hp240-50', $5, 412300, '{}')`,
    [randomUUID(), viewer.organizationId, runId, heaterId, period],
  );
  await database.owner.query(
    `INSERT INTO "PlanUpgrade" (id, "organizationId", "planRunId", "buildingId", period, "costCents")
     VALUES ($1, $2, $3, $4, $5, 1850000)`,
    [randomUUID(), viewer.organizationId, runId, buildingId, period],
  );
}

describe("a building as it stands", () => {
  test("draws every heater in service once, at the floor and riser of its home", async () => {
    const { drawing, heaters } = await readElevation(viewer, buildingId, TODAY);
    const { rows } = await database.owner.query(
      `SELECT h.id, u.floor, u.riser FROM "Heater" h LEFT JOIN "Unit" u ON u.id = h."unitId"
       WHERE h."buildingId" = $1 AND h.status = 'in-service'`,
      [buildingId],
    );
    expect(heaters.map(({ heaterId }) => heaterId).sort()).toEqual(rows.map(({ id }) => id).sort());
    expect(drawing.kind).toBe("stacks");
    for (const { id, floor, riser } of rows) {
      if (floor === null || riser === null) continue;
      const line = drawing.rows.find((row) => row.floor === floor);
      const cell = line?.places[drawing.risers.indexOf(riser)] ?? [];
      expect(cell.map(({ heaterId }) => heaterId)).toContain(id);
    }
  });

  test("shows the swap and the upgrade of the plan that was finished last, and no other", async () => {
    const before = await readElevation(viewer, buildingId, TODAY);
    expect(before.periods).toEqual([]);
    const heaterId = before.heaters[0]?.heaterId ?? "";
    await addPlan(heaterId, "2028-Q2", "2026-11-20T12:00:00Z");
    await addPlan(heaterId, "2027-Q3", "2026-11-24T12:00:00Z");
    const { heaters, periods } = await readElevation(viewer, buildingId, TODAY);
    expect(heaters).toHaveLength(before.heaters.length);
    expect(periods).toEqual([
      { period: "2027-Q3", swaps: 1, swapCents: 412_300, upgradeCents: 1_850_000 },
    ]);
    const swapped = heaters.filter(({ swapPeriod }) => swapPeriod !== null);
    expect(swapped.map((heater) => [heater.heaterId, heater.swapPeriod])).toEqual([
      [heaterId, "2027-Q3"],
    ]);
    // This organisation's catalogue does not have the option: its code stands in.
    expect(swapped[0]?.swapOption).toBe("hp240-50");
  });

  test("shows the plan in force where there is one, though another was finished later", async () => {
    const change = (what: string) =>
      database.owner.query(
        `UPDATE "PlanRun" SET ${what} WHERE "organizationId" = $1 AND "finishedAt" = '2026-11-20T12:00:00Z'`,
        [viewer.organizationId],
      );
    const shown = async () =>
      (await readElevation(viewer, buildingId, TODAY)).periods.map(({ period }) => period);
    await change(
      `"approvedAt" = now(), "approvedBy" = 'somebody', "frozenInputs" = 'x', fingerprint = 'x'`,
    );
    expect(await shown()).toEqual(["2028-Q2"]);
    await change(`"withdrawnAt" = now()`);
    expect(await shown()).toEqual(["2027-Q3"]);
  });

  test("another organisation's building is not found", async () => {
    await expect(readElevation(stranger, buildingId, TODAY)).rejects.toMatchObject({
      code: "not-found",
    });
  });
});
