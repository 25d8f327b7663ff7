import { randomUUID } from "node:crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { stripJpeg } from "@/lib/core/shared/jpeg";
import { listInferredItems } from "@/lib/data/survey";
import { withSql } from "@/lib/data/tenant";
import {
  copySurvey,
  readBuildingSurvey,
  readHeaterSite,
  saveSurvey,
  takeBackCopy,
} from "@/lib/services/survey";
import { addSurveyPhoto, readSurveyPhoto, removeSurveyPhoto } from "@/lib/services/survey-photos";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";
import { BASELINE_JPEG, withSegment } from "@/test/support/small-jpegs";

const TODAY = calendarDay("2026-11-25");
/** The first bytes of a JPEG (FF D8 FF) and what no reader of the test looks at. */
/** Begins as a JPEG and is none. */
const FAKE = Uint8Array.from([0xff, 0xd8, 0xff, 0xe0, 1, 2, 3, 4]);
const PNG = Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0]);

let database: TestDatabase;
let lead: Viewer;
let stranger: Viewer;
/** Four gas heaters of one building, their homes made alike, without a survey. */
let heaterIds: string[];
let buildingId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  stranger = await anOrganization(database, { name: "Another organisation" });
  const options = { seed: 5, today: TODAY, heaters: 120, people: false };
  lead = {
    ...stranger,
    role: "maintenance",
    organizationId: await writeDemo(database.ownerUrl, options),
  };
  const { rows } = await database.owner.query(
    `SELECT h."buildingId" FROM "Heater" h
     WHERE h.status = 'in-service' AND h.technology = 'gas-storage' AND h."unitId" IS NOT NULL
     GROUP BY 1 HAVING count(*) >= 4 ORDER BY 1 LIMIT 1`,
  );
  buildingId = rows[0].buildingId;
  const heaters = await database.owner.query(
    `SELECT id FROM "Heater" WHERE "buildingId" = $1 AND status = 'in-service'
       AND technology = 'gas-storage' ORDER BY id LIMIT 4`,
    [buildingId],
  );
  heaterIds = heaters.rows.map(({ id }) => id);
  await database.owner.query(`DELETE FROM "ReadinessAnswer" WHERE "heaterId" = ANY ($1)`, [
    heaterIds,
  ]);
  await database.owner.query(
    `UPDATE "Heater" SET place = 'interior-closet', "drainPan" = 'unknown', "leakShutoff" = 'unknown'
     WHERE id = ANY ($1)`,
    [heaterIds],
  );
  await database.owner.query(
    `UPDATE "Unit" SET bedrooms = 2, bathrooms = 1
     WHERE id IN (SELECT "unitId" FROM "Heater" WHERE id = ANY ($1))`,
    [heaterIds],
  );
});

afterAll(async () => {
  await database?.close();
});

const site = async (id: string) => {
  const found = await readHeaterSite(lead, id, TODAY);
  if (!found) throw new Error("no heater");
  return found;
};

const said = (item: string, answer: string, more: object = {}) => ({
  item,
  answer,
  note: null,
  measures: null,
  ...more,
});

