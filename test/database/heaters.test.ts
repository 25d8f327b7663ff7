import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { EMPTY_HEATER_FORM, type HeaterFormText } from "@/lib/core/heaters/heater-form";
import { EMPTY_RETIREMENT_FORM } from "@/lib/core/heaters/retirement-form";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import type { Outcome } from "@/lib/core/shared/outcome";
import { readHeaterPage } from "@/lib/services/heater-page";
import {
  addHeater,
  editHeater,
  openHeater,
  reinstateHeater,
  retireHeater,
} from "@/lib/services/heaters";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const today = calendarDay("2026-06-30");
let database: TestDatabase;
let viewer: Viewer;
let stranger: Viewer;
let buildingId: string;
let strangeBuildingId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  viewer = await anOrganization(database, { role: "maintenance" });
  stranger = await anOrganization(database, { name: "Another" });
  buildingId = await aBuilding(viewer.organizationId);
  strangeBuildingId = await aBuilding(stranger.organizationId);
});

afterAll(() => database?.close());

async function aBuilding(organizationId: string): Promise<string> {
  const [propertyId, id] = [randomUUID(), randomUUID()];
  await database.owner.query(
    'INSERT INTO "Property" (id, "organizationId", name) VALUES ($1, $2, $3)',
    [propertyId, organizationId, "Invented Court"],
  );
  await database.owner.query(
    'INSERT INTO "Building" (id, "organizationId", "propertyId", name) VALUES ($1, $2, $3, $4)',
    [id, organizationId, propertyId, "Building 1"],
  );
  return id;
}

const form = (changes: Partial<HeaterFormText> = {}): HeaterFormText => ({
  ...EMPTY_HEATER_FORM,
  tag: `T-${randomUUID().slice(0, 8)}`,
  buildingId,
  unitLabel: "101",
  floor: "1",
  installFrom: "2014-05-02",
  installEvidence: "invoice",
  volumeGal: "40",
  setpointF: "120",
  ...changes,
});

function resultOf<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

const pathsOf = (outcome: Outcome<unknown>) =>
  outcome.ok ? [] : outcome.problems.map(({ path }) => path);

const add = async (changes: Partial<HeaterFormText> = {}) =>
  resultOf(await addHeater(viewer, form(changes), today));

const open = async (id: string) => {
  const opened = await openHeater(viewer, id, today);
  if (!opened) throw new Error("not found");
  return opened;
};

const auditOf = async (id: string) =>
  (
    await database.owner.query(
      'SELECT action, before, after, "userId" FROM "AuditEntry" WHERE "entityId" = $1 ORDER BY at',
      [id],
    )
  ).rows;

describe("adding a heater", () => {
  test("what was entered is what the form opens with", async () => {
    const entered = form();
    const id = resultOf(await addHeater(viewer, entered, today));
    const opened = await open(id);
    expect(opened.text).toEqual(entered);
    expect(opened.version).toBe(1);
  });

  test("it is on the log, has a risk, and is seen by the record from today", async () => {
    const id = await add();
    expect(await auditOf(id)).toMatchObject([{ action: "heater.add", userId: viewer.userId }]);
    const { rows } = await database.owner.query(
      `SELECT h."recordedFrom"::text AS seen, r."failureProbability" AS chance
       FROM "Heater" h JOIN "HeaterRisk" r ON r."heaterId" = h.id WHERE h.id = $1`,
      [id],
    );
    expect(rows[0].seen).toBe("2026-06-30");
    expect(rows[0].chance).toBeGreaterThan(0);
  });

  test("a tag is given once, in whatever case", async () => {
    await add({ tag: "Twin-1" });
    expect(pathsOf(await addHeater(viewer, form({ tag: "TWIN-1" }), today))).toEqual(["tag"]);
  });

  test("two people who give one tag at the same moment: one is told", async () => {
    const results = await Promise.all(
      Array.from({ length: 4 }, () => addHeater(viewer, form({ tag: "Race-1" }), today)),
    );
    expect(results.filter(({ ok }) => ok).length).toBe(1);
    expect(results.flatMap(pathsOf)).toEqual(["tag", "tag", "tag"]);
  });

  test("a building of another organisation is not on offer, even by its id", async () => {
    const result = await addHeater(viewer, form({ buildingId: strangeBuildingId }), today);
    expect(pathsOf(result)).toEqual(["buildingId"]);
  });

  test("nothing is written when something has to be put right", async () => {
    const count = () =>
      database.owner.query('SELECT count(*) FROM "Unit"').then(({ rows }) => rows[0].count);
    const before = await count();
    await addHeater(viewer, form({ unitLabel: "999", setpointF: "500" }), today);
    expect(await count()).toBe(before);
  });

  test("a role that may only look may not add", () => {
    expect(() => addHeater({ ...viewer, role: "viewer" }, form(), today)).toThrow(/not-allowed/);
  });
});

