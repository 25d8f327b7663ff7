import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import {
  DEFAULT_REGISTER,
  EMPTY_FILTER,
  REGISTER_COLUMNS,
  type RegisterFilter,
  type RegisterQuery,
} from "@/lib/core/heaters/register-query";
import { REGISTER_WINDOW, type RegisterRow } from "@/lib/core/heaters/register-row";
import { READINESS_ITEMS } from "@/lib/core/heaters/vocabulary";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { readOutline, readWindow, refreshRegister } from "@/lib/data/register";
import { withSql } from "@/lib/data/tenant";
import {
  readRegisterExtent,
  readRegisterPage,
  readRegisterWindow,
  streamRegisterCsv,
} from "@/lib/services/register";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const today = calendarDay("2026-06-30");
let database: TestDatabase;
let viewer: Viewer;
let stranger: Viewer;

const view = (
  changes: Partial<RegisterFilter>,
  rest: Partial<RegisterQuery> = {},
): RegisterQuery => ({
  ...DEFAULT_REGISTER,
  ...rest,
  filter: { ...EMPTY_FILTER, ...changes },
});

beforeAll(async () => {
  database = await openTestDatabase();
  const base = await anOrganization(database, { role: "viewer" });
  const organizationId = await writeDemo(database.ownerUrl, {
    seed: 3,
    today,
    heaters: 300,
    people: false,
  });
  viewer = { ...base, organizationId };
  stranger = await anOrganization(database, { name: "Another" });
  // Two in three have a risk, so that every order has heaters with and without a value.
  await database.owner.query(
    `INSERT INTO "HeaterRisk" ("heaterId", "organizationId", "asOf", "failureProbability",
       "failureLower", "failureUpper", "medianRemainingYears", "expectedLossCents", "ageYears", method)
     SELECT id, "organizationId", $1, mod(number, 40) / 100.0, 0, 1, 5, mod(number, 70) * 100,
       mod(number, 21), 'test'
     FROM (SELECT *, row_number() OVER (ORDER BY tag) AS number FROM "Heater"
           WHERE status = 'in-service') h
     WHERE mod(number, 3) <> 0`,
    [today],
  );
});

afterAll(() => database?.close());

/** Every row of a view, window by window, as the list scrolls. */
async function readAll(query: RegisterQuery): Promise<readonly RegisterRow[]> {
  return withSql(viewer, async (client) => {
    await refreshRegister(client);
    const outline = await readOutline(client, query, today);
    const rows: RegisterRow[] = [];
    for (const section of outline.sections) {
      for (const anchor of section.anchors) {
        rows.push(...(await readWindow(client, query, today, anchor)));
      }
    }
    expect(rows.length).toBe(outline.summary.total);
    return rows;
  });
}

async function count(sql: string, values: readonly unknown[] = []): Promise<number> {
  const { rows } = await database.owner.query(
    `SELECT count(*)::int AS n FROM "Heater" h JOIN "Building" b ON b.id = h."buildingId"
     WHERE h."organizationId" = $1 AND ${sql}`,
    [viewer.organizationId, ...values],
  );
  return rows[0].n;
}

/** The value that a column sorts by, as a row shows it. */
const VALUE_OF: Readonly<Record<string, (row: RegisterRow) => string | number | null>> = {
  floor: (row) => row.floor,
  technology: (row) => row.technology,
  maker: (row) => row.manufacturer?.toLowerCase() ?? null,
  volume: (row) => row.volumeGal,
  hardness: (row) => row.hardnessMgPerLitre,
  chance: (row) => row.failureProbability,
  loss: (row) => row.expectedLossCents,
  lastVisit: (row) => row.lastVisitOn,
  property: (row) => row.propertyName.toLowerCase(),
};

