import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { readLog } from "@/lib/services/settings-log";
import { saveOrganization } from "@/lib/services/settings-organization";
import {
  addWaterTest,
  readBuilding,
  readProperties,
  readProperty,
  removeWaterTest,
  saveBuilding,
  saveProperty,
} from "@/lib/services/settings-properties";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const today = calendarDay("2026-07-01");
let database: TestDatabase;
let viewer: Viewer;
let other: Viewer;
let propertyId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  other = await anOrganization(database, { name: "Other" });
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 3,
    today,
    heaters: 120,
    people: false,
  });
  viewer = { ...other, organizationId, role: "sustainability" };
  propertyId = (await readProperties(viewer))[0].id;
});

afterAll(() => database.close());

const form = (changes = {}) => ({
  name: "Quarry Lane",
  street: "1 Quarry Lane",
  city: "",
  region: "",
  postalCode: "",
  annualMeanAirF: "51.5",
  airAmplitudeF: "20",
  coldestMonth: "1",
  waterSource: "",
  demandLevel: "high",
  gasDollarsPerTherm: "1.83",
  electricityCentsPerKwh: "21.4",
  gasStandingDollarsPerMonth: "12.40",
  gridRegion: "US",
  ...changes,
});

describe("a property", () => {
  test("is changed with its units kept apart: dollars a therm, cents a kWh; empty is not known", async () => {
    expect(await saveProperty(viewer, propertyId, form())).toEqual({ ok: true, value: null });
    const { property } = await readProperty(viewer, propertyId);
    expect(property).toMatchObject({
      name: "Quarry Lane",
      city: null,
      annualMeanAirF: 51.5,
      demandLevel: "high",
      gasCentsPerTherm: 183,
      electricityCentsPerKwh: 21.4,
      gasStandingCentsPerMonth: 1240,
    });
  });

  test("a change is logged with the fields that differ, and no change is not", async () => {
    const total = async () => (await readLog(viewer, { entity: "Property", page: 1 })).total;
    const before = await total();
    await saveProperty(viewer, propertyId, form());
    expect(await total()).toBe(before);
    await saveProperty(viewer, propertyId, form({ annualMeanAirF: "49" }));
    const { changes } = await readLog(viewer, { entity: "Property", page: 1 });
    expect(changes[0]).toMatchObject({
      subject: "Quarry Lane",
      fields: [{ field: "annualMeanAirF", before: "51.5", after: "49" }],
    });
  });

  test.each([
    [{ name: " " }, "name"],
    [{ annualMeanAirF: "" }, "annualMeanAirF"],
    [{ annualMeanAirF: "300" }, "annualMeanAirF"],
    [{ coldestMonth: "13" }, "coldestMonth"],
    [{ coldestMonth: "1.5" }, "coldestMonth"],
    [{ demandLevel: "enormous" }, "demandLevel"],
    [{ gasDollarsPerTherm: "-1" }, "gasDollarsPerTherm"],
    [{ electricityCentsPerKwh: "much" }, "electricityCentsPerKwh"],
    [{ gridRegion: "MOON" }, "gridRegion"],
  ])("refuses %j and says where", async (changes, path) => {
    const outcome = await saveProperty(viewer, propertyId, form(changes));
    expect(outcome).toMatchObject({ ok: false, problems: [{ path }] });
  });

  test("says every field in error at once", async () => {
    const outcome = await saveProperty(viewer, propertyId, form({ name: "", coldestMonth: "0" }));
    expect(outcome.ok ? [] : outcome.problems.map(({ path }) => path)).toEqual([
      "name",
      "coldestMonth",
    ]);
  });

  test("cannot take the name of another", async () => {
    const [, second] = await readProperties(viewer);
    const taken = (await readProperties(viewer)).find(({ id }) => id !== second.id);
    const outcome = await saveProperty(viewer, second.id, form({ name: taken?.name }));
    expect(outcome).toMatchObject({ ok: false, problems: [{ path: "name" }] });
  });

  test("is not found by another organisation, by an id that does not exist, or by no id", async () => {
    const refusal = { code: "not-found" };
    await expect(readProperty(other, propertyId)).rejects.toMatchObject(refusal);
    await expect(saveProperty(other, propertyId, form())).rejects.toMatchObject(refusal);
    await expect(readProperty(viewer, randomUUID())).rejects.toMatchObject(refusal);
    await expect(readProperty(viewer, "nonsense")).rejects.toMatchObject(refusal);
  });

  test("is changed by nobody without the right to edit settings", async () => {
    for (const role of ["maintenance", "viewer"] as const) {
      await expect(saveProperty({ ...viewer, role }, propertyId, form())).rejects.toMatchObject({
        code: "not-allowed",
      });
    }
  });
});

