import { randomUUID } from "node:crypto";
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test, vi } from "vitest";
import { writeDemo } from "@/demo-seed/write";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { ROLES } from "@/lib/core/shared/roles";
import { type Action, mayDo } from "@/lib/services/permissions";
import { ServiceError } from "@/lib/services/service-error";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

const signedIn = vi.hoisted(() => ({ viewer: null as Viewer | null }));

/** What the framework throws where a redirect ends an action: the action was carried out. */
class Redirected extends Error {}

vi.mock("@/app/_lib/viewer", () => ({
  requireViewer: async () => {
    if (!signedIn.viewer) throw new Redirected("/sign-in");
    return signedIn.viewer;
  },
  maybeViewer: async () => signedIn.viewer,
}));
vi.mock("next/cache", () => ({ revalidatePath: () => undefined }));
vi.mock("next/headers", () => ({
  headers: async () => new Headers({ host: "127.0.0.1:3210" }),
  cookies: async () => ({ get: () => undefined, set: () => undefined }),
}));
vi.mock("next/navigation", () => ({
  redirect: (address: string) => {
    throw new Redirected(address);
  },
  notFound: () => {
    throw new Redirected("not found");
  },
}));

/** Things of another organisation, by what they are. */
type Ids = Readonly<Record<(typeof KINDS)[number], string>>;
const KINDS = [
  "Heater",
  "Property",
  "Building",
  "Unit",
  "Scenario",
  "OptionType",
  "WaterTest",
  "ServiceVisit",
  "Member",
] as const;

type Listed = {
  /** What the permission table must include; `open` is for whoever has no account yet. */
  readonly needs: Action | "open";
  readonly with?: (ids: Ids) => readonly unknown[];
};

/** Every field that a form of the program may name another organisation's thing in. */
function formOf(ids: Ids, more: Readonly<Record<string, string>> = {}): FormData {
  const form = new FormData();
  const fields: Readonly<Record<string, string>> = {
    id: ids.Heater,
    heaterId: ids.Heater,
    propertyId: ids.Property,
    property: ids.Property,
    buildingId: ids.Building,
    unitId: ids.Unit,
    scenarioId: ids.Scenario,
    runId: NOBODYS,
    fitId: NOBODYS,
    matterId: NOBODYS,
    visitId: ids.ServiceVisit,
    ...more,
  };
  for (const [name, value] of Object.entries(fields)) form.set(name, value);
  return form;
}

/** An id that nothing has: where the other organisation has no such thing to name. */
const NOBODYS = randomUUID();
const noState = { problems: [], conflict: null };
const form = (ids: Ids) => [formOf(ids)];
const stateAndForm = (ids: Ids) => [noState, formOf(ids)];
const nobodys = () => [NOBODYS];

