import { afterAll, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { ROLES, type Role } from "@/lib/core/shared/roles";
import { parseWith } from "@/lib/core/shared/validation";
import { DEFAULT_CONSEQUENCES } from "@/lib/core/survival/consequence";
import { runRiskPass } from "@/lib/services/risk-scoring";
import {
  CONSEQUENCE_FIELDS,
  consequenceEntrySchema,
  readOwnConsequences,
  resolveConsequences,
  toEntry,
} from "@/lib/services/settings-consequences";
import { readCosts, resetCost, saveCost } from "@/lib/services/settings-costs";
import { readLog } from "@/lib/services/settings-log";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const today = calendarDay("2026-07-01");
let database: TestDatabase;
let viewer: Viewer;
let other: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  other = await anOrganization(database, { name: "Other" });
});

beforeEach(async () => {
  viewer = await anOrganization(database, { role: "manager" });
});

afterAll(() => database.close());

async function inForce(who: Viewer, key: string) {
  const { lines } = await readCosts(who);
  return lines.find((line) => line.key === key)?.inForce;
}

describe("the organisation's own costs", () => {
  test("every assumption of the model is shown once, and stands as shipped until it is entered", async () => {
    const { lines } = await readCosts(viewer);
    expect(lines.map(({ key }) => key).sort()).toEqual(Object.keys(DEFAULT_CONSEQUENCES).sort());
    for (const line of lines) expect(line.inForce).toEqual(DEFAULT_CONSEQUENCES[line.key]);
  });

  test("an entry stands with its source, and going back restores the shipped value", async () => {
    const input = { key: "plannedSwapCents", entry: "$1,900.50", source: "invoice 12" };
    expect(await saveCost(viewer, input, today)).toEqual({ ok: true, value: null });
    expect(await inForce(viewer, "plannedSwapCents")).toEqual({
      value: 190_050,
      unit: "cents",
      source: "invoice 12",
      evidence: "entered",
    });
    expect(await inForce(other, "plannedSwapCents")).toEqual(DEFAULT_CONSEQUENCES.plannedSwapCents);
    expect((await resetCost(viewer, "plannedSwapCents", today)).ok).toBe(true);
    expect(await inForce(viewer, "plannedSwapCents")).toEqual(
      DEFAULT_CONSEQUENCES.plannedSwapCents,
    );
  });

  test("both changes are in the log with what was before", async () => {
    await saveCost(viewer, { key: "leakShare", entry: "70" }, today);
    await resetCost(viewer, "leakShare", today);
    const { changes } = await readLog(viewer, { entity: null, page: 1 });
    expect(changes.map(({ action }) => action)).toEqual(["costs.reset", "costs.enter"]);
    expect(changes[1].fields).toContainEqual({
      field: "leakShare.value",
      before: null,
      after: "0.7",
    });
    expect(changes[0].fields).toContainEqual({
      field: "leakShare.value",
      before: "0.7",
      after: null,
    });
    expect(changes[0].personName).toBe("Test manager");
    expect((await readLog(other, { entity: null, page: 1 })).changes).toEqual([]);
  });

  test("values that contradict one another are refused, and nothing is changed", async () => {
    const input = { key: "plannedSwapCents", entry: "2600" };
    const outcome = await saveCost(viewer, input, today);
    expect(outcome).toMatchObject({ ok: false, problems: [{ path: "entry" }] });
    expect(await inForce(viewer, "plannedSwapCents")).toEqual(
      DEFAULT_CONSEQUENCES.plannedSwapCents,
    );
    expect((await readLog(viewer, { entity: null, page: 1 })).changes).toEqual([]);
  });

  test("entries by two people at once are both kept", async () => {
    await Promise.all([
      saveCost(viewer, { key: "leakShare", entry: "50" }, today),
      saveCost(viewer, { key: "daysWithoutHotWater", entry: "3" }, today),
      saveCost(viewer, { key: "remainsWithPan", entry: "40" }, today),
    ]);
    const own = (await readCosts(viewer)).lines.filter(
      (line) => line.inForce.evidence === "entered",
    );
    expect(own.map(({ key }) => key).sort()).toEqual([
      "daysWithoutHotWater",
      "leakShare",
      "remainsWithPan",
    ]);
  });

  test("other sections of the organisation's numbers are left alone", async () => {
    await database.owner.query(
      `UPDATE "Organization" SET settings = '{"prices": {"gas": 1}}' WHERE id = $1`,
      [viewer.organizationId],
    );
    await saveCost(viewer, { key: "leakShare", entry: "50" }, today);
    const { rows } = await database.owner.query(
      'SELECT settings FROM "Organization" WHERE id = $1',
      [viewer.organizationId],
    );
    expect(rows[0].settings.prices).toEqual({ gas: 1 });
  });

  test("a pass over the fleet is asked for, and expected losses follow the entry", async () => {
    const organizationId = await writeDemo(database.ownerUrl, {
      seed: 1,
      today,
      heaters: 60,
      people: false,
    });
    const demo = { ...viewer, organizationId };
    const lossOf = async () => {
      const { rows } = await database.owner.query(
        'SELECT sum("expectedLossCents")::float AS loss FROM "HeaterRisk" WHERE "organizationId" = $1',
        [organizationId],
      );
      return rows[0].loss as number;
    };
    await runRiskPass(demo, { today });
    const before = await lossOf();
    await saveCost(demo, { key: "emergencySwapCents", entry: "9000" }, today);
    const { rows } = await database.owner.query(
      `SELECT count(*)::int AS jobs FROM pgboss.job WHERE name = 'risk' AND data ->> 'organizationId' = $1`,
      [organizationId],
    );
    expect(rows[0].jobs).toBe(1);
    await runRiskPass(demo, { today });
    expect(await lossOf()).toBeGreaterThan(before);
  });

  test.each(ROLES)(
    "%s may change them only with the right to edit settings",
    async (role: Role) => {
      const person = { ...viewer, role };
      const attempt = () => saveCost(person, { key: "leakShare", entry: "50" }, today);
      if (["owner", "manager", "sustainability"].includes(role)) {
        expect((await attempt()).ok).toBe(true);
      } else {
        await expect(attempt()).rejects.toMatchObject({ code: "not-allowed" });
        expect((await readCosts(person)).mayEdit).toBe(false);
      }
    },
  );
});