describe("a building", () => {
  const service = (changes = {}) => ({
    name: "Building 1",
    builtYear: "1988",
    floors: "3",
    serviceAmps: "400",
    serviceVolts: "208",
    measuredPeakKw: "",
    headroomCircuits: "6",
    upgradeDollars: "28,500",
    upgradeAddsCircuits: "12",
    ...changes,
  });

  test("keeps what is known and leaves the rest unknown", async () => {
    const [building] = (await readProperty(viewer, propertyId)).buildings;
    expect((await saveBuilding(viewer, building.id, service())).ok).toBe(true);
    expect((await readBuilding(viewer, building.id)).building).toMatchObject({
      serviceAmps: 400,
      measuredPeakKw: null,
      upgradeCostCents: 2_850_000,
      upgradeAddsCircuits: 12,
    });
    await expect(readBuilding(other, building.id)).rejects.toMatchObject({ code: "not-found" });
  });

  test.each([
    [{ upgradeDollars: "" }, "upgradeDollars"],
    [{ upgradeAddsCircuits: "" }, "upgradeAddsCircuits"],
    [{ serviceVolts: "" }, "serviceVolts"],
    [{ headroomCircuits: "-1" }, "headroomCircuits"],
    [{ floors: "2.5" }, "floors"],
  ])("refuses %j and says where", async (changes, path) => {
    const [building] = (await readProperty(viewer, propertyId)).buildings;
    const outcome = await saveBuilding(viewer, building.id, service(changes));
    expect(outcome).toMatchObject({ ok: false, problems: [{ path }] });
  });
});

describe("a water test", () => {
  const sample = (changes = {}) => ({
    sampledOn: today,
    hardness: "10",
    hardnessUnit: "grains",
    softened: "no",
    ...changes,
  });

  // 1 grain per US gallon is 17.118 mg/L: 64.79891 mg in 3.785411784 L, both exact.
  test("in grains per gallon is kept in mg/L, holds at once and asks for new scores", async () => {
    await database.owner.query("DELETE FROM pgboss.job WHERE name = 'risk'");
    expect((await addWaterTest(viewer, propertyId, sample(), today)).ok).toBe(true);
    const { waterTests } = await readProperty(viewer, propertyId);
    expect(waterTests[0]).toMatchObject({ sampledOn: today, hardnessMgPerLitre: 171.2 });
    const { rows } = await database.owner.query(
      `SELECT count(*)::int AS jobs FROM pgboss.job WHERE name = 'risk' AND data ->> 'organizationId' = $1`,
      [viewer.organizationId],
    );
    expect(rows[0].jobs).toBe(1);
  });

  test("in mg/L is kept as it is", async () => {
    await addWaterTest(viewer, propertyId, sample({ hardness: "205", hardnessUnit: "mg" }), today);
    const { waterTests } = await readProperty(viewer, propertyId);
    expect(waterTests.map(({ hardnessMgPerLitre }) => hardnessMgPerLitre)).toContain(205);
  });

  test.each([
    [{ sampledOn: addDays(today, 1) }, "sampledOn"],
    [{ sampledOn: "2026-02-30" }, "sampledOn"],
    [{ hardness: "400" }, "hardness"],
    [{ hardness: "", softened: "unknown" }, "hardness"],
    [{ ph: "20" }, "ph"],
  ])("refuses %j and says where", async (changes, path) => {
    const outcome = await addWaterTest(viewer, propertyId, sample(changes), today);
    expect(outcome).toMatchObject({ ok: false, problems: [{ path }] });
  });

  test("is taken off the record once, and the log keeps what it said", async () => {
    const { waterTests } = await readProperty(viewer, propertyId);
    const [latest] = waterTests;
    expect((await removeWaterTest(viewer, propertyId, latest.id, today)).ok).toBe(true);
    expect((await removeWaterTest(viewer, propertyId, latest.id, today)).ok).toBe(false);
    const { changes } = await readLog(viewer, { entity: "WaterTest", page: 1 });
    expect(changes[0]).toMatchObject({ action: "water-test.remove", entityId: latest.id });
    expect(changes[0].fields).toContainEqual({
      field: "sampledOn",
      before: latest.sampledOn,
      after: null,
    });
  });

  test("is neither added nor removed in another organisation", async () => {
    const { waterTests } = await readProperty(viewer, propertyId);
    await expect(addWaterTest(other, propertyId, sample(), today)).rejects.toMatchObject({
      code: "not-found",
    });
    await expect(removeWaterTest(other, propertyId, waterTests[0].id, today)).rejects.toMatchObject(
      { code: "not-found" },
    );
  });
});

describe("the organisation", () => {
  test("takes a new name and units, with the old ones in the log", async () => {
    expect((await saveOrganization(other, { name: "Renamed", unitSystem: "si" })).ok).toBe(true);
    const { changes } = await readLog(other, { entity: "Organization", page: 1 });
    expect(changes[0].fields).toEqual([
      { field: "name", before: "Other", after: "Renamed" },
      { field: "unitSystem", before: "us", after: "si" },
    ]);
  });

  test.each([
    { name: "", unitSystem: "us" },
    { name: "X", unitSystem: "cgs" },
  ])("refuses %j", async (input) => {
    expect((await saveOrganization(other, input)).ok).toBe(false);
  });
});
