import { readdir } from "node:fs/promises";
import { tmpdir } from "node:os";
import { afterAll, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { DEFAULT_IMPORT_OPTIONS } from "@/lib/core/exchange/import-batch";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { askForWork, listNotes } from "@/lib/data/imports";
import { withSql } from "@/lib/data/tenant";
import { runImportJob } from "@/lib/jobs/import-job";
import {
  checkBatch,
  commitBatch,
  discardImport,
  readBatch,
  receiveFile,
  resumeWork,
  undoImport,
} from "@/lib/services/bring-in";
import { readImportPage, readRefusedCsv } from "@/lib/services/bring-in-pages";
import { executeImportWork } from "@/lib/services/bring-in-run";
import type { Viewer } from "@/lib/services/viewer";
import { bringIn, csvOf, FileOfHeaters, inPieces } from "@/test/support/bring-in";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";
import { writeXlsx } from "@/test/support/write-xlsx";

const TODAY = calendarDay("2026-11-25");

let database: TestDatabase;
let manager: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
});

/** Every test has an organisation of its own. */
beforeEach(async () => {
  manager = await anOrganization(database, { role: "manager" });
});

afterAll(async () => {
  await database?.close();
});

const GAS_TANK = {
  Property: "Alder Court",
  Building: "A",
  Type: "Gas tank",
  Volume: 40,
  "Install date": "2014-03-05",
};

const upload = (rows: Parameters<typeof csvOf>[0]) =>
  FileOfHeaters.upload(manager, csvOf(rows), TODAY);
const bring = (rows: Parameters<typeof csvOf>[0]) => bringIn(manager, csvOf(rows), TODAY);

/** Rows of the organisation's own, past row-level security. */
async function rowsOf(
  table: string,
  columns = "*",
  order = "1",
): Promise<Record<string, unknown>[]> {
  const { rows } = await database.owner.query(
    `SELECT ${columns} FROM "${table}" WHERE "organizationId" = $1 ORDER BY ${order}`,
    [manager.organizationId],
  );
  return rows;
}

const heaterOf = async (tag: string) =>
  (
    await rowsOf("Heater", '*, "installEarliest"::text AS "from", "installLatest"::text AS "to"')
  ).find((row) => row.tag === tag);

async function refusals(batchId: string): Promise<string[]> {
  const notes = await withSql(manager, (client) =>
    listNotes(client, batchId, "refuse", { limit: 100, offset: 0 }),
  );
  return notes.flatMap(({ problems }) => (problems ?? []).map(({ message }) => message));
}

async function changes(batchId: string): Promise<unknown[]> {
  const notes = await withSql(manager, (client) =>
    listNotes(client, batchId, "change", { limit: 100, offset: 0 }),
  );
  return notes.map(({ tag, changes }) => [
    tag,
    ...(changes ?? []).map(({ field, before, after }) => [field, before, after]),
  ]);
}

