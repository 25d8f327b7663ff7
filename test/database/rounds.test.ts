import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { stripJpeg } from "@/lib/core/shared/jpeg";
import type { Role } from "@/lib/core/shared/roles";
import { MOST_PHOTO_BYTES } from "@/lib/core/upkeep/round-entry";
import { makeFeed, readCalendar, readFeeds, takeBackFeed } from "@/lib/services/calendar-feeds";
import { readPhoto, receiveEntry, receivePhoto, takeBackEntry } from "@/lib/services/round-entries";
import { roundRequestSchema } from "@/lib/services/round-form";
import {
  assignRound,
  cancelRound,
  createRounds,
  moveRound,
  previewRounds,
  readRound,
  readRounds,
  reorderRound,
  saveHomeAccess,
} from "@/lib/services/rounds";
import { readUrgentMatters, reopenMatter, settleMatter } from "@/lib/services/upkeep-urgent";
import type { Viewer } from "@/lib/services/viewer";
import { openTestDatabase, type TestDatabase } from "@/test/support/database";
import { parseICalendar, textOf } from "@/test/support/parse-icalendar";
import { BASELINE_JPEG, withSegment } from "@/test/support/small-jpegs";

const today = calendarDay("2026-06-30");
let database: TestDatabase;
let organizationId: string;
let lead: Viewer;
let other: Viewer;
let manager: Viewer;
let onlooker: Viewer;
let stranger: Viewer;

async function aPerson(organization: string, name: string, role: Role): Promise<Viewer> {
  const userId = randomUUID();
  const email = `${userId}@test.example`;
  await database.owner.query(
    'INSERT INTO "User" (id, name, email, "updatedAt") VALUES ($1, $2, $3, now())',
    [userId, name, email],
  );
  await database.owner.query(
    'INSERT INTO "Member" (id, "organizationId", "userId", role) VALUES ($1, $2, $3, $4)',
    [randomUUID(), organization, userId, role],
  );
  return {
    userId,
    name,
    email,
    organizationId: organization,
    organizationName: "Test",
    isDemo: false,
    unitSystem: "us",
    role,
  };
}

beforeAll(async () => {
  database = await openTestDatabase();
  organizationId = await writeDemo(database.ownerUrl, {
    seed: 3,
    today,
    heaters: 120,
    people: false,
  });
  const elsewhere = await writeDemo(database.ownerUrl, {
    seed: 4,
    today,
    heaters: 60,
    people: false,
  });
  lead = await aPerson(organizationId, "Lead", "maintenance");
  other = await aPerson(organizationId, "Other", "maintenance");
  manager = await aPerson(organizationId, "Manager", "manager");
  onlooker = await aPerson(organizationId, "Onlooker", "viewer");
  stranger = await aPerson(elsewhere, "Stranger", "owner");
});

afterAll(async () => {
  await database?.close();
});

const count = async (sql: string, values: readonly unknown[] = []): Promise<number> => {
  const { rows } = await database.owner.query<{ n: number }>(`SELECT (${sql})::int AS n`, [
    ...values,
  ]);
  return rows[0].n;
};

const request = (changes: object = {}) =>
  roundRequestSchema.parse({ week: "2026-07-06", ...changes });

/** A property's first round in a week of its own, with its stops; homes used before are planned already. */
async function aRound(week: string) {
  const made = await createRounds(lead, request({ week, days: ["1"], person: lead.userId }), today);
  if (!made.ok) throw new Error(made.problems[0].message);
  return readRound(lead, made.value[0]);
}

type Stop = Awaited<ReturnType<typeof readRound>>["stops"][number];

function anEntry(roundId: string, stop: Stop, changes: object = {}, ofHeater: object = {}) {
  const heaterId = stop.tasks[0].heaterId;
  return {
    key: randomUUID(),
    roundId,
    stopId: stop.id,
    outcome: "done",
    doneOn: "2026-06-30",
    heaters: [
      {
        heaterId,
        tasks: stop.tasks
          .filter((task) => task.heaterId === heaterId)
          .map(({ task }) => ({ task, finding: null })),
        minutes: 40,
        tapF: null,
        parts: [],
        costCents: null,
        urgent: [],
        photos: 0,
        note: null,
        ...ofHeater,
      },
    ],
    note: null,
    keepBoth: false,
    ...changes,
  };
}

const visitsOf = (key: string) =>
  count('SELECT count(*) FROM "ServiceVisit" WHERE "entryKey" = $1', [key]);

