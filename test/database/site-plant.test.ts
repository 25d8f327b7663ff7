import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { listPlants } from "@/lib/data/sites";
import { withSql } from "@/lib/data/tenant";
import { readPlant, savePlant } from "@/lib/services/sites-plant";
import { formOfPlant } from "@/lib/services/sites-plant-form";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let manager: Viewer;
let lead: Viewer;
let stranger: Viewer;
let buildingId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  manager = await anOrganization(database, { role: "manager" });
  lead = { ...manager, role: "maintenance" };
  stranger = await anOrganization(database, { name: "Another organisation" });
  const { organizationId } = manager;
  const propertyId = randomUUID();
  buildingId = randomUUID();
  const { owner } = database;
  await owner.query(
    `INSERT INTO "Property" (id, "organizationId", name) VALUES ($1, $2, 'An invented court')`,
    [propertyId, organizationId],
  );
  await owner.query(
    `INSERT INTO "Building" (id, "organizationId", "propertyId", name, "serviceAmps", "serviceVolts", "measuredPeakKw")
     VALUES ($1, $2, $3, 'Building 1', 400, 240, 40)`,
    [buildingId, organizationId, propertyId],
  );
  // Three homes of two people, one whose people nobody has counted: three by its two bedrooms.
  for (const [index, occupants] of [2, 2, 2, null].entries()) {
    const unitId = randomUUID();
    await owner.query(
      `INSERT INTO "Unit" (id, "organizationId", "buildingId", label, riser, bedrooms, occupants)
       VALUES ($1, $2, $3, $4, $5, 2, $6)`,
      [unitId, organizationId, buildingId, `10${index}`, index < 3 ? "A" : null, occupants],
    );
    await owner.query(
      `INSERT INTO "Heater" (id, "organizationId", "buildingId", "unitId", tag, technology, fuel,
         "installEarliest", "installLatest", "installEvidence", place, "updatedAt")
       VALUES ($1, $2, $3, $4, $5, 'gas-storage', 'natural-gas', '2014-01-01', '2014-01-01', 'invoice', 'interior-closet', now())`,
      [randomUUID(), organizationId, buildingId, unitId, `W-${index}`],
    );
  }
});

afterAll(async () => {
  await database?.close();
});

describe("the central plant of a building", () => {
  test("starts from the people and homes on record, and says what is assumed", async () => {
    const { plant, assumed, isStored, risers, prices, spareVoltAmperes } = await readPlant(
      lead,
      buildingId,
    );
    expect(isStored).toBe(false);
    expect(plant).toMatchObject({ homes: 4, people: 9, scope: "none", storageGal: null });
    expect(assumed.join(" ")).toMatch(/people of 1 home are not on record/);
    expect(risers).toEqual([
      { riser: "A", heaters: 3, homes: 3 },
      { riser: null, heaters: 1, homes: 1 },
    ]);
    expect(prices).toMatchObject([{ code: "hp-central", heaters: 4, homes: 4 }]);
    // 400 A − 1.25 · 40 kW / 240 V = 191.67 A, at 240 V 46 kVA (by hand).
    expect(spareVoltAmperes).toBeCloseTo(46_000, 6);
  });

  test("is kept with its scope, once in the log, and read by the plans", async () => {
    const form = formOfPlant((await readPlant(manager, buildingId)).plant);
    const typed = { ...form, people: "12", storageGal: "150", scope: "riser" };
    expect(await savePlant(manager, buildingId, typed)).toEqual({ ok: true, value: null });
    expect(await savePlant(manager, buildingId, typed)).toEqual({ ok: true, value: null });

    const { plant, isStored, assumed } = await readPlant(manager, buildingId);
    expect(plant).toMatchObject({ people: 12, storageGal: 150, scope: "riser" });
    expect({ isStored, assumed }).toEqual({ isStored: true, assumed: [] });
    expect((await withSql(manager, listPlants)).get(buildingId)).toEqual(plant);
    const { rows } = await database.owner.query(
      `SELECT after FROM "AuditEntry" WHERE action = 'building.plant' AND "entityId" = $1`,
      [buildingId],
    );
    expect(rows).toHaveLength(1);
    expect(rows[0].after).toMatchObject({ name: "Building 1", people: 12, scope: "riser" });
  });

  test("is refused with a field's own reason, and stays as it was", async () => {
    const form = formOfPlant((await readPlant(manager, buildingId)).plant);
    const refused = await savePlant(manager, buildingId, { ...form, runHours: "30", people: "" });
    expect(refused.ok ? [] : refused.problems.map(({ path }) => path).sort()).toEqual([
      "people",
      "runHours",
    ]);
    expect((await readPlant(manager, buildingId)).plant.people).toBe(12);
  });

  test("is changed by nobody without the right, and seen by no other organisation", async () => {
    expect(() => savePlant(lead, buildingId, {})).toThrow(/role/i);
    await expect(readPlant(stranger, buildingId)).rejects.toMatchObject({ code: "not-found" });
    expect((await withSql(stranger, listPlants)).size).toBe(0);
  });
});