describe("a file that comes in", () => {
  test("is kept with its rows and guesses, and writes nothing of the record", async () => {
    const file = await upload([
      { Tag: "T-1", ...GAS_TANK, Unit: "101" },
      { Tag: "T-2", ...GAS_TANK, Unit: "102" },
    ]);

    expect(await file.read()).toMatchObject({
      status: "staged",
      fileName: "heaters.csv",
      rowCount: 2,
      work: null,
      file: { format: "csv", headerRowNumber: 1 },
    });
    expect(await rowsOf("Heater")).toEqual([]);
    expect(await rowsOf("Property")).toEqual([]);
  });

  test("is checked row by row without writing anything of the record", async () => {
    const file = await upload([
      { Tag: "T-1", ...GAS_TANK, Unit: "101" },
      { Tag: "T-2", ...GAS_TANK, Unit: "102", "Install date": "2035-02-01" },
    ]);

    const batch = await file.check();

    expect(batch).toMatchObject({
      addedCount: 1,
      changedCount: 0,
      unchangedCount: 0,
      refusedCount: 1,
    });
    expect(batch.summary).toMatchObject({
      newProperties: { count: 1, names: ["Alder Court"] },
      newBuildings: { count: 1, names: ["Alder Court, A"] },
      newHomes: { count: 1, names: ["Alder Court, A, 101"] },
      assumptions: { "evidence-none-named": 1 },
    });
    expect(await refusals(file.batchId)).toEqual([
      "row 3: install date 2035-02-01 is in the future",
    ]);
    expect(await rowsOf("Heater")).toEqual([]);
  });

  test("becomes heaters, homes, buildings, properties, water, history and a line of the log", async () => {
    const file = await bring([
      {
        Tag: "T-1",
        ...GAS_TANK,
        Unit: "101",
        Floor: 1,
        Riser: "R1",
        Bedrooms: 2,
        Baths: 1.5,
        Input: "40,000",
        UEF: 0.58,
        Setpoint: 120,
        "Drain pan": "yes",
        "Water hardness (gpg)": 10,
        "Last flush": "2026-01-10",
        "Last anode replacement": "2026-01-10",
        Notes: "Behind the door",
      },
      {
        Tag: "T-2",
        ...GAS_TANK,
        Unit: "102",
        "Retired on": "2024-05-01",
        "Retirement cause": "leak",
      },
    ]);

    expect(await file.read()).toMatchObject({ status: "committed", addedCount: 2, work: null });
    expect(await heaterOf("T-1")).toMatchObject({
      technology: "gas-storage",
      fuel: "natural-gas",
      status: "in-service",
      from: "2014-03-05",
      to: "2014-03-05",
      installEvidence: "staff-estimate",
      volumeGal: 40,
      inputBtuPerHour: 40_000,
      uniformEnergyFactor: 0.58,
      setpointF: 120,
      drainPan: "yes",
      leakShutoff: "unknown",
      notes: "Behind the door",
      version: 1,
      importBatchId: file.batchId,
    });
    expect(await rowsOf("Unit", "label, floor, riser, bedrooms, bathrooms")).toEqual([
      { label: "101", floor: 1, riser: "R1", bedrooms: 2, bathrooms: 1.5 },
      { label: "102", floor: null, riser: null, bedrooms: null, bathrooms: null },
    ]);
    expect(await rowsOf("Building", "name")).toEqual([{ name: "A" }]);
    expect(await rowsOf("Property", "name")).toEqual([{ name: "Alder Court" }]);
    // 1 grain per US gallon = 17.1 mg/L as CaCO3 (lib/core/shared/units.ts has the source).
    const [water] = await rowsOf("WaterTest");
    expect(water.hardnessMgPerLitre).toBeCloseTo(171.2, 0);
    expect(await rowsOf("Retirement", "earliest::text, latest::text, cause, emergency")).toEqual([
      { earliest: "2024-05-01", latest: "2024-05-01", cause: "leak", emergency: true },
    ]);
    // One visit of one day, with both tasks.
    expect(await rowsOf("ServiceVisit", '"visitedOn"::text, note')).toEqual([
      { visitedOn: "2026-01-10", note: "From heaters.csv" },
    ]);
    expect(await rowsOf("VisitTask", "task", "task")).toEqual([
      { task: "anode-replacement" },
      { task: "flush" },
    ]);
    expect(await rowsOf("AuditEntry", 'action, "entityId", "userId", after')).toEqual([
      {
        action: "import.commit",
        entityId: file.batchId,
        userId: manager.userId,
        after: {
          fileName: "heaters.csv",
          rows: 2,
          added: 2,
          changed: 0,
          unchanged: 0,
          refused: 0,
          newProperties: 1,
          newBuildings: 1,
          newHomes: 2,
          waterTests: 1,
        },
      },
    ]);
    const { rows: jobs } = await database.owner.query(
      "SELECT data FROM pgboss.job WHERE name = 'risk' AND data ->> 'organizationId' = $1",
      [manager.organizationId],
    );
    expect(jobs).toEqual([{ data: { organizationId: manager.organizationId, today: TODAY } }]);
  });
});