const ACTIONS: Readonly<Record<string, Listed>> = {
  "(desk)/actions.ts signOut": { needs: "open" },
  "(desk)/actions.ts chooseTheme": { needs: "open", with: form },
  "(desk)/emissions/actions.ts computeAccount": {
    needs: "settings.edit",
    with: (ids) => [formOf(ids, { year: "2025" })],
  },
  "(desk)/emissions/actions.ts stopAccount": { needs: "settings.edit", with: nobodys },
  "(desk)/emissions/actions.ts checkAccount": { needs: "record.read", with: nobodys },
  "(desk)/emissions/record-actions.ts enterContract": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts dropContract": { needs: "settings.edit", with: nobodys },
  "(desk)/emissions/record-actions.ts enterFactor": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts changeFactor": {
    needs: "settings.edit",
    with: () => [NOBODYS, true],
  },
  "(desk)/emissions/record-actions.ts enterTerms": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts enterPropertyEnergy": {
    needs: "settings.edit",
    with: (ids) => [ids.Property, formOf(ids)],
  },
  "(desk)/emissions/record-actions.ts enterReading": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts dropReading": { needs: "settings.edit", with: nobodys },
  "(desk)/emissions/record-actions.ts enterDisposal": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts enterRefrigerant": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts dropRefrigerant": { needs: "settings.edit", with: nobodys },
  "(desk)/emissions/record-actions.ts enterPolicy": { needs: "settings.edit", with: form },
  "(desk)/emissions/record-actions.ts dropPolicy": { needs: "settings.edit", with: nobodys },
  "(desk)/emissions/record-actions.ts adoptBase": { needs: "settings.edit", with: nobodys },
  "(desk)/heaters/actions.ts saveNewHeater": { needs: "heater.edit", with: stateAndForm },
  "(desk)/heaters/actions.ts saveHeater": {
    needs: "heater.edit",
    with: (ids) => [ids.Heater, noState, formOf(ids, { version: "1", tag: "TAKEN" })],
  },
  "(desk)/heaters/actions.ts saveRetirement": {
    needs: "heater.edit",
    with: (ids) => [
      ids.Heater,
      noState,
      formOf(ids, { version: "1", earliest: "2026-06-01", latest: "2026-06-01", cause: "leak" }),
    ],
  },
  "(desk)/heaters/actions.ts putBackInService": {
    needs: "heater.edit",
    with: ({ Heater }) => [Heater],
  },
  "(desk)/heaters/actions.ts buildingsOf": {
    needs: "record.read",
    with: ({ Property }) => [Property],
  },
  "(desk)/import/actions.ts saveMatching": {
    needs: "import.run",
    with: () => [NOBODYS, { matches: [], constants: {} }],
  },
  "(desk)/import/actions.ts bringIn": {
    needs: "import.run",
    with: () => [NOBODYS, { allOrNothing: true, endsOnRecordSince: "" }],
  },
  "(desk)/import/actions.ts undoFile": { needs: "import.run", with: nobodys },
  "(desk)/import/actions.ts resumeFile": { needs: "import.run", with: nobodys },
  "(desk)/import/actions.ts discardFile": { needs: "import.run", with: nobodys },
  "(desk)/plans/[id]/life/actions.ts submitApproval": {
    needs: "plan.edit",
    with: () => [NOBODYS, 1, "approve"],
  },
  "(desk)/plans/[id]/life/actions.ts submitLines": {
    needs: "plan.edit",
    with: () => [NOBODYS, { act: "commit", items: [] }],
  },
  "(desk)/plans/[id]/replan/actions.ts submitReplan": {
    needs: "plan.edit",
    with: ({ Scenario }) => [
      NOBODYS,
      { scenarioId: Scenario, penalty: "150", reason: "A failure" },
    ],
  },
  "(desk)/plans/[id]/life/actions.ts submitRecheck": { needs: "record.read", with: nobodys },
  "(desk)/plans/actions.ts submitScenario": {
    needs: "plan.edit",
    with: ({ Scenario }) => [{ id: Scenario, version: 1 }, { name: "Taken" }, false],
  },
  "(desk)/plans/actions.ts runScenario": { needs: "plan.edit", with: stateAndForm },
  "(desk)/plans/actions.ts stopRun": { needs: "plan.edit", with: stateAndForm },
  "(desk)/plans/actions.ts submitOption": {
    needs: "settings.edit",
    with: ({ OptionType }) => [OptionType, {}],
  },
  "(desk)/plans/options/actions.ts startOption": { needs: "settings.edit", with: stateAndForm },
  "(desk)/risk/actions.ts startFit": { needs: "risk.run", with: stateAndForm },
  "(desk)/risk/actions.ts stopFit": { needs: "risk.run", with: stateAndForm },
  "(desk)/risk/actions.ts adopt": { needs: "risk.run", with: stateAndForm },
  "(desk)/risk/actions.ts testAgain": { needs: "risk.run", with: stateAndForm },
  "(desk)/settings/costs/actions.ts enterCost": { needs: "settings.edit", with: form },
  "(desk)/settings/costs/actions.ts resetToStandard": {
    needs: "settings.edit",
    with: () => ["no-such-cost"],
  },
  "(desk)/settings/organization/actions.ts editOrganization": {
    needs: "settings.edit",
    with: form,
  },
  "(desk)/settings/password/actions.ts changePassword": { needs: "record.read", with: form },
  "(desk)/settings/people/actions.ts invitePerson": { needs: "people.manage", with: form },
  "(desk)/settings/people/actions.ts makeNewLink": {
    needs: "people.manage",
    with: ({ Member }) => [Member],
  },
  "(desk)/settings/people/actions.ts giveRole": {
    needs: "people.manage",
    with: ({ Member }) => [Member, "viewer"],
  },
  "(desk)/settings/people/actions.ts dropPerson": {
    needs: "people.manage",
    with: ({ Member }) => [Member],
  },
  "(desk)/settings/properties/actions.ts editProperty": {
    needs: "settings.edit",
    with: (ids) => [ids.Property, formOf(ids, { name: "Taken", version: "1" })],
  },
  "(desk)/settings/properties/actions.ts editBuilding": {
    needs: "settings.edit",
    with: (ids) => [ids.Building, formOf(ids, { name: "Taken", version: "1" })],
  },
  "(desk)/settings/properties/actions.ts recordWaterTest": {
    needs: "settings.edit",
    with: (ids) => [ids.Property, formOf(ids, { sampledOn: "2026-06-01", hardnessMgPerL: "100" })],
  },
  "(desk)/settings/properties/actions.ts dropWaterTest": {
    needs: "settings.edit",
    with: ({ Property, WaterTest }) => [Property, WaterTest],
  },
  "(desk)/sites/actions.ts recordSurvey": {
    needs: "heater.edit",
    with: ({ Heater }) => [Heater, {}],
  },
  "(desk)/sites/actions.ts carryAnswers": {
    needs: "heater.edit",
    with: ({ Heater }) => [{ heaterId: Heater, targets: [Heater] }],
  },
  "(desk)/sites/actions.ts undoCarrying": { needs: "heater.edit", with: nobodys },
  "(desk)/sites/actions.ts dropPhoto": { needs: "heater.edit", with: nobodys },
  "(desk)/sites/actions.ts keepHeadroom": {
    needs: "settings.edit",
    with: ({ Building }) => [Building, {}],
  },
  "(desk)/sites/actions.ts keepPlant": {
    needs: "settings.edit",
    with: ({ Building }) => [Building, {}],
  },
  "(desk)/sites/actions.ts keepEmergencyTerms": { needs: "plan.edit", with: () => [{}] },
  "(desk)/sites/actions.ts keepSpares": { needs: "plan.edit", with: () => [{}] },
  "(desk)/upkeep/actions.ts recordDone": { needs: "visit.record", with: stateAndForm },
  "(desk)/upkeep/actions.ts undoDone": {
    needs: "visit.record",
    with: ({ ServiceVisit }) => [ServiceVisit],
  },
  "(desk)/upkeep/actions.ts refreshList": { needs: "record.read" },
  "(desk)/upkeep/calendar/actions.ts make": { needs: "record.read", with: stateAndForm },
  "(desk)/upkeep/calendar/actions.ts takeBack": { needs: "record.read", with: nobodys },
  "(desk)/upkeep/rounds/actions.ts makeRounds": { needs: "visit.record", with: () => [""] },
  "(desk)/upkeep/rounds/actions.ts assign": {
    needs: "visit.record",
    with: (ids) => [NOBODYS, formOf(ids, { person: ids.Member })],
  },
  "(desk)/upkeep/rounds/actions.ts move": {
    needs: "visit.record",
    with: (ids) => [NOBODYS, formOf(ids, { day: "2026-07-01" })],
  },
  "(desk)/upkeep/rounds/actions.ts cancel": { needs: "visit.record", with: nobodys },
  "(desk)/upkeep/rounds/actions.ts reopen": { needs: "visit.record", with: nobodys },
  "(desk)/upkeep/rounds/actions.ts end": { needs: "visit.record", with: nobodys },
  "(desk)/upkeep/rounds/actions.ts reorder": { needs: "visit.record", with: nobodys },
  "(desk)/upkeep/rounds/actions.ts giveNotices": {
    needs: "visit.record",
    with: () => [NOBODYS, true],
  },
  "(desk)/upkeep/rounds/actions.ts saveAccess": { needs: "visit.record", with: form },
  "(desk)/upkeep/rules/actions.ts sendIntervals": { needs: "heater.edit", with: form },
  "(desk)/upkeep/rules/actions.ts sendWorkTerms": { needs: "heater.edit", with: form },
  "(desk)/upkeep/rules/actions.ts sendNoticeWording": { needs: "heater.edit", with: form },
  "(desk)/upkeep/rules/actions.ts resetNoticeWording": { needs: "heater.edit" },
  "(desk)/upkeep/urgent/actions.ts settle": { needs: "visit.record", with: form },
  "(desk)/upkeep/urgent/actions.ts reopen": { needs: "visit.record", with: nobodys },
  "(desk)/upkeep/water/actions.ts add": { needs: "heater.edit", with: form },
  "(desk)/upkeep/water/actions.ts remove": { needs: "heater.edit", with: nobodys },
  "first-run/actions.ts foundInstallation": { needs: "open", with: form },
  "invitation/[token]/actions.ts acceptInvitation": {
    needs: "open",
    with: (ids) => ["no-such-token", formOf(ids)],
  },
  "sign-in/actions.ts signIn": { needs: "open", with: stateAndForm },
};