describe("the register's order", () => {
  test("every order, up and down, gives each heater once, in service before retired", async () => {
    const expected = await count("true");
    for (const column of REGISTER_COLUMNS) {
      for (const descending of [false, true]) {
        const rows = await readAll(view({ status: null }, { sort: { column, descending } }));
        expect(new Set(rows.map(({ id }) => id)).size, column).toBe(expected);
        const statuses = rows.map(({ status }) => status);
        const [first, second] =
          column === "status" && descending
            ? (["retired", "in-service"] as const)
            : (["in-service", "retired"] as const);
        expect(statuses.lastIndexOf(first), column).toBeLessThan(statuses.indexOf(second));
      }
    }
  });

  test("a sorted column rises or falls, and what is not known comes last either way", async () => {
    for (const [column, sortedBy] of Object.entries(VALUE_OF)) {
      for (const descending of [false, true]) {
        const sort = { column: column as RegisterQuery["sort"]["column"], descending };
        const values = (await readAll(view({}, { sort }))).map(sortedBy);
        const known = values.filter((value) => value !== null);
        expect(values.slice(0, known.length), column).toEqual(known);
        for (let i = 1; i < known.length; i++) {
          const [before, after] = [known[i - 1] as string, known[i] as string];
          expect(descending ? before >= after : before <= after, `${column} at ${i}`).toBe(true);
        }
      }
    }
  });

  test("numbers in names count as numbers: Building 2 before Building 10", async () => {
    const { rows } = await database.owner.query(
      `SELECT name FROM unnest(ARRAY['Building 10', 'building 2', 'Building 1', 'A-12', 'A-9']) AS name
       ORDER BY natural_order(name)`,
    );
    expect(rows.map(({ name }) => name)).toEqual([
      "A-9",
      "A-12",
      "Building 1",
      "building 2",
      "Building 10",
    ]);
  });

  test("the first page is what the first window is", async () => {
    const page = await readRegisterPage(viewer, DEFAULT_REGISTER, today);
    const all = await readAll(DEFAULT_REGISTER);
    expect(page.rows).toEqual(all.slice(0, REGISTER_WINDOW));
    expect(page.hasHeaters).toBe(true);
  });
});