describe("a heater that is on record", () => {
  test("is known by its tag, and only what its row gives is changed", async () => {
    await bring([
      { Tag: "T-1", ...GAS_TANK, Unit: "101", Setpoint: 120, Notes: "Old note", Floor: 1 },
      { Tag: "T-2", ...GAS_TANK, Unit: "102", Setpoint: 120 },
    ]);

    const file = await bring([
      { Tag: "t-1", Setpoint: 130, Notes: "", Floor: 2, "Serial number": "S-9" },
      { Tag: "T-2", Setpoint: 120, Notes: "?", Floor: "", "Serial number": "" },
    ]);

    expect(await file.read()).toMatchObject({ addedCount: 0, changedCount: 1, unchangedCount: 1 });
    expect(await changes(file.batchId)).toEqual([
      ["T-1", ["serial", null, "S-9"], ["setpointF", 120, 130], ["floor", 1, 2]],
    ]);
    expect(await heaterOf("T-1")).toMatchObject({
      setpointF: 130,
      notes: "Old note",
      serial: "S-9",
      from: "2014-03-05",
      version: 2,
    });
    expect(await heaterOf("T-2")).toMatchObject({ setpointF: 120, version: 1 });
    expect(await rowsOf("Unit", "label, floor")).toEqual([
      { label: "101", floor: 2 },
      { label: "102", floor: null },
    ]);
    const log = await rowsOf("AuditEntry", "action, before, after", "at, action");
    expect(log.filter(({ action }) => action === "heater.import")).toEqual([
      {
        action: "heater.import",
        before: { tag: "T-1", serial: null, setpointF: 120, floor: 1 },
        after: { tag: "T-1", serial: "S-9", setpointF: 130, floor: 2 },
      },
    ]);
  });

  test("stays untouched when another heater comes into its home, whose facts change and come back", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Unit: "101", Floor: 1 }]);

    const file = await upload([{ Tag: "T-2", ...GAS_TANK, Unit: "101", Floor: 2, Bedrooms: 3 }]);
    expect(await file.check()).toMatchObject({
      addedCount: 1,
      summary: {
        changedHomes: 1,
        changedFields: { floor: 1, bedrooms: 1 },
        assumptions: { "second-in-home": 1 },
      },
    });
    await file.commit();
    expect(await rowsOf("Unit", "label, floor, bedrooms")).toEqual([
      { label: "101", floor: 2, bedrooms: 3 },
    ]);
    expect(await heaterOf("T-1")).toMatchObject({ version: 1 });

    await file.undo();
    expect(await rowsOf("Unit", "label, floor, bedrooms")).toEqual([
      { label: "101", floor: 1, bedrooms: null },
    ]);
  });

  test("stays where it is when the file has no column for the building", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Unit: "101" }]);

    const file = await upload([
      { Tag: "T-1", Property: "Alder Court", Unit: "101", Setpoint: 125 },
    ]);

    expect(await file.check()).toMatchObject({ changedCount: 1, refusedCount: 0 });
    expect(await changes(file.batchId)).toEqual([["T-1", ["setpointF", null, 125]]]);
  });

  test("moves to another home, which is made when it is new", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Unit: "101" }]);

    const file = await bring([{ Tag: "T-1", Building: "B", Unit: "201", Floor: 2 }]);

    expect(await changes(file.batchId)).toEqual([
      ["T-1", ["building", "A", "B"], ["unit", "101", "201"]],
    ]);
    expect(await rowsOf("Unit", "label, floor", "label")).toEqual([
      { label: "101", floor: null },
      { label: "201", floor: 2 },
    ]);
    const heater = await heaterOf("T-1");
    const [unit] = (await rowsOf("Unit")).filter(({ label }) => label === "201");
    expect(heater).toMatchObject({ unitId: unit.id, buildingId: unit.buildingId });
  });

  test("keeps a day of care that is later than the one in the file, and gains a later one", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, "Last flush": "2025-06-01" }]);

    expect(
      await (await upload([{ Tag: "T-1", "Last flush": "2024-06-01" }])).check(),
    ).toMatchObject({
      unchangedCount: 1,
    });
    const file = await bring([{ Tag: "T-1", "Last flush": "2026-06-01" }]);

    expect(await changes(file.batchId)).toEqual([
      ["T-1", ["lastFlush", "2025-06-01", "2026-06-01"]],
    ]);
    expect(await rowsOf("VisitTask", '"doneOn"::text', "1")).toEqual([
      { doneOn: "2025-06-01" },
      { doneOn: "2026-06-01" },
    ]);
  });

  test("retires with its day and cause, and does not come back", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Unit: "101" }]);
    await bring([{ Tag: "T-1", "Retired on": "2025-05", "Retirement cause": "leaking" }]);

    expect(await heaterOf("T-1")).toMatchObject({ status: "retired" });
    expect(await rowsOf("Retirement", "earliest::text, latest::text, cause")).toEqual([
      { earliest: "2025-05-01", latest: "2025-05-31", cause: "leak" },
    ]);

    const file = await upload([{ Tag: "T-1", Status: "In service" }]);
    await file.check();
    expect(await refusals(file.batchId)).toEqual([
      "row 2: the heater is on record as retired on 2025-05-01 to 2025-05-31, and none comes back into service; give the one that stands there now its own tag",
    ]);
  });

  test("is not overwritten by another heater under its tag", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Serial: "S-1" }]);

    const file = await upload([{ Tag: "T-1", Serial: "S-2", "Install date": "2024-01-01" }]);

    expect(await file.check()).toMatchObject({ refusedCount: 1 });
    expect((await refusals(file.batchId))[0]).toContain("a new heater under an old tag");
  });

  test("gets a new water test where its property's water differs, and keeps the rest of the last one", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Hardness: 200 }]);
    await database.owner.query(
      `UPDATE "WaterTest" SET "sampledOn" = '2020-01-01', ph = 7.8 WHERE "organizationId" = $1`,
      [manager.organizationId],
    );

    const same = await upload([{ Tag: "T-1", Hardness: 200 }]);
    expect((await same.check()).summary?.waters).toEqual([]);
    const file = await bring([{ Tag: "T-1", Hardness: 120, Softener: "yes" }]);

    expect((await file.read()).summary?.waters).toMatchObject([
      {
        property: "Alder Court",
        before: { hardnessMgPerLitre: 200, softened: "unknown" },
        after: { hardnessMgPerLitre: 120, softened: "yes" },
        spread: null,
      },
    ]);
    expect(await rowsOf("WaterTest", '"sampledOn"::text, "hardnessMgPerLitre", ph', "1")).toEqual([
      { sampledOn: "2020-01-01", hardnessMgPerLitre: 200, ph: 7.8 },
      { sampledOn: "2026-11-25", hardnessMgPerLitre: 120, ph: 7.8 },
    ]);
  });
});