describe("making rounds", () => {
  test("every home stands in one round once, whatever it needs, and no round is longer than a day", async () => {
    const { week, homes } = await previewRounds(lead, request(), today);
    const entered = week.rounds.flatMap(({ order }) => order.stops.map(({ id }) => id));
    expect(entered.length).toBeGreaterThan(3);
    expect(new Set(entered).size).toBe(entered.length);
    expect(Math.max(...[...homes.values()].map(({ tasks }) => tasks.length))).toBeGreaterThan(1);
    for (const { order } of week.rounds) expect(order.finishMinutes).toBeLessThanOrEqual(420);
  });

  test("two people who make the same rounds at once do not plan a home twice", async () => {
    const wanted = request({ week: "2026-07-13" });
    const outcomes = await Promise.all([
      createRounds(lead, wanted, today),
      createRounds(other, wanted, today),
      createRounds(manager, wanted, today),
    ]);
    expect(outcomes.some(({ ok }) => ok)).toBe(true);
    const doubled = await count(
      `SELECT count(*) FROM (SELECT s."unitId" FROM "RoundStop" s JOIN "Round" r ON r.id = s."roundId"
       WHERE r.status = 'planned' AND s."unitId" IS NOT NULL GROUP BY s."unitId" HAVING count(*) > 1) AS d`,
    );
    expect(doubled).toBe(0);
    const { coming } = await readRounds(lead, today);
    for (const { id } of coming) expect((await cancelRound(manager, id)).ok).toBe(true);
  });

  test("days without enough notice are left out and told", async () => {
    const soon = await previewRounds(lead, request({ week: "2026-06-29", noticeDays: "3" }), today);
    expect(soon.tooSoon).toEqual(["2026-06-29", "2026-06-30", "2026-07-01", "2026-07-02"]);
    expect(soon.week.rounds.every(({ day }) => day === "2026-07-03")).toBe(true);
  });

  test("a home is put on a day and at a time at which it may be entered", async () => {
    const { week } = await previewRounds(lead, request(), today);
    const unitId = week.rounds[0].order.stops[0].id;
    const saved = await saveHomeAccess(lead, {
      unitId,
      from: "13:00",
      to: "16:00",
      "day-4": "on",
      note: "call first",
    });
    expect(saved).toEqual({ ok: true, value: null });
    const after = await previewRounds(lead, request(), today);
    const days = after.week.rounds.filter(({ order }) =>
      order.stops.some(({ id }) => id === unitId),
    );
    const begins = days[0]?.order.stops.find(({ id }) => id === unitId)?.beginMinute ?? 0;
    expect(days.map(({ day }) => day)).toEqual(["2026-07-09"]);
    expect(begins).toBeGreaterThanOrEqual(13 * 60);
    const backwards = await saveHomeAccess(lead, { unitId, from: "13:00", to: "09:00", note: "" });
    expect(backwards.ok).toBe(false);
  });

  test("assigning, moving and ordering raise the version; a move asks for new notices", async () => {
    const { round } = await aRound("2026-07-20");
    expect((await assignRound(lead, round.id, other.userId)).ok).toBe(true);
    expect((await assignRound(lead, round.id, onlooker.userId)).ok).toBe(false);
    expect((await moveRound(lead, round.id, "2026-07-21")).ok).toBe(true);
    expect((await moveRound(lead, round.id, "2026-02-30")).ok).toBe(false);
    expect((await reorderRound(lead, round.id)).ok).toBe(true);
    const after = await readRound(lead, round.id);
    expect(after.round).toMatchObject({
      plannedOn: "2026-07-21",
      assignee: "Other",
      noticesGivenOn: null,
    });
    expect(after.round.version).toBe(round.version + 3);
    expect(after.round.finishBoundMinutes).toBeLessThanOrEqual(after.round.finishMinutes);
    await cancelRound(lead, round.id);
  });

  test("who may not record visits makes no rounds, and nobody sees another organisation's", async () => {
    expect(() => previewRounds(onlooker, request(), today)).toThrow(/not-allowed/);
    await expect(createRounds(onlooker, request(), today)).rejects.toThrow(/not-allowed/);
    const { round } = await aRound("2026-07-27");
    await expect(readRound(stranger, round.id)).rejects.toThrow(/not-found/);
    await cancelRound(lead, round.id);
  });
});

