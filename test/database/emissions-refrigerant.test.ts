import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { requestAccount } from "@/lib/services/emissions";
import {
  addRefrigerantEntry,
  readRefrigerantLog,
  removeRefrigerantEntry,
} from "@/lib/services/emissions-refrigerant";
import { executeEmissionsRun } from "@/lib/services/emissions-run";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-20");
/** GWP of R-134a by AR5, as quoted from the EPA Emission Factors Hub 2025. */
const GWP_R134A_AR5 = 1300;

let database: TestDatabase;
let viewer: Viewer;
let stranger: Viewer;
let heaterId: string;
let propertyId: string;
let burnerTag: string;

const TAG = "HP-TAKEN-OUT";
const FORM = {
  tag: TAG,
  day: "2024-01-10",
  kind: "charge",
  refrigerant: "R-134a",
  kilograms: "0.9",
  pounds: "",
  ounces: "",
  note: "",
};

beforeAll(async () => {
  database = await openTestDatabase();
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 3,
    today: TODAY,
    heaters: 80,
    people: false,
    emissions: false,
  });
  stranger = await anOrganization(database, {
    name: "Another organisation",
    role: "sustainability",
  });
  viewer = { ...(await anOrganization(database, { role: "sustainability" })), organizationId };
  const { rows } = await database.owner.query(
    `SELECT h.id, b."propertyId" FROM "Heater" h JOIN "Retirement" r ON r."heaterId" = h.id
     JOIN "Building" b ON b.id = h."buildingId" ORDER BY r.latest DESC LIMIT 1`,
  );
  heaterId = rows[0].id;
  propertyId = rows[0].propertyId;
  await database.owner.query(
    `UPDATE "Heater" SET tag = $2, technology = 'heat-pump-storage', fuel = 'electricity'
     WHERE id = $1`,
    [heaterId, TAG],
  );
  await database.owner.query(
    `UPDATE "Retirement" SET earliest = '2025-07-01', latest = '2025-07-01' WHERE "heaterId" = $1`,
    [heaterId],
  );
  const burner = await database.owner.query(
    `SELECT tag FROM "Heater" WHERE status = 'in-service' AND fuel = 'natural-gas' LIMIT 1`,
  );
  burnerTag = burner.rows[0].tag;
});

afterAll(() => database.close());

async function enter(changes: Partial<typeof FORM> = {}): Promise<readonly string[]> {
  const outcome = await addRefrigerantEntry(viewer, { ...FORM, ...changes }, TODAY);
  return outcome.ok ? [] : outcome.problems.map(({ path }) => path);
}

async function takeBack(kind: string): Promise<boolean> {
  const { entries } = await readRefrigerantLog(viewer);
  const entry = entries.find((each) => each.kind === kind);
  return (await removeRefrigerantEntry(viewer, entry?.id ?? "")).ok;
}

/** Scope 1 of the property in 2025 and the kilograms of refrigerant that the heater lost in it. */
async function accountOf2025() {
  const asked = await requestAccount(viewer, { year: 2025, plan: null }, TODAY);
  if (!asked.ok) throw new Error("not asked");
  const { runId } = asked.value;
  await executeEmissionsRun(
    { organizationId: viewer.organizationId, runId },
    { signal: new AbortController().signal },
  );
  const run = await database.owner.query(`SELECT summary FROM "EmissionsRun" WHERE id = $1`, [
    runId,
  ]);
  const year = await database.owner.query(
    `SELECT "scope1Kg" FROM "EmissionsRunYear"
     WHERE "runId" = $1 AND "propertyId" = $2 AND year = 2025 AND series = 'achieved'`,
    [runId, propertyId],
  );
  const lost = await database.owner.query(
    `SELECT amount, basis, scope, unit FROM "EmissionsRunRow"
     WHERE "runId" = $1 AND "heaterId" = $2 AND activity = 'R-134a' ORDER BY amount DESC`,
    [runId, heaterId],
  );
  return {
    gwpSet: run.rows[0].summary.gwpSet,
    scope1Kg: year.rows[0].scope1Kg as number,
    lost: lost.rows,
  };
}