describe("what was not known when the file was made", () => {
  test("closes an open install bracket with the building's year and with today", async () => {
    await bring([{ Tag: "T-0", ...GAS_TANK }]);
    await database.owner.query(
      'UPDATE "Building" SET "builtYear" = 2001 WHERE "organizationId" = $1',
      [manager.organizationId],
    );

    await bring([
      { Tag: "T-1", ...GAS_TANK, "Install date": "" },
      { Tag: "T-2", ...GAS_TANK, "Install date": "before 2010" },
      { Tag: "T-3", ...GAS_TANK, "Install date": "after 2015" },
      { Tag: "T-4", ...GAS_TANK, Building: "New", "Install date": "" },
    ]);

    const brackets = await rowsOf(
      "Heater",
      'tag, "installEarliest"::text AS "from", "installLatest"::text AS "to", "installEvidence" AS evidence',
      "tag",
    );
    expect(brackets.slice(1)).toEqual([
      { tag: "T-1", from: "2001-01-01", to: "2026-11-25", evidence: "building-age" },
      { tag: "T-2", from: "2001-01-01", to: "2009-12-31", evidence: "staff-estimate" },
      { tag: "T-3", from: "2016-01-01", to: "2026-11-25", evidence: "staff-estimate" },
      // No building year: 40 years before the other end (our rule).
      { tag: "T-4", from: "1986-11-25", to: "2026-11-25", evidence: "none" },
    ]);
  });

  test("is counted as taken for granted", async () => {
    const file = await upload([
      {
        Property: "Alder Court",
        Unit: "101",
        Type: "Gas",
        Volume: 40,
        "Install date": "2014",
        Tag: "",
      },
      {
        Property: "Alder Court",
        Unit: "101",
        Type: "Gas tank",
        Volume: 40,
        "Install date": "",
        Tag: "T-9",
      },
      {
        Property: "Alder Court",
        Unit: "",
        Type: "Gas tank",
        Volume: 40,
        "Install date": "",
        Tag: "T-10",
      },
    ]);

    const { summary } = await file.check();

    expect(summary?.assumptions).toEqual({
      "tag-made": 1,
      "building-is-property": 3,
      "storage-by-volume": 1,
      "natural-gas": 3,
      "install-bracket": 1,
      "install-unknown": 2,
      "evidence-none-named": 1,
      "second-in-home": 1,
    });
  });
});

describe("rows that are refused", () => {
  test("keep no other row out, unless all or nothing is asked for", async () => {
    const rows = [
      { Tag: "T-1", ...GAS_TANK },
      { Tag: "T-2", ...GAS_TANK, "Install date": "2035-02-01" },
    ];
    const file = await upload(rows);
    await file.check();

    const options = { ...DEFAULT_IMPORT_OPTIONS, allOrNothing: true };
    const refused = await commitBatch(manager, file.batchId, options, TODAY);
    expect(refused).toMatchObject({ ok: false, problems: [{ path: "allOrNothing" }] });
    expect(await rowsOf("Heater")).toEqual([]);

    expect(await file.commit()).toMatchObject({ status: "committed", addedCount: 1 });
    expect(await rowsOf("Heater", "tag")).toEqual([{ tag: "T-1" }]);
  });

  test("make no places", async () => {
    const file = await bring([
      { Tag: "T-1", ...GAS_TANK },
      { Tag: "T-2", ...GAS_TANK, Property: "Birch Hill", "Install date": "2035-02-01" },
    ]);

    expect((await file.read()).summary?.newProperties).toEqual({
      count: 1,
      names: ["Alder Court"],
    });
    expect(await rowsOf("Property", "name")).toEqual([{ name: "Alder Court" }]);
  });
});