describe("entries from a phone", () => {
  test("an entry that is sent many times, also at once, is kept once", async () => {
    const { round, stops } = await aRound("2026-08-03");
    const entry = anEntry(round.id, stops[0]);
    const answers = await Promise.all(
      Array.from({ length: 6 }, () => receiveEntry(lead, entry, today)),
    );
    answers.push(await receiveEntry(lead, entry, today));
    expect(answers.filter(({ status }) => status === "kept")).toHaveLength(1);
    expect(answers.filter(({ status }) => status === "already")).toHaveLength(6);
    expect(await visitsOf(entry.key)).toBe(1);
    expect(
      await count(
        `SELECT count(*) FROM "VisitTask" t JOIN "ServiceVisit" v ON v.id = t."visitId" WHERE v."entryKey" = $1`,
        [entry.key],
      ),
    ).toBe(entry.heaters[0].tasks.length);
    const after = await readRound(lead, round.id);
    expect(after.stops[0].status).toBe("done");
    await cancelRound(lead, round.id);
  });

  test("an entry renews the risk of its heater in the same transaction", async () => {
    const { round, stops } = await aRound("2026-08-10");
    const entry = anEntry(round.id, stops[0]);
    await receiveEntry(lead, entry, today);
    expect(
      await count(
        `SELECT count(*) FROM "HeaterRisk" WHERE "heaterId" = $1 AND "asOf" = '2026-06-30'`,
        [entry.heaters[0].heaterId],
      ),
    ).toBe(1);
    await cancelRound(lead, round.id);
  });

  test("what somebody else recorded is a conflict; nothing is kept until the person decides", async () => {
    const { round, stops } = await aRound("2026-08-17");
    await receiveEntry(other, anEntry(round.id, stops[0]), today);
    const mine = anEntry(round.id, stops[0]);
    expect(await receiveEntry(lead, mine, today)).toMatchObject({
      status: "conflict",
      message: expect.stringContaining("Other"),
      mayKeepBoth: true,
    });
    expect(await visitsOf(mine.key)).toBe(0);
    expect(await receiveEntry(lead, { ...mine, keepBoth: true }, today)).toMatchObject({
      status: "kept",
    });
    expect(await visitsOf(mine.key)).toBe(1);
    await cancelRound(lead, round.id);
  });

  test("a home without access can be entered later; the other way round is a conflict", async () => {
    const { round, stops } = await aRound("2026-08-24");
    const closed = anEntry(round.id, stops[0], {
      outcome: "no-access",
      heaters: [],
      note: "no answer",
    });
    expect(await receiveEntry(lead, closed, today)).toEqual({ status: "kept", visits: 0 });
    expect((await readRound(lead, round.id)).stops[0].status).toBe("no-access");
    expect(await receiveEntry(other, anEntry(round.id, stops[0]), today)).toMatchObject({
      status: "kept",
    });
    const late = { ...closed, key: randomUUID() };
    expect(await receiveEntry(lead, late, today)).toMatchObject({ status: "conflict" });
    expect((await readRound(lead, round.id)).stops[0].status).toBe("done");
    await cancelRound(lead, round.id);
  });

  test("a cancelled round and a heater out of service are conflicts, and keep what is decided", async () => {
    const { round, stops } = await aRound("2026-08-31");
    await cancelRound(manager, round.id);
    const entry = anEntry(round.id, stops[0]);
    expect(await receiveEntry(lead, entry, today)).toMatchObject({
      status: "conflict",
      message: expect.stringContaining("cancelled"),
    });
    expect(await receiveEntry(lead, { ...entry, keepBoth: true }, today)).toMatchObject({
      status: "kept",
    });
    expect((await readRound(lead, round.id)).round.status).toBe("cancelled");
  });

  test("a form that is not right is refused with its reason, and an entry of another organisation too", async () => {
    const { round, stops } = await aRound("2026-09-07");
    const bad = anEntry(round.id, stops[0], { doneOn: "2026-07-02" });
    expect(await receiveEntry(lead, bad, today)).toMatchObject({
      status: "refused",
      message: expect.stringContaining("doneOn"),
    });
    const old = anEntry(round.id, stops[0], { doneOn: "1990-01-01" });
    expect(await receiveEntry(lead, old, today)).toMatchObject({
      status: "refused",
      message: expect.stringContaining("installed"),
    });
    expect(await receiveEntry(stranger, anEntry(round.id, stops[0]), today)).toMatchObject({
      status: "refused",
    });
    await expect(receiveEntry(onlooker, anEntry(round.id, stops[0]), today)).rejects.toThrow(
      /not-allowed/,
    );
    await cancelRound(lead, round.id);
  });

  test("an entry taken back before it arrives stays without effect when it does", async () => {
    const { round, stops } = await aRound("2026-09-14");
    const entry = anEntry(round.id, stops[0]);
    const { key, roundId, stopId } = entry;
    expect(await takeBackEntry(lead, { key, roundId, stopId }, today)).toEqual({
      status: "taken-back",
    });
    expect(await receiveEntry(lead, entry, today)).toEqual({ status: "taken-back" });
    expect(await visitsOf(key)).toBe(0);
    expect((await readRound(lead, round.id)).stops[0].status).toBe("open");
    await cancelRound(lead, round.id);
  });

  test("the last stop ends the round; taking it back opens both, with all that it brought", async () => {
    const { round, stops } = await aRound("2026-09-21");
    const entries = stops.map((stop) =>
      anEntry(
        round.id,
        stop,
        {},
        { urgent: ["leak"], parts: [{ name: "Hose", quantity: 1, costCents: 900 }] },
      ),
    );
    for (const entry of entries) await receiveEntry(lead, entry, today);
    expect((await readRound(lead, round.id)).round.status).toBe("done");
    const { key, roundId, stopId } = entries[0];
    const photoId = randomUUID();
    const photo = BASELINE_JPEG;
    const target = { photoId, entryKey: key, heaterId: entries[0].heaters[0].heaterId };
    expect(await receivePhoto(lead, target, photo)).toEqual({ status: "kept" });
    expect(await takeBackEntry(other, { key, roundId, stopId }, today)).toMatchObject({
      status: "refused",
    });
    expect(await takeBackEntry(manager, { key, roundId, stopId }, today)).toEqual({
      status: "taken-back",
    });
    const after = await readRound(lead, round.id);
    expect([after.round.status, after.stops[0].status]).toEqual(["planned", "open"]);
    expect(await visitsOf(key)).toBe(0);
    expect(await count('SELECT count(*) FROM "VisitPhoto" WHERE id = $1', [photoId])).toBe(0);
    expect(
      await count(`SELECT count(*) FROM "UrgentMatter" WHERE "heaterId" = $1 AND status = 'open'`, [
        target.heaterId,
      ]),
    ).toBe(0);
    expect(await receivePhoto(lead, { ...target, photoId: randomUUID() }, photo)).toEqual({
      status: "gone",
    });
    await cancelRound(lead, round.id);
  });
});

