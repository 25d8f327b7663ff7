import pg from "pg";
import { writeDemo } from "@/demo-seed/write";
import {
  DEFAULT_REGISTER,
  EMPTY_FILTER,
  REGISTER_COLUMNS,
  type RegisterFilter,
  type RegisterQuery,
} from "@/lib/core/heaters/register-query";
import type { RegisterAnchor, RegisterOutline } from "@/lib/core/heaters/register-row";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";
import { appPool, closeConnections } from "@/lib/data/connections";
import {
  readGroupWindow,
  readOutline,
  readWindow,
  refreshForWindow,
  refreshRegister,
} from "@/lib/data/register";
import { withSql } from "@/lib/data/tenant";
import {
  startThrowawayServer,
  TEMPLATE_DATABASE,
  TEST_APP_PASSWORD,
} from "@/test/support/throwaway-server";

const HEATERS = 100_000;
const ROUNDS = 1_500;
const today = calendarDay("2026-06-30");

type Page = { readonly kind: string; readonly read: () => Promise<unknown> };

const view = (
  changes: Partial<RegisterFilter>,
  rest: Partial<RegisterQuery> = {},
): RegisterQuery => ({
  ...DEFAULT_REGISTER,
  ...rest,
  filter: { ...EMPTY_FILTER, ...changes },
});

/**
 * Pages of the register of 100,000 heaters in service against a bare select of one page by index, both
 * through the same pool, in turn, in the same run.
 */
export async function run(): Promise<void> {
  const server = await startThrowawayServer();
  try {
    const ownerUrl = server.urlOf(TEMPLATE_DATABASE);
    const appUrl = new URL(ownerUrl);
    appUrl.username = "tanklore_app";
    appUrl.password = TEST_APP_PASSWORD;
    process.env.TANKLORE_APP_DATABASE_URL = appUrl.toString();
    const organizationId = await writeDemo(ownerUrl, {
      seed: 1,
      today,
      heaters: HEATERS,
      people: false,
    });
    await measure(organizationId, ownerUrl);
  } finally {
    await closeConnections();
    await server.stop();
  }
}

async function measure(organizationId: string, ownerUrl: string): Promise<void> {
  const tenant = { organizationId };
  await withOwner(ownerUrl, (owner) => owner.query(INVENTED_RISKS, [today]));
  await timed("all register lines written", () => withSql(tenant, refreshRegister));
  // As a server is after a while: statistics and visibility up to date.
  await withOwner(ownerUrl, (owner) => owner.query("VACUUM ANALYZE"));

  const random = createRandom(7);
  const pick = <T>(items: readonly T[]): T => {
    const item = items[Math.floor(random.nextUniform() * items.length)];
    if (item === undefined) throw new Error("nothing to pick from");
    return item;
  };
  const page = (query: RegisterQuery, from: RegisterAnchor | null) => () =>
    withSql(tenant, async (client) => {
      await refreshForWindow(client);
      return readWindow(client, query, today, from);
    });
  const outlineOf = (query: RegisterQuery): Promise<RegisterOutline> =>
    withSql(tenant, (client) => readOutline(client, query, today));
  const anchorsOf = async (query: RegisterQuery) =>
    (await outlineOf(query)).sections.flatMap((section) => section.anchors);

  const pages: Page[] = [];
  for (const column of REGISTER_COLUMNS) {
    for (const descending of [false, true]) {
      const query = view({}, { sort: { column, descending } });
      const anchors = await anchorsOf(query);
      for (let i = 0; i < 40; i++) {
        pages.push({ kind: "any order, any depth", read: page(query, pick(anchors)) });
      }
    }
  }
  const byBuilding = view({}, { group: "building" });
  const groups = (await outlineOf(byBuilding)).groups ?? [];
  for (let i = 0; i < 200; i++) {
    const start = Math.floor(random.nextUniform() * (groups.length - 10));
    const groupIds = groups.slice(start, start + 10).map((group) => group.id);
    const read = () =>
      withSql(tenant, async (client) => {
        await refreshForWindow(client);
        return readGroupWindow(client, byBuilding, today, { groupIds, offset: 0 });
      });
    pages.push({ kind: "grouped by building", read });
  }
  for (const [name, query] of await filteredViews(tenant)) {
    const anchors = [null, ...(await anchorsOf(query))];
    for (let i = 0; i < 40; i++) {
      pages.push({ kind: `filter: ${name}`, read: page(query, pick(anchors)) });
    }
  }

  const pool = appPool();
  const owner = new pg.Pool({ connectionString: ownerUrl, max: 1 });
  const bareSql = `SELECT * FROM "Heater" WHERE "organizationId" = $1 AND tag >= $2
    ORDER BY tag LIMIT 100`;
  const startTag = () =>
    `WH-${String(Math.floor(random.nextUniform() * 200_000)).padStart(6, "0")}`;
  const bare = () => owner.query(bareSql, [organizationId, startTag()]);
  const bareOfTenant = () =>
    withSql(tenant, (client) => client.query(bareSql, [organizationId, startTag()]));

  for (let i = 0; i < 100; i++) {
    await bare();
    await bareOfTenant();
    await pick(pages).read();
  }
  const times = new Map<string, number[]>();
  const clock = async (kind: string, work: () => Promise<unknown>) => {
    const start = performance.now();
    await work();
    const list = times.get(kind) ?? [];
    list.push(performance.now() - start);
    times.set(kind, list);
  };
  for (let i = 0; i < ROUNDS; i++) {
    await clock("bare", bare);
    await clock("bare of tenant", bareOfTenant);
    const { kind, read } = pick(pages);
    await clock(kind, read);
  }
  await owner.end();
  report(times);
  for (const column of ["tag", "building", "chance"] as const) {
    const query = view({}, { sort: { column, descending: false } });
    await timed(`outline by ${column}, after the first page is shown`, () => outlineOf(query));
  }
  await timed("outline by building groups", () => outlineOf(byBuilding));
  if (pool.waitingCount > 0) throw new Error("connections were short");
}