describe("the record that moves between preview and commit", () => {
  test("is compared again, and nothing is written over what the preview did not show", async () => {
    await bring([{ Tag: "T-1", ...GAS_TANK, Setpoint: 120 }]);
    const file = await upload([{ Tag: "T-1", Setpoint: 130 }]);
    await file.check();
    await database.owner.query(
      `UPDATE "Heater" SET "setpointF" = 125, version = version + 1 WHERE "organizationId" = $1`,
      [manager.organizationId],
    );

    const after = await file.commit();

    expect(after).toMatchObject({ status: "staged", changedCount: 1, work: null });
    expect(after.message).toContain("The record changed after this preview was made");
    expect(await heaterOf("T-1")).toMatchObject({ setpointF: 125 });
    expect(await changes(file.batchId)).toEqual([["T-1", ["setpointF", 125, 130]]]);

    expect(await file.commit()).toMatchObject({ status: "committed" });
    expect(await heaterOf("T-1")).toMatchObject({ setpointF: 130, version: 3 });
  });

  test("a tag that somebody else adds meanwhile is a change then, not a second heater", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK, Setpoint: 130 }]);
    await file.check();
    await bring([{ Tag: "T-1", ...GAS_TANK, Setpoint: 120 }]);

    expect(await file.commit()).toMatchObject({ status: "staged", addedCount: 0, changedCount: 1 });
    expect(await rowsOf("Heater", '"setpointF"')).toEqual([{ setpointF: 120 }]);
  });

  test("a failure in the middle leaves nothing half-written", async () => {
    const rows = Array.from({ length: 6_000 }, (_unused, index) => ({
      Tag: `T-${index}`,
      ...GAS_TANK,
      Unit: `${index}`,
    }));
    const file = await upload(rows);
    const job = {
      organizationId: manager.organizationId,
      batchId: file.batchId,
      userId: manager.userId,
      today: TODAY,
    };
    const going = { signal: new AbortController().signal };
    await file.check();
    await executeImportWork({ ...job, work: "check" }, going);
    await file.commit();
    await database.owner.query(
      `CREATE FUNCTION break_off() RETURNS trigger LANGUAGE plpgsql AS
         $$ BEGIN IF NEW.tag = 'T-5999' THEN RAISE 'disk is full'; END IF; RETURN NEW; END $$`,
    );
    await database.owner.query(
      'CREATE TRIGGER break_off BEFORE INSERT ON "Heater" FOR EACH ROW EXECUTE FUNCTION break_off()',
    );
    try {
      await executeImportWork({ ...job, work: "commit" }, going);
    } finally {
      await database.owner.query('DROP TRIGGER break_off ON "Heater"');
    }

    expect(await file.read()).toMatchObject({
      status: "staged",
      work: null,
      message: "This could not be finished, and nothing was changed: disk is full.",
    });
    for (const table of ["Heater", "Unit", "Building", "Property", "ImportRow"]) {
      expect(await rowsOf(table), table).toEqual([]);
    }

    // The same file goes in once the disk has room again.
    await file.commit();
    await executeImportWork({ ...job, work: "commit" }, going);
    expect(await file.read()).toMatchObject({ status: "committed", addedCount: 6_000 });
    expect(await rowsOf("Heater", "count(*)::int AS n")).toEqual([{ n: 6_000 }]);
  });

  test("work that is given out twice is done once", async () => {
    const file = await bring([{ Tag: "T-1", ...GAS_TANK }]);

    await executeImportWork(
      {
        organizationId: manager.organizationId,
        batchId: file.batchId,
        work: "commit",
        userId: manager.userId,
        today: TODAY,
      },
      { signal: new AbortController().signal },
    );

    expect(await rowsOf("Heater", "tag")).toEqual([{ tag: "T-1" }]);
    expect(await file.read()).toMatchObject({ status: "committed", message: null });
  });

  test("the job that brings a file in brings the register up to date as well, before anybody reads it", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK }]);
    await file.check();
    await withSql(manager, (client) => askForWork(client, file.batchId, "commit", 0));

    await runImportJob(
      {
        organizationId: manager.organizationId,
        batchId: file.batchId,
        work: "commit",
        userId: manager.userId,
        today: TODAY,
      },
      { signal: new AbortController().signal },
    );

    expect((await file.read()).status).toBe("committed");
    expect(await rowsOf("RegisterLine", "tag")).toEqual([{ tag: "T-1" }]);
    expect(await rowsOf("RegisterStale")).toEqual([]);
  });

  test("work that died is started again by hand, and not before it has been silent for a minute", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK }]);
    await file.check();
    const setSilent = (seconds: number) =>
      database.owner.query(
        `UPDATE "ImportBatch" SET work = 'commit', "workAt" = now() - make_interval(secs => $2) WHERE id = $1`,
        [file.batchId, seconds],
      );

    await setSilent(30);
    expect(await resumeWork(manager, file.batchId, TODAY)).toMatchObject({
      ok: false,
      problems: [{ message: "This file is being worked on: wait until that is done." }],
    });
    await setSilent(90);
    expect(await resumeWork(manager, file.batchId, TODAY)).toMatchObject({ ok: true });

    expect(await file.read()).toMatchObject({ status: "committed" });
    expect(await rowsOf("Heater", "tag")).toEqual([{ tag: "T-1" }]);
  });

  test("work that is stopped leaves the file to be taken up again", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK }]);
    await file.check();
    await database.owner.query(`UPDATE "ImportBatch" SET work = 'commit' WHERE id = $1`, [
      file.batchId,
    ]);
    const job = {
      organizationId: manager.organizationId,
      batchId: file.batchId,
      work: "commit",
      userId: manager.userId,
      today: TODAY,
    };
    const stopping = new AbortController();
    stopping.abort();

    await expect(executeImportWork(job, { signal: stopping.signal })).rejects.toThrow();

    expect(await file.read()).toMatchObject({ status: "staged", work: "commit" });
    expect(await rowsOf("Heater")).toEqual([]);
    await executeImportWork(job, { signal: new AbortController().signal });
    expect(await file.read()).toMatchObject({ status: "committed" });
  });
});