describe("the register's filters", () => {
  const total = async (changes: Partial<RegisterFilter>) =>
    (await readRegisterExtent(viewer, view(changes), today)).summary.total;

  test.each([
    ["in service", {}, "h.status = 'in-service'"],
    ["retired", { status: "retired" }, "h.status = 'retired'"],
    ["all", { status: null }, "true"],
    [
      "technology",
      { technologies: ["electric-storage", "heat-pump-storage"] },
      "h.status = 'in-service' AND h.technology IN ('electric-storage', 'heat-pump-storage')",
    ],
    ["place", { places: ["laundry"] }, "h.status = 'in-service' AND h.place = 'laundry'"],
    [
      "serial number missing",
      { missing: ["serial"] },
      "h.status = 'in-service' AND h.serial IS NULL",
    ],
    [
      "install day unknown",
      { installKinds: ["unknown"] },
      `h.status = 'in-service' AND h."installEvidence" = 'none'`,
    ],
    [
      "chance from 20 to 30 %",
      { chanceFrom: 20, chanceTo: 30 },
      `EXISTS (SELECT FROM "HeaterRisk" r WHERE r."heaterId" = h.id
         AND r."failureProbability" BETWEEN 0.2 AND 0.3)`,
    ],
    [
      "survey says no circuit",
      { readiness: { item: "circuit-240v", answer: "no" } },
      `h.status = 'in-service' AND EXISTS (SELECT FROM "ReadinessAnswer" a
         WHERE a."heaterId" = h.id AND a.item = 'circuit-240v' AND a.answer = 'no')`,
    ],
    [
      "survey does not know of a circuit",
      { readiness: { item: "circuit-240v", answer: "unknown" } },
      `h.status = 'in-service' AND NOT EXISTS (SELECT FROM "ReadinessAnswer" a
         WHERE a."heaterId" = h.id AND a.item = 'circuit-240v' AND a.answer <> 'unknown')`,
    ],
  ] as const)("%s", async (_, changes, sql) => {
    const expected = await count(sql);
    expect(expected).toBeGreaterThan(0);
    expect(await total(changes as Partial<RegisterFilter>)).toBe(expected);
  });

  test("a range of ages leaves exactly the rows whose age is in it", async () => {
    const all = await readAll(DEFAULT_REGISTER);
    const within = all.filter(
      ({ ageYears }) => ageYears !== null && ageYears >= 5 && ageYears <= 9,
    );
    expect(within.length).toBeGreaterThan(0);
    const found = await readAll(view({ ageFrom: 5, ageTo: 9 }));
    expect(found.map(({ id }) => id)).toEqual(within.map(({ id }) => id));
  });

  test("every item of the survey leaves the heaters that its answers say", async () => {
    for (const item of READINESS_ITEMS) {
      for (const answer of ["yes", "no"] as const) {
        const expected = await count(
          `h.status = 'in-service' AND EXISTS (SELECT FROM "ReadinessAnswer" a
             WHERE a."heaterId" = h.id AND a.item = $2 AND a.answer = $3)`,
          [item, answer],
        );
        expect(expected, `${item} ${answer}`).toBeGreaterThan(0);
        expect(await total({ readiness: { item, answer } }), `${item} ${answer}`).toBe(expected);
      }
    }
  });

  test("a range of ages and the survey narrow every order without changing it, with risks of several days", async () => {
    await database.owner.query(
      `UPDATE "HeaterRisk" SET "asOf" = "asOf" - 200 WHERE "organizationId" = $1 AND "heaterId" IN (
         SELECT "heaterId" FROM "HeaterRisk" WHERE "organizationId" = $1 ORDER BY "heaterId" LIMIT 40)`,
      [viewer.organizationId],
    );
    const inRange = ({ ageYears }: RegisterRow) =>
      ageYears !== null && ageYears >= 5 && ageYears <= 9;
    const readiness = { item: "circuit-240v", answer: "yes" } as const;
    const there = new Set((await readAll(view({ readiness }))).map(({ id }) => id));
    for (const column of REGISTER_COLUMNS) {
      for (const descending of [false, true]) {
        const sort = { column, descending };
        const all = await readAll(view({}, { sort }));
        const idsOf = (rows: readonly RegisterRow[]) => rows.map(({ id }) => id);
        const aged = await readAll(view({ ageFrom: 5, ageTo: 9 }, { sort }));
        expect(idsOf(aged), column).toEqual(idsOf(all.filter(inRange)));
        const page = await withSql(viewer, (client) =>
          readWindow(client, view({ ageFrom: 5, ageTo: 9 }, { sort }), today, null),
        );
        expect(idsOf(page), column).toEqual(idsOf(aged).slice(0, REGISTER_WINDOW));
        const surveyed = await readAll(view({ readiness }, { sort }));
        expect(idsOf(surveyed), column).toEqual(idsOf(all).filter((id) => there.has(id)));
      }
    }
  });

  test("one property, then one of its buildings", async () => {
    const { places } = await readRegisterPage(viewer, DEFAULT_REGISTER, today);
    const propertyId = places.properties[0]?.id ?? "";
    const inProperty = `h.status = 'in-service' AND b."propertyId" = $2`;
    expect(await total({ propertyId })).toBe(await count(inProperty, [propertyId]));
    const narrowed = await readRegisterPage(viewer, view({ propertyId }), today);
    const buildingId = narrowed.places.buildings[0]?.id ?? "";
    expect(await total({ propertyId, buildingId })).toBe(
      await count(`h.status = 'in-service' AND b.id = $2`, [buildingId]),
    );
  });

  test("a search finds parts of words, whatever their case, and all words have to occur", async () => {
    const [row] = await readAll(
      view({ installKinds: ["known"] }, { sort: { column: "maker", descending: false } }),
    );
    if (!row?.manufacturer) throw new Error("the demo has no maker");
    const part = row.tag.slice(-4);
    expect((await readAll(view({ search: part.toLowerCase() }))).map(({ id }) => id)).toContain(
      row.id,
    );
    const both = await readAll(view({ search: `${row.manufacturer.toUpperCase()} ${row.tag}` }));
    expect(both.map(({ id }) => id)).toEqual([row.id]);
    expect(await readAll(view({ search: `${row.tag} nowhere` }))).toEqual([]);
  });

  test("a percent sign, an underscore and a backslash are searched for as they are", async () => {
    for (const search of ["%", "_", "100%", "WH_0", "\\"]) {
      expect(await total({ search }), search).toBe(0);
    }
  });

  test("a search does not reach another organisation", async () => {
    const { rows } = await withSql(stranger, (client) =>
      client.query("SELECT find_in_register('%wh-%', 2000) AS ids"),
    );
    expect(rows[0].ids).toEqual([]);
  });
});