describe("changing a heater", () => {
  test("an edit is saved, raises the version, and the log holds only what changed", async () => {
    const id = await add();
    const opened = await open(id);
    const edited = { ...opened.text, setpointF: "130", serial: "S-1" };
    expect(resultOf(await editHeater(viewer, id, opened.version, edited, today))).toEqual({
      kind: "saved",
    });
    expect(await open(id)).toMatchObject({ version: 2, text: edited });
    const [, entry] = await auditOf(id);
    expect(entry).toMatchObject({
      action: "heater.edit",
      before: { tag: edited.tag, setpointF: "120", serial: null },
      after: { tag: edited.tag, setpointF: "130", serial: "S-1" },
    });
    expect(Object.keys(entry.after).sort()).toEqual(["serial", "setpointF", "tag"]);
  });

  test("a second editor gets the record as it now is, and nothing is overwritten", async () => {
    const id = await add();
    const [first, second] = [await open(id), await open(id)];
    await editHeater(viewer, id, first.version, { ...first.text, setpointF: "125" }, today);
    const result = await editHeater(
      viewer,
      id,
      second.version,
      { ...second.text, setpointF: "135" },
      today,
    );
    expect(resultOf(result)).toMatchObject({
      kind: "conflict",
      version: 2,
      theirs: { setpointF: "125" },
    });
    expect((await open(id)).text.setpointF).toBe("125");
  });

  test("of two edits at the same moment one is saved and the other meets it", async () => {
    const id = await add();
    const { version, text } = await open(id);
    const results = await Promise.all(
      ["121", "122", "123"].map((setpointF) =>
        editHeater(viewer, id, version, { ...text, setpointF }, today),
      ),
    );
    const kinds = results.map((result) => resultOf(result).kind);
    expect([...kinds].sort()).toEqual(["conflict", "conflict", "saved"]);
  });

  test("the facts of a home are changed with it; a heater that moves leaves the other home's alone", async () => {
    const first = await add({ unitLabel: "201", floor: "2", bedrooms: "1" });
    await add({ unitLabel: "301", floor: "3", bedrooms: "3" });
    const opened = await open(first);
    await editHeater(viewer, first, opened.version, { ...opened.text, bedrooms: "2" }, today);
    const changed = await open(first);
    expect(changed.text.bedrooms).toBe("2");
    await editHeater(viewer, first, changed.version, { ...changed.text, unitLabel: "301" }, today);
    expect((await open(first)).text).toMatchObject({ unitLabel: "301", floor: "3", bedrooms: "3" });
  });

  test("another organisation's heater cannot be opened, read, changed or retired", async () => {
    const id = await add();
    expect(await openHeater(stranger, id, today)).toBeNull();
    expect(await readHeaterPage(stranger, id, today)).toBeNull();
    await expect(editHeater(stranger, id, 1, form(), today)).rejects.toThrow(/not-found/);
    await expect(
      retireHeater(stranger, id, { version: 1, end: {}, successor: null }, today),
    ).rejects.toThrow(/not-found/);
  });

  test("an id that is none is not found", async () => {
    expect(await openHeater(viewer, "not-an-id", today)).toBeNull();
    await expect(reinstateHeater(viewer, "7", today)).rejects.toThrow(/not-found/);
  });
});