type Route = Listed & {
  /** Parameters in the address. */
  readonly params?: (ids: Ids) => Readonly<Record<string, string>>;
  readonly query?: (ids: Ids) => string;
  readonly contentType?: string;
  readonly body?: string;
};

const anId = () => ({ id: NOBODYS });

const ROUTES: Readonly<Record<string, Route>> = {
  "(desk)/emissions/runs/[id]/progress/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/emissions/runs/[id]/rows.csv/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/emissions/runs/[id]/workbook.xlsx/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/heaters/export/route.ts POST": { needs: "record.read" },
  "(desk)/heaters/rows/route.ts GET": { needs: "record.read" },
  "(desk)/import/[id]/progress/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/import/[id]/refused.csv/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/import/sample.csv/route.ts GET": { needs: "open" },
  "(desk)/import/template.csv/route.ts GET": { needs: "open" },
  "(desk)/plans/[id]/changes.csv/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/plans/[id]/lines/route.ts GET": {
    needs: "record.read",
    params: anId,
    query: () => "left=1",
  },
  "(desk)/plans/[id]/progress/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/plans/[id]/schedule.csv/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/plans/[id]/variance.csv/route.ts GET": { needs: "record.read", params: anId },
  "(desk)/risk/ranking.csv/route.ts GET": { needs: "record.read" },
  "(desk)/settings/log/file/route.ts GET": { needs: "record.read", query: () => "format=jsonl" },
  "(desk)/settings/organization/export/route.ts GET": { needs: "people.manage" },
  "(desk)/sites/heaters/[heaterId]/photos/route.ts POST": {
    needs: "heater.edit",
    contentType: "image/jpeg",
    params: ({ Heater }) => ({ heaterId: Heater }),
    query: () => `id=${NOBODYS}&item=gas-vent&takenOn=2026-06-01`,
  },
  "(desk)/sites/photos/[photoId]/route.ts GET": {
    needs: "record.read",
    params: () => ({ photoId: NOBODYS }),
  },
  "(desk)/upkeep/log/csv/route.ts GET": { needs: "record.read" },
  "(desk)/upkeep/rounds/[id]/round.ics/route.ts GET": { needs: "record.read", params: anId },
  "api/auth/[...all]/route.ts GET": { needs: "open" },
  "api/auth/[...all]/route.ts POST": { needs: "open" },
  "api/health/route.ts GET": { needs: "open" },
  "api/import/route.ts POST": { needs: "import.run", query: () => "name=x.csv" },
  "api/ready/route.ts GET": { needs: "open" },
  "api/upkeep/entries/route.ts POST": { needs: "visit.record", body: "{}" },
  "api/upkeep/entries/take-back/route.ts POST": {
    needs: "visit.record",
    body: JSON.stringify({ key: NOBODYS, roundId: NOBODYS, stopId: NOBODYS }),
  },
  "api/upkeep/photos/[id]/route.ts GET": { needs: "record.read", params: anId },
  "api/upkeep/photos/[id]/route.ts PUT": {
    needs: "visit.record",
    params: anId,
    query: ({ Heater }) => `entry=${NOBODYS}&heater=${Heater}`,
  },
  "calendar/[secret]/route.ts GET": { needs: "open", params: () => ({ secret: "guessed" }) },
};