describe("undo of a batch", () => {
  test("takes out what it added, with the places that are empty then, and keeps the rest", async () => {
    await bring([{ Tag: "T-0", ...GAS_TANK, Unit: "100" }]);
    const file = await bring([
      { Tag: "T-1", ...GAS_TANK, Unit: "101", "Last flush": "2026-01-10", Hardness: 200 },
      { Tag: "T-2", ...GAS_TANK, Property: "Birch Hill", Unit: "1", "Retired on": "2024-05-01" },
    ]);

    const batch = await file.undo();

    expect(batch).toMatchObject({
      status: "undone",
      summary: {
        undone: {
          removedHeaters: 2,
          restoredHeaters: 0,
          removedHomes: 2,
          removedBuildings: 1,
          removedProperties: 1,
          keptCount: 0,
          kept: [],
        },
      },
    });
    expect(await rowsOf("Heater", "tag")).toEqual([{ tag: "T-0" }]);
    expect(await rowsOf("Unit", "label")).toEqual([{ label: "100" }]);
    expect(await rowsOf("Property", "name")).toEqual([{ name: "Alder Court" }]);
    for (const table of ["ServiceVisit", "VisitTask", "Retirement", "WaterTest"]) {
      expect(await rowsOf(table), table).toEqual([]);
    }
    const log = await rowsOf("AuditEntry", "action", "at");
    expect(log.map(({ action }) => action)).toEqual([
      "import.commit",
      "import.commit",
      "import.undo",
    ]);
  });

  test("puts back every value that it changed", async () => {
    await bring([
      {
        Tag: "T-1",
        ...GAS_TANK,
        Unit: "101",
        Setpoint: 120,
        Floor: 1,
        Notes: "Old note",
        Hardness: 90,
      },
      { Tag: "T-2", ...GAS_TANK, Unit: "102", "Retired on": "2024", "Retirement cause": "planned" },
    ]);
    const stood = async () => ({
      heaters: (await rowsOf("Heater", "*", "tag")).map(({ version, updatedAt, ...rest }) => rest),
      units: await rowsOf("Unit", "*", "label"),
      retirements: await rowsOf("Retirement"),
      waters: await rowsOf("WaterTest"),
      visits: await rowsOf("ServiceVisit"),
      buildings: await rowsOf("Building"),
    });
    const before = await stood();

    const file = await bring([
      {
        Tag: "T-1",
        Building: "B",
        Unit: "7",
        Type: "Electric tank",
        Setpoint: 130,
        Floor: 3,
        Notes: "New note",
        "Last flush": "2026-01-10",
        "Retired on": "2026-02-01",
        "Retirement cause": "leak",
        Hardness: 300,
      },
      { Tag: "T-2", "Retired on": "2024-07-01", "Retirement cause": "no heat" },
    ]);
    expect(await file.read()).toMatchObject({ changedCount: 2 });
    expect(await stood()).not.toEqual(before);

    await file.undo();

    expect(await stood()).toEqual(before);
    const log = await rowsOf(
      "AuditEntry",
      "action, before ->> 'setpointF' AS before, after ->> 'setpointF' AS after",
      "at, action",
    );
    expect(log.filter(({ action }) => action === "heater.import-undo")).toContainEqual({
      action: "heater.import-undo",
      before: "130",
      after: "120",
    });
  });

  test("leaves a heater alone that was touched since, and names it with the reason", async () => {
    await bring([{ Tag: "C-1", ...GAS_TANK, Setpoint: 120 }]);
    const file = await bring([
      { Tag: "A-1", ...GAS_TANK, Unit: "1" },
      { Tag: "A-2", ...GAS_TANK, Unit: "2" },
      { Tag: "A-3", ...GAS_TANK, Unit: "3" },
      { Tag: "A-4", ...GAS_TANK, Unit: "4" },
      { Tag: "C-1", Setpoint: 130 },
    ]);
    const idOf = async (tag: string) => (await heaterOf(tag))?.id;
    const [a1, a2, a3] = [await idOf("A-1"), await idOf("A-2"), await idOf("A-3")];
    await database.owner.query(
      `UPDATE "Heater" SET notes = 'mine', version = version + 1 WHERE id = $1`,
      [a1],
    );
    await database.owner.query(
      `INSERT INTO "ServiceVisit" (id, "organizationId", "heaterId", "visitedOn") VALUES (gen_random_uuid(), $1, $2, '2026-11-25')`,
      [manager.organizationId, a2],
    );
    await database.owner.query(
      `INSERT INTO "ReadinessAnswer" (id, "organizationId", "heaterId", item, answer) VALUES (gen_random_uuid(), $1, $2, 'structure', 'yes')`,
      [manager.organizationId, a3],
    );
    await bring([{ Tag: "C-1", Setpoint: 135 }]);

    const { summary } = await file.undo();

    expect(summary?.undone).toMatchObject({
      removedHeaters: 1,
      restoredHeaters: 0,
      removedHomes: 1,
      keptCount: 4,
      kept: [
        { tag: "A-1", reason: "edited" },
        { tag: "A-2", reason: "visited" },
        { tag: "A-3", reason: "surveyed" },
        { tag: "C-1", reason: "edited" },
      ],
    });
    expect(await rowsOf("Heater", 'tag, "setpointF"', "tag")).toEqual([
      { tag: "A-1", setpointF: null },
      { tag: "A-2", setpointF: null },
      { tag: "A-3", setpointF: null },
      { tag: "C-1", setpointF: 135 },
    ]);
  });

  test("does nothing twice", async () => {
    const file = await bring([{ Tag: "T-1", ...GAS_TANK }]);
    await file.undo();

    expect(await undoImport(manager, file.batchId, TODAY)).toMatchObject({ ok: false });
    // The same file can be brought in again.
    await bring([{ Tag: "T-1", ...GAS_TANK }]);
    expect(await rowsOf("Heater", "tag")).toEqual([{ tag: "T-1" }]);
  });
});

describe("two organisations", () => {
  test("bring in the same tags without seeing each other", async () => {
    const other = await anOrganization(database, { role: "manager" });
    await bringIn(other, csvOf([{ Tag: "T-1", ...GAS_TANK, Setpoint: 140 }]), TODAY);

    const file = await bring([{ Tag: "T-1", ...GAS_TANK, Setpoint: 120 }]);

    expect(await file.read()).toMatchObject({ addedCount: 1, changedCount: 0 });
    expect(await readBatch(other, file.batchId)).toBeNull();
    expect(await undoImport(other, file.batchId, TODAY)).toMatchObject({ ok: false });
    expect(await discardImport(other, file.batchId)).toMatchObject({ ok: false });
    await expect(readRefusedCsv(other, file.batchId)).rejects.toThrow(/no such file/);
    expect(await rowsOf("Heater", '"setpointF"')).toEqual([{ setpointF: 120 }]);
  });

  test("a person whose role does not include it brings in nothing", async () => {
    const viewer = await anOrganization(database, { role: "maintenance" });
    const file = csvOf([{ Tag: "T-1", ...GAS_TANK }]);

    await expect(
      receiveFile(viewer, { fileName: "a.csv", chunks: inPieces(file) }, TODAY),
    ).rejects.toThrow(/not-allowed/);
  });
});