describe("retiring a heater", () => {
  const end = { ...EMPTY_RETIREMENT_FORM, cause: "leak", endFrom: "2026-06-20", emergency: "yes" };

  test("it stays on record with its cause and day, and loses its risk", async () => {
    const id = await add();
    resultOf(await retireHeater(viewer, id, { version: 1, end, successor: null }, today));
    const page = await readHeaterPage(viewer, id, today);
    expect(page).toMatchObject({
      status: "retired",
      risk: null,
      retirement: { cause: "leak", earliest: "2026-06-20", emergency: true },
    });
    const { rows } = await database.owner.query('SELECT FROM "HeaterRisk" WHERE "heaterId" = $1', [
      id,
    ]);
    expect(rows).toEqual([]);
    expect((await auditOf(id)).map(({ action }) => action)).toEqual([
      "heater.add",
      "heater.retire",
    ]);
  });

  test("its successor is added in the same step and points back; the survey goes over", async () => {
    const id = await add();
    await database.owner.query(
      `INSERT INTO "ReadinessAnswer" (id, "organizationId", "heaterId", item, answer, "observedOn")
       VALUES ($1, $2, $3, 'circuit-240v', 'yes', '2025-01-02')`,
      [randomUUID(), viewer.organizationId, id],
    );
    const successor = form({
      technology: "heat-pump-storage",
      fuel: "electricity",
      installFrom: "2026-06-21",
    });
    const { successorId } = resultOf(
      await retireHeater(viewer, id, { version: 1, end, successor }, today),
    );
    if (!successorId) throw new Error("no successor");
    const page = await readHeaterPage(viewer, successorId, today);
    expect(page?.chain.map((link) => [link.id, link.status])).toEqual([
      [id, "retired"],
      [successorId, "in-service"],
    ]);
    expect(page?.recordedFrom).toBe("2026-06-21");
    expect(page?.readiness.find(({ item }) => item === "circuit-240v")).toMatchObject({
      answer: "yes",
      observedOn: "2025-01-02",
    });
  });

  test("a successor that cannot be leaves everything as it was, with problems of both forms", async () => {
    const id = await add();
    const successor = form({ tag: "", installFrom: "2026-06-21" });
    const bad = { version: 1, end: { ...end, cause: "" }, successor };
    expect([...pathsOf(await retireHeater(viewer, id, bad, today))].sort()).toEqual([
      "cause",
      "successor-tag",
    ]);
    const early = { version: 1, end, successor: form({ installFrom: "2020-01-01" }) };
    expect(pathsOf(await retireHeater(viewer, id, early, today))).toEqual([
      "successor-installFrom",
    ]);
    expect((await open(id)).status).toBe("in-service");
  });

  test("a heater that somebody else has changed or retired meanwhile is not retired again", async () => {
    const id = await add();
    expect(
      pathsOf(await retireHeater(viewer, id, { version: 9, end, successor: null }, today)),
    ).toEqual(["form"]);
    const results = await Promise.all(
      [1, 2, 3].map(() => retireHeater(viewer, id, { version: 1, end, successor: null }, today)),
    );
    expect(results.filter(({ ok }) => ok).length).toBe(1);
  });

  test("a retirement can be taken back while nothing stands in its place", async () => {
    const id = await add();
    await retireHeater(viewer, id, { version: 1, end, successor: null }, today);
    await reinstateHeater(viewer, id, today);
    const page = await readHeaterPage(viewer, id, today);
    expect(page).toMatchObject({ status: "in-service", retirement: null });
    expect(page?.risk?.forecast.failureProbabilities[0]).toBeGreaterThan(0);
    expect((await auditOf(id)).at(-1)).toMatchObject({ action: "heater.reinstate" });
  });

  test("with a successor in its place it cannot", async () => {
    const id = await add();
    const successor = form({ installFrom: "2026-06-21" });
    await retireHeater(viewer, id, { version: 1, end, successor }, today);
    await expect(reinstateHeater(viewer, id, today)).rejects.toThrow(/Another heater stands/);
  });
});

describe("one heater's page", () => {
  test("its numbers agree with each other", async () => {
    const page = await readHeaterPage(viewer, await add(), today);
    if (!page?.risk || !page.year) throw new Error("nothing was computed");
    const { risk, year } = page;
    expect(risk.explanation.probability).toBeCloseTo(risk.forecast.failureProbabilities[0] ?? 0, 9);
    const now = risk.curve.find(({ givenToday }) => givenToday !== null);
    expect(now).toMatchObject({ day: today, givenToday: 1 });
    const ahead = risk.curve.flatMap(({ givenToday }) => givenToday ?? []);
    expect(ahead).toEqual([...ahead].sort((a, b) => b - a));
    // Survival given today is survival from new over survival until today.
    const last = risk.curve.at(-1);
    expect(last?.givenToday).toBeCloseTo((last?.fromNew ?? 0) / (now?.fromNew ?? 1), 3);
    expect(year.energy.costCentsPerYear).toBe(
      year.energy.monthly.costCents.reduce((sum, cents) => sum + cents, 0),
    );
    expect(page.readiness.every(({ answer }) => answer === "unknown")).toBe(true);
  });

  test("a record that no heater can be still has a page, and what was put aside is named", async () => {
    const id = await add();
    await database.owner.query(
      `UPDATE "Heater" SET "uniformEnergyFactor" = 5, "setpointF" = 999 WHERE id = $1`,
      [id],
    );
    const page = await readHeaterPage(viewer, id, today);
    const assumed = page?.year?.energy.assumed.join("; ");
    expect(assumed).toMatch(/energy factor.*5/);
    expect(assumed).toMatch(/setpoint.*999/);
  });
});