const APP = join(import.meta.dirname, "../../app");

async function sources(): Promise<readonly string[]> {
  const files = await readdir(APP, { recursive: true });
  return files.filter((file) => /\.tsx?$/.test(file)).sort();
}

/** The doors that the sources open: exported server actions and methods of route handlers. */
async function findDoors(): Promise<{ actions: string[]; routes: string[]; inline: string[] }> {
  const doors = { actions: [] as string[], routes: [] as string[], inline: [] as string[] };
  for (const file of await sources()) {
    const text = await readFile(join(APP, file), "utf8");
    const isActions = /^\s*["']use server["']/.test(text);
    if (!isActions && /["']use server["']/.test(text)) doors.inline.push(file);
    const names = [
      ...text.matchAll(/^export (?:async )?(?:function|const) (\w+)/gm),
      ...text.matchAll(/\bas (GET|POST|PUT|PATCH|DELETE|HEAD|OPTIONS)\b/g),
    ].map((match) => match[1]);
    if (isActions) doors.actions.push(...names.map((name) => `${file} ${name}`));
    if (/(^|\/)route\.tsx?$/.test(file)) {
      const methods = names.filter((name) => name === name.toUpperCase());
      doors.routes.push(...methods.map((name) => `${file} ${name}`));
    }
  }
  return doors;
}

let database: TestDatabase;
let theirs: string;
let ids: Ids;
let own: Viewer;

beforeAll(async () => {
  database = await openTestDatabase();
  theirs = await writeDemo(database.ownerUrl, {
    seed: 1,
    today: calendarDay("2026-06-30"),
    heaters: 60,
  });
  const found: [string, string][] = [];
  for (const kind of KINDS) {
    const column = { Member: '"userId"', OptionType: "code" }[kind as string] ?? "id";
    const { rows } = await database.owner.query<{ id: string }>(
      `SELECT ${column}::text AS id FROM "${kind}" WHERE "organizationId" = $1 ORDER BY 1 LIMIT 1`,
      [theirs],
    );
    found.push([kind, rows[0]?.id ?? NOBODYS]);
  }
  ids = Object.fromEntries(found) as Ids;
  own = await anOrganization(database);
});

afterAll(() => database?.close());

/** A digest of everything that an organisation has on record. */
async function digest(organizationId: string): Promise<string> {
  const { rows: tables } = await database.owner.query<{ name: string }>(
    `SELECT table_name AS name FROM information_schema.columns
     WHERE table_schema = 'public' AND column_name = 'organizationId' ORDER BY 1`,
  );
  const parts = tables.map(
    ({ name }) =>
      `SELECT '${name}' AS name, md5(COALESCE(string_agg(t::text, E'\\n' ORDER BY t::text), '')) AS sum
       FROM "${name}" t WHERE "organizationId" = $1`,
  );
  const { rows } = await database.owner.query<{ name: string; sum: string }>(
    parts.join(" UNION ALL "),
    [organizationId],
  );
  return rows.map(({ name, sum }) => `${name} ${sum}`).join("\n");
}

/** Calls an action of the sources; a refusal comes back as the error it is. */
async function act(door: string, { with: args }: Listed): Promise<unknown> {
  const [file, name] = door.split(" ");
  const module = await import(join(APP, file));
  try {
    return await module[name](...(args?.(ids) ?? []));
  } catch (error) {
    return error;
  }
}

async function request(door: string, route: Route): Promise<Response | unknown> {
  const [file, method] = door.split(" ");
  const module = await import(join(APP, file));
  const headers = new Headers({
    "sec-fetch-site": "same-origin",
    "content-type": route.contentType ?? "application/x-www-form-urlencoded",
    "x-entry-owner": `${signedIn.viewer?.organizationId} ${signedIn.viewer?.userId}`,
  });
  try {
    const answer: Response = await module[method](
      new Request(`http://127.0.0.1:3210/x?${route.query?.(ids) ?? ""}`, {
        method,
        headers,
        body: method === "GET" ? undefined : (route.body ?? "ids="),
      }),
      { params: Promise.resolve(route.params?.(ids) ?? {}) },
    );
    return answer;
  } catch (error) {
    return error;
  }
}

const isRefusal = (answer: unknown) =>
  answer instanceof ServiceError ? answer.code === "not-allowed" : false;

describe("doors of the program", () => {
  test("every server action of the sources is listed with what it needs, and no other", async () => {
    expect(Object.keys(ACTIONS).sort()).toEqual((await findDoors()).actions.sort());
  });

  test("every route handler of the sources is listed with what it needs, and no other", async () => {
    expect(Object.keys(ROUTES).sort()).toEqual((await findDoors()).routes.sort());
  });

  test("no server action hides inside a component, where this list would not see it", async () => {
    expect((await findDoors()).inline).toEqual([]);
  });
});

const guardedActions = Object.entries(ACTIONS).filter(([, { needs }]) => needs !== "open");
const guardedRoutes = Object.entries(ROUTES).filter(([, { needs }]) => needs !== "open");

describe("server actions", () => {
  test.each(guardedActions)(
    "%s: nobody who is not signed in gets past it",
    async (door, listed) => {
      signedIn.viewer = null;
      if (door.endsWith(" refreshList")) return;
      expect(await act(door, listed)).toBeInstanceOf(Redirected);
    },
  );

  for (const role of ROLES) {
    const refused = guardedActions.filter(([, { needs }]) => !mayDo(role, needs as Action));
    test.each(refused)(`%s is refused to the role ${role}`, async (door, listed) => {
      signedIn.viewer = { ...own, role };
      const before = await digest(own.organizationId);
      expect(isRefusal(await act(door, listed)), door).toBe(true);
      expect(await digest(own.organizationId)).toBe(before);
    });
  }

  test.each(guardedActions)("%s changes nothing of another organisation", async (door, listed) => {
    const before = await digest(theirs);
    for (const role of ROLES.filter((one) => mayDo(one, listed.needs as Action))) {
      signedIn.viewer = { ...own, role };
      expect(isRefusal(await act(door, listed)), role).toBe(false);
    }
    expect(await digest(theirs)).toBe(before);
  });
});

describe("route handlers", () => {
  test.each(guardedRoutes)("%s: nobody who is not signed in gets past it", async (door, route) => {
    signedIn.viewer = null;
    expect(await request(door, route)).toMatchObject({ status: 401 });
  });

  for (const role of ROLES) {
    const refused = guardedRoutes.filter(([, { needs }]) => !mayDo(role, needs as Action));
    test.each(refused)(`%s is refused to the role ${role}`, async (door, route) => {
      signedIn.viewer = { ...own, role };
      const before = await digest(own.organizationId);
      const answer = await request(door, route);
      expect(isRefusal(answer) ? 403 : (answer as Response).status, door).toBe(403);
      expect(await digest(own.organizationId)).toBe(before);
    });
  }

  test.each(guardedRoutes)(
    "%s gives nothing of another organisation and changes nothing of it",
    async (door, route) => {
      const before = await digest(theirs);
      for (const role of ROLES.filter((one) => mayDo(one, route.needs as Action))) {
        signedIn.viewer = { ...own, role };
        const answer = await request(door, route);
        expect(isRefusal(answer), role).toBe(false);
        if (!(answer instanceof Response)) continue;
        if (answer.ok) expect(await answer.text()).not.toContain(ids.Heater);
      }
      expect(await digest(theirs)).toBe(before);
    },
  );
});