describe("a survey on site", () => {
  test("keeps each answer with day, person, note and measures", async () => {
    const [first] = heaterIds as [string];
    const saved = await saveSurvey(
      lead,
      first,
      {
        observedOn: "2026-11-24",
        answers: [
          said("clearance", "yes", { note: "  Door is 28 in wide " }),
          said("condensate-route", "no", { measures: { runFt: 12, fallIn: 1 } }),
          said("circuit-240v", "no"),
        ],
      },
      TODAY,
    );

    expect(saved).toEqual({ ok: true, value: { answers: 3 } });
    const { survey, answers, progress } = await site(first);
    expect(survey.find(({ item }) => item === "clearance")).toEqual({
      item: "clearance",
      answer: "yes",
      basis: "seen",
      observedOn: "2026-11-24",
      observedBy: lead.name,
      note: "Door is 28 in wide",
      measures: null,
      inferredFromId: null,
    });
    expect(survey.find(({ item }) => item === "condensate-route")?.measures).toEqual({
      runFt: 12,
      fallIn: 1,
    });
    expect(answers["circuit-240v"]).toEqual({ answer: "no", from: "seen" });
    expect(progress).toMatchObject({ known: 3, unknown: 11, isSeen: true });
    const log = await database.owner.query(
      `SELECT after FROM "AuditEntry" WHERE action = 'survey.record' AND "entityId" = $1`,
      [first],
    );
    expect(log.rows[0].after).toMatchObject({ clearance: "yes", observedOn: "2026-11-24" });
  });

  test("changes only what was answered", async () => {
    const [first] = heaterIds as [string];
    await saveSurvey(
      lead,
      first,
      { observedOn: "2026-11-25", answers: [said("circuit-240v", "yes")] },
      TODAY,
    );
    const { answers } = await site(first);
    expect(answers["circuit-240v"].answer).toBe("yes");
    expect(answers.clearance.answer).toBe("yes");
  });

  test("puts pan and shut-off into the heater's own record and its risk", async () => {
    const [, , , last] = heaterIds as [string, string, string, string];
    await saveSurvey(
      lead,
      last,
      {
        observedOn: "2026-11-25",
        answers: [said("drain-pan", "yes"), said("leak-shutoff", "unknown")],
      },
      TODAY,
    );
    const { rows } = await database.owner.query(
      `SELECT h."drainPan", h."leakShutoff", h.version, r."asOf" FROM "Heater" h
       LEFT JOIN "HeaterRisk" r ON r."heaterId" = h.id WHERE h.id = $1`,
      [last],
    );
    expect(rows[0]).toMatchObject({ drainPan: "yes", leakShutoff: "unknown", version: 2 });
    expect(rows[0].asOf).not.toBeNull();
  });

  test("judges every option of the catalogue with what is missing and what it costs", async () => {
    const [first] = heaterIds as [string];
    const { verdicts } = await site(first);
    const heatPump = verdicts.find(({ code }) => code === "hp240-50");
    expect(heatPump?.missing).toEqual(["condensate-route"]);
    expect(heatPump?.state).toBe("needs-work");
    expect(heatPump?.cost.workCents).toBeGreaterThan(0);
    expect(heatPump?.sizing.minimum?.storageGal).toBe(30);
    expect(verdicts.find(({ code }) => code === "hp-central")?.state).toBe("not-possible");
  });

  test.each([
    [{ observedOn: "2026-11-27", answers: [said("noise", "yes")] }, "observedOn"],
    [{ observedOn: "2026-11-25", answers: [] }, "answers"],
    [{ observedOn: "2026-11-25", answers: [said("noise", "perhaps")] }, "answers[0].answer"],
    [
      { observedOn: "2026-11-25", answers: [said("noise", "yes", { measures: { runFt: 1 } })] },
      "answers[0].measures",
    ],
    [{ observedOn: "2026-11-25", answers: [said("noise", "yes"), said("noise", "no")] }, "answers"],
  ])("is refused with where and what: %j", async (input, path) => {
    const refused = await saveSurvey(lead, heaterIds[0] as string, input, TODAY);
    expect(refused.ok ? [] : refused.problems.map((problem) => problem.path)).toContain(path);
  });

  test("is nobody else's to see or change", async () => {
    const [first] = heaterIds as [string];
    expect(await readHeaterSite(stranger, first, TODAY)).toBeNull();
    await expect(
      saveSurvey(
        stranger,
        first,
        { observedOn: "2026-11-25", answers: [said("noise", "yes")] },
        TODAY,
      ),
    ).rejects.toThrow(/not-found/);
    await expect(saveSurvey({ ...lead, role: "viewer" }, first, {}, TODAY)).rejects.toThrow(
      /not-allowed/,
    );
  });
});

