import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { listBuildings } from "@/lib/data/plans";
import { withSql } from "@/lib/data/tenant";
import { readBuildingHeadroom, readHeadrooms, saveHeadroom } from "@/lib/services/headroom";
import { formOfBuilding } from "@/lib/services/headroom-form";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;
let buildingId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  manager = await anOrganization(database, { role: "manager" });
  stranger = await anOrganization(database, { name: "Another organisation" });
  const propertyId = randomUUID();
  buildingId = randomUUID();
  await database.owner.query(
    `INSERT INTO "Property" (id, "organizationId", name) VALUES ($1, $2, 'An invented court')`,
    [propertyId, manager.organizationId],
  );
  await database.owner.query(
    `INSERT INTO "Building" (id, "organizationId", "propertyId", name, "headroomCircuits")
     VALUES ($1, $2, $3, 'Building 1', 7)`,
    [buildingId, manager.organizationId, propertyId],
  );
});

afterAll(async () => {
  await database?.close();
});

async function theForm() {
  const { building, electrical } = await readBuildingHeadroom(manager, buildingId);
  return formOfBuilding(building, electrical);
}

const planned = async () =>
  (await withSql(manager, listBuildings)).find(({ id }) => id === buildingId);

describe("a building's headroom", () => {
  test("without data keeps what plans use and says what the method lacks", async () => {
    const refused = await saveHeadroom(manager, buildingId, await theForm());
    expect(refused.ok ? "" : refused.problems[0]?.message).toMatch(/rating of the service/);
    expect((await planned())?.headroomCircuits).toBe(7);
  });

  test("by a measured peak is stored with how it was worked out, and is the plan's limit", async () => {
    const saved = await saveHeadroom(manager, buildingId, {
      ...(await theForm()),
      // Stands there from the record of the homes.
      homes: "11",
      serviceAmps: "400",
      serviceVolts: "240",
      measuredPeakKw: "40",
      isHidden: "no",
      upgradeDollars: "$25,000",
      upgradeAddsCircuits: "21",
    });

    // 1.25 · 40 kW at 240 V is 208.33 A; 191.67 A ÷ 18.75 A (NEC 220.87, as quoted; by hand).
    expect(saved).toEqual({ ok: true, value: { circuits: 10 } });
    expect(await planned()).toMatchObject({
      headroomCircuits: 10,
      upgradeCostCents: 2_500_000,
      upgradeAddsCircuits: 21,
      serviceKnown: true,
    });
    const { electrical, assessment } = await readBuildingHeadroom(manager, buildingId);
    expect(electrical).toMatchObject({ method: "measured", peak: { isHidden: "no" }, loads: null });
    expect(assessment.circuits).toBe(10);
    const { rows } = await database.owner.query(
      `SELECT before, after FROM "AuditEntry" WHERE action = 'building.edit' AND "entityId" = $1`,
      [buildingId],
    );
    expect(rows).toHaveLength(1);
    expect(rows[0].before).toMatchObject({ headroomCircuits: 7 });
    expect(rows[0].after).toMatchObject({ headroomCircuits: 10 });
  });

  test("saved as it was read changes nothing and writes nothing into the log", async () => {
    const before = await readBuildingHeadroom(manager, buildingId);
    await saveHeadroom(manager, buildingId, await theForm());
    expect(await readBuildingHeadroom(manager, buildingId)).toEqual(before);
    const { rows } = await database.owner.query(
      `SELECT count(*)::int AS n FROM "AuditEntry" WHERE action = 'building.edit' AND "entityId" = $1`,
      [buildingId],
    );
    expect(rows[0].n).toBe(1);
  });

  test("by a calculated load asks for every load, and an electrician's word needs name and day", async () => {
    const calculated = await saveHeadroom(manager, buildingId, {
      ...(await theForm()),
      method: "calculated",
      homes: "12",
    });
    expect(calculated.ok ? [] : calculated.problems.map(({ path }) => path)).toEqual([
      "floorAreaSqFt",
      "applianceCircuits",
      "appliancesVa",
      "climateVa",
      "houseVa",
    ]);
    const stated = await saveHeadroom(manager, buildingId, {
      ...(await theForm()),
      method: "stated",
      statedCircuits: "3",
    });
    expect(stated.ok ? [] : stated.problems.map(({ path }) => path)).toEqual([
      "statedBy",
      "statedOn",
    ]);
  });

  test("is nobody else's to see, and not everybody's to change", async () => {
    await expect(readBuildingHeadroom(stranger, buildingId)).rejects.toThrow(/not-found/);
    expect((await readHeadrooms(stranger, null)).buildings).toEqual([]);
    const form = await theForm();
    await expect(async () =>
      saveHeadroom({ ...manager, role: "maintenance" }, buildingId, form),
    ).rejects.toThrow(/not-allowed/);
    await expect(saveHeadroom(stranger, buildingId, form)).rejects.toThrow(/not-found/);
  });
});