describe("what is typed", () => {
  const read = (entry: string, key = "leakShare") =>
    parseWith(consequenceEntrySchema, { key, entry });

  test.each([
    ["69", 0.69],
    [" 12.5 % ", 0.125],
    ["0", 0],
    ["100", 1],
  ])("reads %j of a share as %d", (entry, value) => {
    expect(read(entry)).toMatchObject({ ok: true, value: { value } });
  });

  test.each(["", "abc", "-1", "100.1", "1e999", "--3"])("refuses %j with its place", (entry) => {
    const outcome = read(entry);
    expect(outcome.ok).toBe(false);
    if (!outcome.ok) expect(outcome.problems[0].path).toBe("entry");
  });

  test("refuses an assumption that does not exist", () => {
    expect(read("1", "luckCents").ok).toBe(false);
  });

  test("what is shown for editing reads back as the same value", () => {
    for (const { key, kind } of CONSEQUENCE_FIELDS) {
      const { value } = DEFAULT_CONSEQUENCES[key];
      expect(read(String(toEntry(kind, value)), key)).toMatchObject({ ok: true, value: { value } });
    }
  });
});

describe("what is stored", () => {
  test("a damaged entry counts as not entered", () => {
    const own = readOwnConsequences({
      leakShare: { value: "much", source: "" },
      remainsWithPan: { value: -1, source: "" },
      daysWithoutHotWater: { value: 4, source: "" },
      unheardOf: { value: 1, source: "" },
    });
    expect(own).toEqual({ daysWithoutHotWater: { value: 4, source: "" } });
    expect(resolveConsequences(own).leakShare).toEqual(DEFAULT_CONSEQUENCES.leakShare);
  });

  test.each([null, [], "x", 3])("%j where entries should be is no entry", (stored) => {
    expect(readOwnConsequences(stored)).toEqual({});
  });
});