describe("photos", () => {
  const jpeg = withSegment(BASELINE_JPEG, 0xe1, "Exif\0\0GPS");

  test("kept once, by their content; pages, large files and too many are refused", async () => {
    const { round, stops } = await aRound("2026-09-28");
    const entry = anEntry(round.id, stops[0], {}, { photos: 2 });
    const target = {
      photoId: randomUUID(),
      entryKey: entry.key,
      heaterId: entry.heaters[0].heaterId,
    };
    expect(await receivePhoto(lead, target, jpeg)).toEqual({ status: "waits" });
    await receiveEntry(lead, entry, today);
    expect(await receivePhoto(lead, target, jpeg)).toEqual({ status: "kept" });
    expect(await receivePhoto(lead, target, jpeg)).toEqual({ status: "already" });
    const page = new TextEncoder().encode("<html><script>alert(1)</script></html>");
    const again = () => ({ ...target, photoId: randomUUID() });
    expect(await receivePhoto(lead, again(), page)).toMatchObject({ status: "refused" });
    const large = new Uint8Array(MOST_PHOTO_BYTES + 1);
    large.set(jpeg);
    expect(await receivePhoto(lead, again(), large)).toMatchObject({ status: "refused" });
    for (let i = 0; i < 5; i++)
      expect(await receivePhoto(lead, again(), jpeg)).toEqual({ status: "kept" });
    expect(await receivePhoto(lead, again(), jpeg)).toMatchObject({ status: "refused" });
    const read = await readPhoto(onlooker, target.photoId);
    expect(read.contentType).toBe("image/jpeg");
    expect(stripJpeg(read.bytes)).toMatchObject({ widthPixels: 16, heightPixels: 8 });
    expect(Buffer.from(read.bytes).toString("latin1")).not.toMatch(/Exif|GPS/);
    await expect(readPhoto(stranger, target.photoId)).rejects.toThrow(/not-found/);
    await cancelRound(lead, round.id);
  });
});