describe("columns", () => {
  const ODD = { Nr: "T-1", Ort: "Alder Court", Haus: "A", Art: "Gas tank", Liter: 151 };

  test("matched by hand once are matched so the next time, in whatever order they stand", async () => {
    const first = await upload([ODD]);
    expect((await first.read()).mapping.matches.map((match) => match?.field ?? null)).not.toContain(
      "tag",
    );
    const by = (
      field: "tag" | "property" | "building" | "technology" | "volume",
      unit: "L" | null = null,
    ) => ({
      field,
      unit,
      dateOrder: null,
      fillDown: false,
    });
    await first.check(() => ({
      matches: [by("tag"), by("property"), by("building"), by("technology"), by("volume", "L")],
      constants: { fuel: "propane" },
    }));
    await first.commit();
    expect(await heaterOf("T-1")).toMatchObject({
      fuel: "propane",
      volumeGal: expect.closeTo(39.9, 1),
    });

    const second = await upload([
      { Liter: 189, Art: "Gas tank", Nr: "T-2", Haus: "A", Ort: "Alder Court" },
    ]);

    const { mapping, columns } = await second.read();
    expect(mapping.matches.map((match) => match?.field)).toEqual([
      "volume",
      "technology",
      "tag",
      "building",
      "property",
    ]);
    expect(mapping.constants).toEqual({ fuel: "propane" });
    expect(columns[0].guess.statements).toEqual([
      "matched as the last time a file had these headings",
    ]);
  });

  test("a value for every row stands in for a column that the file lacks", async () => {
    const file = await upload([{ Tag: "T-1", Unit: "1", Volume: 40 }]);

    await file.check((mapping) => ({
      ...mapping,
      constants: { property: "Alder Court", building: "A", technology: "gas" },
    }));
    await file.commit();

    expect(await heaterOf("T-1")).toMatchObject({ technology: "gas-storage" });
    expect(await rowsOf("Property", "name")).toEqual([{ name: "Alder Court" }]);
  });

  test("without a tag, or with a value for every row that cannot be read, are not checked", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK }]);
    const { mapping } = await file.read();

    const bare = { ...mapping, matches: mapping.matches.map(() => null) };
    expect(await checkBatch(manager, file.batchId, bare, TODAY)).toMatchObject({ ok: false });
    const bad = { ...mapping, constants: { fuel: "wood" } };
    expect(await checkBatch(manager, file.batchId, bad, TODAY)).toMatchObject({
      ok: false,
      problems: [{ path: "constants.fuel" }],
    });
    expect(await file.read()).toMatchObject({ fingerprint: null, mapping, work: null });
  });

  test("matched anew make the preview void", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK }]);
    const early = await commitBatch(manager, file.batchId, DEFAULT_IMPORT_OPTIONS, TODAY);

    expect(early).toMatchObject({
      ok: false,
      problems: [{ message: "Look at the preview first." }],
    });
  });
});