async function filteredViews(tenant: {
  readonly organizationId: string;
}): Promise<readonly (readonly [string, RegisterQuery])[]> {
  const { rows } = await withSql(tenant, (client) =>
    client.query(
      `SELECT "propertyId", "buildingId", serial FROM "RegisterLine"
       WHERE status = 'in-service' AND serial IS NOT NULL ORDER BY "tagOrder" LIMIT 1 OFFSET 31000`,
    ),
  );
  const [one] = rows;
  const byChance = { sort: { column: "chance", descending: true } } as const;
  const byMaker = { sort: { column: "maker", descending: false } } as const;
  const selective: readonly (readonly [string, Partial<RegisterFilter>])[] = [
    ["install day unknown", { installKinds: ["unknown"] }],
    ["from 15 years", { ageFrom: 15 }],
    ["9 to 10 years", { ageFrom: 9, ageTo: 10 }],
    ["circuit there", { readiness: { item: "circuit-240v", answer: "yes" } }],
    ["leak shut-off there", { readiness: { item: "leak-shutoff", answer: "yes" } }],
    ["circuit not known", { readiness: { item: "circuit-240v", answer: "unknown" } }],
  ];
  const inOrders = selective.flatMap(([name, filter]) =>
    SOME_ORDERS.map((sort) => [`${name}, by any order`, view(filter, { sort })] as const),
  );
  return [
    ...inOrders,
    ["one property", view({ propertyId: one.propertyId }, byChance)],
    ["one building", view({ buildingId: one.buildingId }, byMaker)],
    ["a technology of many", view({ technologies: ["gas-storage"] }, byChance)],
    ["a technology of few", view({ technologies: ["heat-pump-plug-in"] }, byMaker)],
    ["chance from 15 %", view({ chanceFrom: 15 })],
    ["serial number not on record", view({ missing: ["serial"] })],
    ["a place", view({ places: ["garage"] }, byMaker)],
    ["a serial number searched", view({ search: one.serial })],
    ["a common word searched", view({ search: "building 1" }, byMaker)],
  ];
}

/** Orders of the lines and of the risks, with age and against it. */
const SOME_ORDERS: readonly RegisterQuery["sort"][] = [
  { column: "tag", descending: false },
  { column: "building", descending: true },
  { column: "maker", descending: false },
  { column: "install", descending: false },
  { column: "install", descending: true },
  { column: "age", descending: false },
  { column: "age", descending: true },
  { column: "chance", descending: true },
];

/** Risks that rise with age and differ from heater to heater: only their order matters here. */
const INVENTED_RISKS = `
  INSERT INTO "HeaterRisk" ("heaterId", "organizationId", "asOf", "failureProbability",
    "failureLower", "failureUpper", "medianRemainingYears", "expectedLossCents", "ageYears", method)
  SELECT id, "organizationId", $1, 0.01 * age * own, 0, 1, greatest(1, 15 - age),
    round(4000 * age * own), age, 'invented'
  FROM (
    SELECT id, "organizationId", 0.5 + mod(abs(hashtext(id::text)), 1000) / 1000.0 AS own,
      least(40, ($1::date - "installLatest") / 365.2425) AS age
    FROM "Heater" WHERE status = 'in-service'
  ) h`;

async function withOwner(
  ownerUrl: string,
  work: (owner: pg.Client) => Promise<unknown>,
): Promise<void> {
  const owner = new pg.Client({ connectionString: ownerUrl });
  await owner.connect();
  await work(owner);
  await owner.end();
}

async function timed(what: string, work: () => Promise<unknown>): Promise<void> {
  const start = performance.now();
  await work();
  console.log(`${what}: ${Math.round(performance.now() - start)} ms`);
}

function report(times: ReadonlyMap<string, number[]>): void {
  const at = (list: readonly number[], share: number) => {
    const sorted = [...list].sort((a, b) => a - b);
    return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
  };
  const bare = at(times.get("bare") ?? [], 0.95);
  const bareOfTenant = at(times.get("bare of tenant") ?? [], 0.95);
  console.log(
    `bare select of one page by index: p95 ${bare.toFixed(2)} ms alone, ${bareOfTenant.toFixed(2)} ms in the tenant's transaction`,
  );
  const line = (kind: string, list: readonly number[]) =>
    console.log(
      `${kind} (${list.length}): p50 ${at(list, 0.5).toFixed(2)} ms, p95 ${at(list, 0.95).toFixed(2)} ms, ` +
        `ratio of p95 ${(at(list, 0.95) / bare).toFixed(2)} to the select alone, ${(at(list, 0.95) / bareOfTenant).toFixed(2)} to it in the transaction`,
    );
  const kinds = [...times.keys()].filter((kind) => !kind.startsWith("bare")).sort();
  for (const kind of kinds) line(kind, times.get(kind) ?? []);
  line(
    "register pages, all of the above",
    kinds.flatMap((kind) => times.get(kind) ?? []),
  );
}