describe("the register in groups", () => {
  test.each(["property", "building"] as const)(
    "%s groups hold every heater once",
    async (group) => {
      const query = view({}, { group, sort: { column: "chance", descending: true } });
      const { groups, summary } = await readRegisterExtent(viewer, query, today);
      if (!groups) throw new Error("not grouped");
      expect(groups.reduce((sum, one) => sum + one.count, 0)).toBe(summary.total);
      for (const one of groups.slice(0, 3)) {
        const at = { groupIds: [one.id], offset: 0 };
        const result = await readRegisterWindow(viewer, query, today, at);
        if (!result.ok) throw new Error("the window was refused");
        expect(result.value.length).toBe(Math.min(one.count, REGISTER_WINDOW));
        const chances = result.value.flatMap((row) => row.failureProbability ?? []);
        expect(chances).toEqual([...chances].sort((a, b) => b - a));
        const mean = chances.reduce((sum, chance) => sum + chance, 0) / chances.length;
        if (one.count <= REGISTER_WINDOW && chances.length > 0) {
          expect(one.averageChance).toBeCloseTo(mean, 12);
        }
      }
    },
  );

  test("a window begins at its offset and runs on into the groups that follow", async () => {
    const query = view({}, { group: "building" });
    const { groups } = await readRegisterExtent(viewer, query, today);
    const groupIds = (groups ?? []).slice(0, 3).map(({ id }) => id);
    const read = async (offset: number) => {
      const result = await readRegisterWindow(viewer, query, today, { groupIds, offset });
      return result.ok ? result.value.map(({ id }) => id) : [];
    };
    expect(await read(2)).toEqual((await read(0)).slice(2));
  });
});

describe("asking for a window", () => {
  test("what is no window is refused with the reason", async () => {
    for (const at of [null, {}, { anchor: [0] }, { groupIds: ["x"], offset: 0 }]) {
      expect((await readRegisterWindow(viewer, DEFAULT_REGISTER, today, at)).ok).toBe(false);
    }
  });

  test("another organisation's register is empty", async () => {
    const page = await readRegisterPage(stranger, DEFAULT_REGISTER, today);
    expect([page.rows, page.places.properties, page.hasHeaters]).toEqual([[], [], false]);
  });
});

describe("the register follows the record", () => {
  const line = async (tag: string) =>
    (await readAll(view({ status: null, search: tag }))).find((row) => row.tag === tag);
  let row: RegisterRow;

  beforeAll(async () => {
    const [first] = await readAll(view({ missing: ["survey"] }));
    if (!first) throw new Error("the demo has no heater without a survey");
    row = first;
  });

  const change = (sql: string, values: readonly unknown[]) =>
    withSql(viewer, (client) => client.query(sql, [...values]));

  test("a heater that is changed, renamed or moved", async () => {
    await change(`UPDATE "Heater" SET tag = 'ZZ-1', manufacturer = 'Invented' WHERE id = $1`, [
      row.id,
    ]);
    expect(await line(row.tag)).toBeUndefined();
    expect(await line("ZZ-1")).toMatchObject({ id: row.id, manufacturer: "Invented" });
    await change(`UPDATE "Heater" SET tag = $2 WHERE id = $1`, [row.id, row.tag]);
  });

  test("a visit, a survey answer and a water test", async () => {
    await change(
      `INSERT INTO "ServiceVisit" (id, "organizationId", "heaterId", "visitedOn")
       VALUES ($1, $2, $3, '2026-06-29')`,
      [randomUUID(), viewer.organizationId, row.id],
    );
    expect((await line(row.tag))?.lastVisitOn).toBe("2026-06-29");
    await change(
      `INSERT INTO "ReadinessAnswer" (id, "organizationId", "heaterId", item, answer)
       VALUES ($1, $2, $3, 'noise', 'unknown')`,
      [randomUUID(), viewer.organizationId, row.id],
    );
    const missing = (item: "survey" | "survey-open") =>
      readAll(view({ missing: [item], search: row.tag }));
    expect(await missing("survey")).toEqual([]);
    expect((await missing("survey-open")).map(({ id }) => id)).toEqual([row.id]);
    await change(
      `INSERT INTO "WaterTest" (id, "organizationId", "propertyId", "sampledOn", "hardnessMgPerLitre")
       SELECT gen_random_uuid(), $2, b."propertyId", '2026-06-29', 333
       FROM "Heater" h JOIN "Building" b ON b.id = h."buildingId" WHERE h.id = $1`,
      [row.id, viewer.organizationId],
    );
    expect((await line(row.tag))?.hardnessMgPerLitre).toBe(333);
  });

  test("a property and a building that are renamed, a home that gets a floor", async () => {
    await change(`UPDATE "Property" SET name = name || ' West' WHERE name = $1`, [
      row.propertyName,
    ]);
    await change(
      `UPDATE "Building" SET name = 'Annex' WHERE id = (SELECT "buildingId" FROM "Heater" WHERE id = $1)`,
      [row.id],
    );
    await change(
      `UPDATE "Unit" SET floor = 77 WHERE id = (SELECT "unitId" FROM "Heater" WHERE id = $1)`,
      [row.id],
    );
    expect(await line(row.tag)).toMatchObject({
      propertyName: `${row.propertyName} West`,
      buildingName: "Annex",
      floor: 77,
    });
  });

  test("a heater that is taken back with its import leaves no line", async () => {
    const id = randomUUID();
    await change(
      `INSERT INTO "Heater" (id, "organizationId", "buildingId", tag, technology, fuel,
         "installEarliest", "installLatest")
       SELECT $1, "organizationId", "buildingId", 'ZZ-9', technology, fuel, "installEarliest",
         "installLatest" FROM "Heater" WHERE id = $2`,
      [id, row.id],
    );
    expect(await line("ZZ-9")).toBeDefined();
    await change('DELETE FROM "Heater" WHERE id = $1', [id]);
    expect(await line("ZZ-9")).toBeUndefined();
  });

  test("a change of very many heaters at once", async () => {
    const copies = await withSql(viewer, (client) =>
      client.query(
        `INSERT INTO "Heater" (id, "organizationId", "buildingId", tag, technology, fuel,
           "installEarliest", "installLatest")
         SELECT gen_random_uuid(), "organizationId", "buildingId", 'BULK-' || n, technology, fuel,
           "installEarliest", "installLatest"
         FROM "Heater", generate_series(1, 2001) n WHERE "Heater".id = $1`,
        [row.id],
      ),
    );
    expect(copies.rowCount).toBe(2001);
    const { summary } = await readRegisterExtent(viewer, view({ search: "bulk-" }), today);
    expect(summary.total).toBe(2001);
  });

  test("the application cannot write a line itself", async () => {
    for (const sql of [
      `UPDATE "RegisterLine" SET tag = 'x'`,
      'DELETE FROM "RegisterStale"',
      `SELECT write_register_lines('${viewer.organizationId}', NULL)`,
    ]) {
      await expect(change(sql, [])).rejects.toThrow(/permission denied/);
    }
  });

  test("readers at the same time find the same lines and do not stand in each other's way", async () => {
    await change(`UPDATE "Heater" SET notes = 'again' WHERE status = 'in-service'`, []);
    const pages = await Promise.all(
      Array.from({ length: 6 }, () => readRegisterPage(viewer, DEFAULT_REGISTER, today)),
    );
    for (const page of pages) expect(page.rows).toEqual(pages[0]?.rows);
  });
});

