import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import {
  readBuildingCards,
  readEmergencyBoard,
  saveEmergencyTerms,
} from "@/lib/services/emergency-card";
import { saveSurvey } from "@/lib/services/survey";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const TODAY = calendarDay("2026-11-25");
const LISTS = { preApproved: ["hp240-50", "hp240-65"], otherwise: ["gas-40", "electric-50"] };
/** Everything a 240 V heat pump needs. */
const NEEDED = [
  "circuit-240v",
  "panel-space",
  "air-volume",
  "condensate-route",
  "clearance",
  "drain-pan",
  "relief-discharge",
  "seismic-straps",
];

let database: TestDatabase;
let manager: Viewer;
let stranger: Viewer;
let heaterId: string;
let buildingId: string;
let propertyId: string;

beforeAll(async () => {
  database = await openTestDatabase();
  stranger = await anOrganization(database, { name: "Another organisation" });
  manager = {
    ...stranger,
    role: "manager",
    organizationId: await writeDemo(database.ownerUrl, {
      seed: 6,
      today: TODAY,
      heaters: 60,
      people: false,
    }),
  };
  const { rows } = await database.owner.query(
    `SELECT h.id, h."buildingId", b."propertyId" FROM "Heater" h JOIN "Building" b ON b.id = h."buildingId"
     WHERE h.status = 'in-service' AND h.technology = 'gas-storage' AND h."unitId" IS NOT NULL
     ORDER BY h.id LIMIT 1`,
  );
  [{ id: heaterId, buildingId, propertyId }] = rows;
});

afterAll(async () => {
  await database?.close();
});

const card = async () => {
  const { cards } = await readBuildingCards(manager, buildingId, TODAY, heaterId);
  if (!cards[0]) throw new Error("no card");
  return cards[0];
};

const survey = (answer: (item: string) => string) =>
  saveSurvey(
    manager,
    heaterId,
    {
      observedOn: TODAY,
      answers: NEEDED.map((item) => ({ item, answer: answer(item), note: null, measures: null })),
    },
    TODAY,
  );

describe("what is approved for failures", () => {
  test("is the starting lists, approved by nobody, until somebody decides", async () => {
    const { terms, buildings } = await readEmergencyBoard(manager, null, TODAY);
    expect(terms).toMatchObject({ preApproved: ["hp240-50"], contacts: [], approved: null });
    const counted = buildings.reduce(
      (sum, { preApproved, otherwise, nothing }) => sum + preApproved + otherwise + nothing,
      0,
    );
    expect(counted).toBe(60);
  });

  test("is kept under the name and day of who decided, with whom to call where", async () => {
    const saved = await saveEmergencyTerms(
      manager,
      {
        ...LISTS,
        contacts: [
          { duty: "plumber", name: "An invented plumber", phone: "555 0100", propertyId: null },
          { duty: "on-call", name: "An invented person", phone: "+1 555 0101", propertyId },
          {
            duty: "electrician",
            name: "Elsewhere",
            phone: "555-0102",
            propertyId: "00000000-0000-4000-8000-000000000001",
          },
        ],
      },
      TODAY,
    );
    expect(saved).toEqual({ ok: true, value: null });
    const { terms, contacts } = await readBuildingCards(manager, buildingId, TODAY);
    expect(terms.approved).toEqual({ by: manager.name, on: TODAY });
    expect(contacts.map(({ name }) => name)).toEqual(["An invented plumber", "An invented person"]);
  });

  test.each([
    [{ ...LISTS, otherwise: [], contacts: [] }, "otherwise"],
    [{ preApproved: ["gas-40"], otherwise: ["gas-40"], contacts: [] }, "otherwise"],
    [{ ...LISTS, preApproved: ["unheard-of"], contacts: [] }, ""],
    [
      { ...LISTS, contacts: [{ duty: "plumber", name: " ", phone: "call me", propertyId: null }] },
      "contacts[0].phone",
    ],
  ])("is refused with where and what (%#)", async (input, path) => {
    const refused = await saveEmergencyTerms(manager, input, TODAY);
    expect(refused.ok ? [] : refused.problems.map((problem) => problem.path)).toContain(path);
  });

  test("is not everybody's to decide, and nobody else's to see", async () => {
    await expect(async () =>
      saveEmergencyTerms({ ...manager, role: "maintenance" }, { ...LISTS, contacts: [] }, TODAY),
    ).rejects.toThrow(/not-allowed/);
    await expect(readBuildingCards(stranger, buildingId, TODAY)).rejects.toThrow(/not-found/);
    expect((await readEmergencyBoard(stranger, null, TODAY)).terms.approved).toBeNull();
  });
});

describe("the card of a heater", () => {
  test("names the approved option where everything it needs was seen", async () => {
    await survey(() => "yes");
    const { choice, cautions } = await card();
    expect(choice).toMatchObject({ isPreApproved: true, passedOver: [] });
    expect(choice.verdict?.code).toBe("hp240-50");
    expect(cautions).toContain("gas-capoff");
    expect(cautions).toContain("electrical");
  });

  test("falls back and says what is missing where something is not there", async () => {
    await survey((item) => (item === "circuit-240v" ? "no" : "yes"));
    const { choice } = await card();
    expect(choice.isPreApproved).toBe(false);
    expect(choice.verdict?.code).toBe("gas-40");
    expect(choice.passedOver[0]?.why).toMatch(/missing: 240 V, 30 A circuit/);
  });
});