describe("answers carried to like homes", () => {
  const copy = (changes: object = {}) =>
    copySurvey(lead, {
      fromId: heaterIds[0],
      toIds: heaterIds.slice(1, 3),
      items: ["clearance", "circuit-240v"],
      sameRiser: false,
      ...changes,
    });

  test("are marked as inferred until seen, count as not firm, and are taken back whole", async () => {
    const [, second, third] = heaterIds as [string, string, string];
    await saveSurvey(
      lead,
      third,
      { observedOn: "2026-11-25", answers: [said("clearance", "no")] },
      TODAY,
    );

    const copied = await copy();

    if (!copied.ok) throw new Error(JSON.stringify(copied.problems));
    expect(copied.value).toMatchObject({ heaters: 2, answers: 3 });
    expect((await site(second)).answers.clearance).toEqual({ answer: "yes", from: "inferred" });
    expect((await site(second)).verdicts[0]?.state).toBe("not-seen");
    // What somebody saw stays.
    expect((await site(third)).answers.clearance).toEqual({ answer: "no", from: "seen" });
    const inferred = await withSql(lead, listInferredItems);
    expect(inferred.get(second)).toEqual(["circuit-240v", "clearance"]);

    await saveSurvey(
      lead,
      second,
      { observedOn: "2026-11-25", answers: [said("circuit-240v", "no")] },
      TODAY,
    );
    expect(await takeBackCopy(lead, copied.value.inferenceId)).toEqual({ ok: true, value: null });
    expect((await site(second)).answers["circuit-240v"]).toEqual({ answer: "no", from: "seen" });
    expect((await site(second)).answers.clearance).toEqual({ answer: "unknown", from: "none" });
    expect((await takeBackCopy(lead, copied.value.inferenceId)).ok).toBe(false);
  });

  test("go to no home that is not alike", async () => {
    await database.owner.query(
      `UPDATE "Unit" SET bedrooms = 3 WHERE id = (SELECT "unitId" FROM "Heater" WHERE id = $1)`,
      [heaterIds[3]],
    );
    const refused = await copy({ toIds: [heaterIds[3]] });
    expect(refused.ok ? "" : refused.problems[0]?.message).toMatch(/other number of bedrooms/);
    const { copy: offer } = await readBuildingSurvey(
      lead,
      buildingId,
      { optionCode: null, copyFromId: heaterIds[0] as string, sameRiser: false },
      TODAY,
    );
    expect(offer?.others.find(({ heaterId }) => heaterId === heaterIds[3])?.why).toEqual([
      "other number of bedrooms",
    ]);
    expect(offer?.items.map(({ item }) => item)).toEqual([
      "clearance",
      "condensate-route",
      "circuit-240v",
    ]);
  });

  test("that would add nothing are refused", async () => {
    expect((await copy()).ok).toBe(true);
    const again = await copy();
    expect(again.ok ? "" : again.problems[0]?.message).toMatch(/Nothing was carried over/);
  });
});

describe("a picture of the place", () => {
  const photo = (changes: object = {}) => ({
    id: randomUUID(),
    heaterId: heaterIds[0],
    item: "panel-space",
    takenOn: "2026-11-25",
    ...changes,
  });

  test("is kept once however often it is sent, and without what the camera wrote beside it", async () => {
    const fromCamera = withSegment(BASELINE_JPEG, 0xe1, "Exif\0\0GPS");
    const one = photo();
    expect(await addSurveyPhoto(lead, one, fromCamera)).toEqual({ ok: true, value: null });
    expect(await addSurveyPhoto(lead, one, fromCamera)).toEqual({ ok: true, value: null });
    const { photos } = await site(heaterIds[0] as string);
    expect(photos).toHaveLength(1);
    expect(photos[0]).toMatchObject({ item: "panel-space", takenBy: lead.name });
    const kept = Buffer.from((await readSurveyPhoto(lead, one.id)) ?? []);
    expect(photos[0]?.byteCount).toBe(kept.length);
    expect(kept.toString("latin1")).not.toMatch(/Exif|GPS/);
    expect(stripJpeg(kept)).toMatchObject({ widthPixels: 16, heightPixels: 8 });
    expect(await readSurveyPhoto(stranger, one.id)).toBeNull();

    expect(await removeSurveyPhoto(stranger, one.id)).toMatchObject({ ok: false });
    expect(await removeSurveyPhoto(lead, one.id)).toEqual({ ok: true, value: null });
    expect(await readSurveyPhoto(lead, one.id)).toBeNull();
  });

  test("that is no JPEG by its content, or too large, is refused", async () => {
    for (const bytes of [PNG, FAKE, Buffer.from("<html>"), new Uint8Array(0)]) {
      expect((await addSurveyPhoto(lead, photo(), bytes)).ok).toBe(false);
    }
    const large = new Uint8Array(2 * 1024 * 1024 + 1);
    large.set(BASELINE_JPEG);
    expect((await addSurveyPhoto(lead, photo(), large)).ok).toBe(false);
    expect((await addSurveyPhoto(lead, photo({ heaterId: randomUUID() }), BASELINE_JPEG)).ok).toBe(
      false,
    );
  });

  test("cannot get past the database's own check either", async () => {
    await expect(
      withSql(lead, (client) =>
        client.query(
          `INSERT INTO "SurveyPhoto" (id, "organizationId", "heaterId", bytes, "byteCount", "takenOn", "takenBy")
           VALUES ($1, $2, $3, $4, $5, $6, 'x')`,
          [
            randomUUID(),
            lead.organizationId,
            heaterIds[0],
            Buffer.from("<script>"),
            8,
            "2026-11-25",
          ],
        ),
      ),
    ).rejects.toThrow(/survey_photo_is_jpeg/);
  });
});