describe("the register as CSV", () => {
  /** The text with its byte order mark. */
  const read = async (query: RegisterQuery, ids: readonly string[] | null) =>
    Buffer.from(
      await new Response(streamRegisterCsv(viewer, query, today, ids)).arrayBuffer(),
    ).toString("utf8");

  test("holds every filtered heater once, with the chosen columns", async () => {
    const query = view(
      { technologies: ["electric-storage"] },
      { columns: ["tag", "age", "status"] },
    );
    const lines = (await read(query, null)).trimEnd().split("\r\n");
    expect(lines[0]).toBe("\uFEFFTag,Age (years),Status");
    expect(lines.length - 1).toBe(
      await count("h.status = 'in-service' AND h.technology = 'electric-storage'"),
    );
  });

  test("holds a selection whatever the filter", async () => {
    const [first] = await readAll(view({ status: "retired" }));
    const text = await read(view({ search: "nothing like this" }), [first?.id ?? ""]);
    expect(text.trimEnd().split("\r\n").length).toBe(2);
  });

  test("holds no cell that a spreadsheet would run", async () => {
    await withSql(viewer, (client) =>
      client.query(`UPDATE "Heater" SET model = '=1+1' WHERE tag LIKE 'BULK-7%'`),
    );
    const text = await read(view({ search: "bulk-7" }, { columns: ["tag", "model"] }), null);
    expect(text).toContain("'=1+1");
    expect(text).not.toMatch(/,=1\+1/);
  });

  test("runs past one batch without losing or repeating a heater", async () => {
    const text = await read(view({ status: null }, { columns: ["tag"] }), null);
    const tags = text.trimEnd().split("\r\n").slice(1);
    expect(tags.length).toBe(await count("true"));
    expect(new Set(tags).size).toBe(tags.length);
    expect(tags.length).toBeGreaterThan(2000);
  });
});