describe("the refrigerant log", () => {
  test("refuses what cannot be weighed against a charge", async () => {
    expect(await enter({ kind: "recovery" })).toEqual(["kind"]);
    expect(await enter({ tag: "nobody’s" })).toEqual(["tag"]);
    expect(await enter({ tag: burnerTag })).toEqual(["tag"]);
    expect(await enter({ day: "2026-11-21" })).toEqual(["day"]);
    expect(await enter({ kilograms: "" })).toEqual(["kilograms"]);
    expect(await enter({ pounds: "1" })).toEqual(["kilograms"]);
    expect((await readRefrigerantLog(viewer)).entries).toEqual([]);
  });

  test("carries charge less recovery into scope 1 at the GWP of the named set", async () => {
    expect(await enter()).toEqual([]);
    expect(await enter({ kind: "recovery", day: "2025-07-01", kilograms: "1" })).toEqual([
      "kilograms",
    ]);
    expect(
      await enter({ kind: "top-up", day: "2025-06-01", refrigerant: "R-410A", kilograms: "0.1" }),
    ).toEqual(["refrigerant"]);

    expect(await enter({ kind: "top-up", day: "2025-06-01", kilograms: "0.1" })).toEqual([]);
    expect(await enter({ kind: "recovery", day: "2025-07-01", kilograms: "0.6" })).toEqual([]);
    const most = await accountOf2025();
    expect(most.gwpSet).toBe("AR5");
    // By hand: 0.9 kg charged less 0.6 kg recovered is 0.3 kg; 0.1 kg was topped up.
    expect(most.lost.map(({ amount }) => Number(amount.toFixed(9)))).toEqual([0.3, 0.1]);
    for (const row of most.lost) expect(row).toMatchObject({ basis: "metered", scope: 1 });

    // All 0.9 kg recovered: 0.3 kg × 1300 = 390 kg CO2e less.
    expect(await enter({ kind: "recovery", day: "2025-07-01", kilograms: "0.3" })).toEqual([]);
    const none = await accountOf2025();
    expect(none.lost.map(({ amount }) => Number(amount.toFixed(9)))).toEqual([0.1]);
    expect(most.scope1Kg - none.scope1Kg).toBeCloseTo(0.3 * GWP_R134A_AR5, 6);
  });

  test("keeps the charge while something is weighed against it, and takes back the rest", async () => {
    expect(await takeBack("charge")).toBe(false);
    for (const kind of ["recovery", "recovery", "top-up", "charge"]) {
      expect(await takeBack(kind)).toBe(true);
    }
    expect((await readRefrigerantLog(viewer)).entries).toEqual([]);
    const { rows } = await database.owner.query(
      `SELECT action, count(*)::int AS times FROM "AuditEntry"
       WHERE entity = 'RefrigerantEvent' GROUP BY 1 ORDER BY 1`,
    );
    expect(rows).toEqual([
      { action: "refrigerant.record", times: 4 },
      { action: "refrigerant.takeBack", times: 4 },
    ]);
  });

  test("takes pounds and ounces at 0.45359237 kg to the pound (NIST SP 811)", async () => {
    expect(await enter({ kilograms: "", pounds: "1", ounces: "8" })).toEqual([]);
    const [entry] = (await readRefrigerantLog(viewer)).entries;
    expect(entry?.kg).toBeCloseTo(0.680388555, 9);
  });

  test("is shut to another organisation and to who may only read", async () => {
    const [entry] = (await readRefrigerantLog(viewer)).entries;
    expect((await readRefrigerantLog(stranger)).entries).toEqual([]);
    expect((await removeRefrigerantEntry(stranger, entry?.id ?? "")).ok).toBe(false);
    expect((await addRefrigerantEntry(stranger, FORM, TODAY)).ok).toBe(false);
    const reader: Viewer = { ...viewer, role: "viewer" };
    await expect(async () => addRefrigerantEntry(reader, FORM, TODAY)).rejects.toThrow();
  });
});