describe("urgent matters", () => {
  test("a failed relief valve and a hot tap raise themselves, once, and stay until somebody settles them", async () => {
    const { round, stops } = await aRound("2026-10-05");
    const entry = anEntry(
      round.id,
      stops[0],
      {},
      {
        tasks: [{ task: "relief-valve-test", finding: "stuck" }],
        tapF: 131,
        urgent: ["gas-smell"],
        note: "behind the washer",
      },
    );
    await receiveEntry(lead, entry, today);
    await receiveEntry(lead, entry, today);
    const { heaterId } = entry.heaters[0];
    const raised = (await readUrgentMatters(manager)).open.filter(
      (matter) => matter.heaterId === heaterId,
    );
    expect(raised.map(({ kind, tapF }) => [kind, tapF])).toEqual([
      ["gas-smell", null],
      ["scald", 131],
      ["relief-valve", null],
    ]);
    expect((await settleMatter(lead, { id: raised[0].id, note: " " }, today)).ok).toBe(false);
    expect(
      (await settleMatter(lead, { id: raised[0].id, note: "gas company came" }, today)).ok,
    ).toBe(true);
    expect((await settleMatter(other, { id: raised[0].id, note: "me too" }, today)).ok).toBe(false);
    expect((await readUrgentMatters(manager)).settled[0]).toMatchObject({
      settledBy: "Lead",
      kind: "gas-smell",
    });
    expect((await reopenMatter(manager, raised[0].id)).ok).toBe(true);
    expect((await readUrgentMatters(stranger)).open).toEqual([]);
    await cancelRound(lead, round.id);
  });
});

describe("calendars", () => {
  const read = async (secret: string) => {
    const text = await readCalendar(secret, today, "https://desk.example");
    return text === null ? null : parseICalendar(new TextEncoder().encode(text));
  };
  const secretOf = async (viewer: Viewer, content = "rounds") => {
    const made = await makeFeed(viewer, content);
    if (!made.ok) throw new Error(made.problems[0].message);
    return made.value.secret;
  };

  test("a secret opens the person's own rounds; a cancelled one stays, marked, under the same UID", async () => {
    const { round } = await aRound("2026-10-12");
    const secret = await secretOf(lead);
    const find = async () =>
      (await read(secret))?.components.find((event) => textOf(event, "UID")?.includes(round.id));
    const before = await find();
    expect(before && textOf(before, "STATUS")).toBe("CONFIRMED");
    await cancelRound(lead, round.id);
    const after = await find();
    expect(after && textOf(after, "STATUS")).toBe("CANCELLED");
    expect(Number(after && textOf(after, "SEQUENCE"))).toBeGreaterThan(
      Number(before && textOf(before, "SEQUENCE")),
    );
    const others = await read(await secretOf(other));
    expect(others?.components.some((event) => textOf(event, "UID")?.includes(round.id))).toBe(
      false,
    );
  });

  test("work that falls due stands on its week's Monday and leaves the person free", async () => {
    const calendar = await read(await secretOf(manager, "rounds-and-due"));
    const due =
      calendar?.components.filter((event) => textOf(event, "UID")?.startsWith("due-")) ?? [];
    expect(due.length).toBeGreaterThan(0);
    for (const event of due) expect(textOf(event, "TRANSP")).toBe("TRANSPARENT");
  });

  test("secrets that are wrong, taken back, or of somebody who left open nothing, and none is stored", async () => {
    const secret = await secretOf(other);
    expect(
      await count(`SELECT count(*) FROM "CalendarFeed" f WHERE f::text LIKE '%' || $1 || '%'`, [
        secret,
      ]),
    ).toBe(0);
    expect(await read(`${secret.slice(0, -1)}${secret.endsWith("A") ? "B" : "A"}`)).toBeNull();
    expect(await read("' OR 1=1 --")).toBeNull();
    const [feed] = await readFeeds(other);
    expect((await takeBackFeed(lead, feed.id)).ok).toBe(false);
    expect((await takeBackFeed(other, feed.id)).ok).toBe(true);
    expect(await read(secret)).toBeNull();
    const leaver = await aPerson(organizationId, "Leaver", "maintenance");
    const left = await secretOf(leaver);
    expect(await read(left)).not.toBeNull();
    await database.owner.query('DELETE FROM "Member" WHERE "userId" = $1', [leaver.userId]);
    expect(await read(left)).toBeNull();
  });
});