describe("files", () => {
  test("of a workbook come in like those of text", async () => {
    const rows = [
      ["Tag", "Property", "Building", "Unit", "Type", "Volume", "Install date"],
      ["T-1", "Alder Court", "A", "101", "Gas tank", 40, { serial: 41_703, format: "m/d/yyyy" }],
      ["T-2", "Alder Court", "A", "102", "Gas tank", 50, { serial: 41_703, format: "yyyy" }],
    ];
    const file = await bringIn(manager, writeXlsx({ sheets: [{ name: "Heaters", rows }] }), TODAY);

    expect(await file.read()).toMatchObject({
      addedCount: 2,
      file: { format: "xlsx", sheetName: "Heaters" },
    });
    // Day 41703 of the 1900 system is 2014-03-05, as docs/formats/heater-import.md has it.
    expect(await heaterOf("T-1")).toMatchObject({ from: "2014-03-05", to: "2014-03-05" });
    expect(await heaterOf("T-2")).toMatchObject({ from: "2014-01-01", to: "2014-12-31" });
  });

  test.each([
    ["nothing", "", /empty/],
    ["headings alone", "Tag,Property,Type\r\n", /no rows below/],
    ["an old workbook", Buffer.from("d0cf11e0a1b11ae1", "hex"), /old \.xls workbook/],
    ["a quote that is never closed", 'Tag,Type\r\nT-1,"Gas\r\n', /never closed/],
  ])(
    "with %s are refused in one sentence, and nothing of them is left",
    async (_what, bytes, reason) => {
      const received = await receiveFile(
        manager,
        { fileName: "a.csv", chunks: inPieces(bytes) },
        TODAY,
      );

      expect(received).toMatchObject({
        ok: false,
        problems: [{ message: expect.stringMatching(reason) }],
      });
      expect(await rowsOf("ImportBatch")).toEqual([]);
      expect(await rowsOf("ImportChunk")).toEqual([]);
      const left = (await readdir(tmpdir())).filter((name) => name.startsWith("tanklore-import-"));
      expect(left).toEqual([]);
    },
  );

  test("with characters that a database cannot hold are kept, and refused row by row", async () => {
    const headings = ["Tag", "Property", "Building", "Type", "Volume", "Odd\u0000heading"];
    const rows = [headings, ["T-1\u0000", "Alder Court", "A", "Gas tank", 40, "half \ud83d"]];
    const bytes = writeXlsx({ sheets: [{ name: "Heaters", rows }] });

    const file = await FileOfHeaters.upload(manager, bytes, TODAY);

    expect(await file.check()).toMatchObject({ refusedCount: 1 });
    expect(await refusals(file.batchId)).toEqual([
      "row 2: tag holds a control character that cannot be kept",
    ]);
  });

  test("that are put aside leave no rows", async () => {
    const file = await upload([{ Tag: "T-1", ...GAS_TANK }]);

    expect(await discardImport(manager, file.batchId)).toMatchObject({ ok: true });

    expect(await file.read()).toMatchObject({ status: "discarded" });
    expect(await rowsOf("ImportChunk")).toEqual([]);
    expect(await discardImport(manager, file.batchId)).toMatchObject({ ok: false });
  });

  test("of refused rows carry each row with its reason, and come in once they are put right", async () => {
    const csv = [
      "Property,Building,Tag,Type,Volume,Install date",
      "Alder Court,A,T-1,Gas tank,40,2014-03-05",
      ",,T-2,Gas tank,40,2035-02-01",
      ",,T-3,Gas tank,40,2014-03-05",
    ].join("\r\n");
    const file = await FileOfHeaters.upload(manager, csv, TODAY);
    await file.check();
    await file.commit();

    const { fileName, lines } = await readRefusedCsv(manager, file.batchId);
    let text = "";
    for await (const line of lines) text += line;

    expect(fileName).toBe("heaters - refused rows.csv");
    // The names that stood above are filled in, as the row stands alone here.
    expect(text).toBe(
      "\uFEFFFile row,Why refused,Property,Building,Tag,Type,Volume,Install date\r\n" +
        "3,row 3: install date 2035-02-01 is in the future,Alder Court,A,T-2,Gas tank,40,2035-02-01\r\n",
    );
    const again = await FileOfHeaters.upload(manager, text.replaceAll("2035", "2015"), TODAY);
    const { columns, mapping } = await again.read();
    expect(mapping.matches.slice(0, 2)).toEqual([null, null]);
    expect(columns[2].guess.statements).toEqual([
      "matched as the last time a file had these headings",
    ]);
    expect(await again.check()).toMatchObject({ addedCount: 1, refusedCount: 0 });
  });
});

describe("heaters that left service", () => {
  test("teach the risk model only where the list of them is said to be complete", async () => {
    const rows = [
      { Tag: "T-1", ...GAS_TANK, "Retired on": "" },
      { Tag: "T-2", ...GAS_TANK, "Retired on": "2020-05-01" },
    ];
    const first = await upload(rows);
    expect((await first.check()).summary?.retired).toEqual({ count: 1, firstDay: "2020-05-01" });
    await first.commit();
    expect(await rowsOf("Heater", '"recordedFrom"::text')).toEqual([
      { recordedFrom: TODAY },
      { recordedFrom: TODAY },
    ]);
    await first.undo();

    await bringIn(manager, csvOf(rows), TODAY, { endsOnRecordSince: calendarDay("2019-01-01") });

    expect(await rowsOf("Heater", '"recordedFrom"::text')).toEqual([
      { recordedFrom: "2019-01-01" },
      { recordedFrom: "2019-01-01" },
    ]);
  });
});

describe("the rows of a preview", () => {
  test("are listed by what becomes of them, page by page", async () => {
    await bring([{ Tag: "T-0", ...GAS_TANK, Setpoint: 120 }]);
    const file = await upload([
      ...Array.from({ length: 60 }, (_unused, index) => ({ Tag: `N-${index}`, ...GAS_TANK })),
      { Tag: "T-0", ...GAS_TANK, Setpoint: 130 },
      { Tag: "T-9", ...GAS_TANK, "Install date": "soon" },
    ]);
    await file.check();

    const added = await readImportPage(manager, file.batchId, { list: "added", page: 2 });
    expect(added?.list).toMatchObject({ lineCount: 60, page: 2, pageCount: 2 });
    expect(added?.list.lines.map(({ rowNumber }) => rowNumber)).toEqual(
      Array.from({ length: 10 }, (_unused, index) => 52 + index),
    );
    const changed = await readImportPage(manager, file.batchId, { list: "changed", page: 1 });
    expect(changed?.list.lines).toMatchObject([
      {
        rowNumber: 62,
        tag: "T-0",
        changes: [{ label: "Setpoint", before: "120 °F", after: "130 °F" }],
      },
    ]);
    // Without a choice, the refused rows come first.
    const first = await readImportPage(manager, file.batchId, { list: null, page: 1 });
    expect(first?.list).toMatchObject({
      name: "refused",
      headings: ["Tag", "Property", "Building", "Type", "Volume", "Install date", "Setpoint"],
      lines: [{ rowNumber: 63, reasons: ['install date "soon" is not a date'] }],
    });
  });
});
