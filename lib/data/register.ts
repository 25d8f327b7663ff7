import type pg from "pg";
import type { RegisterQuery } from "@/lib/core/heaters/register-query";
import {
  REGISTER_WINDOW,
  type RegisterAnchor,
  type RegisterGroupLine,
  type RegisterOutline,
  type RegisterRow,
  type RegisterSummary,
} from "@/lib/core/heaters/register-row";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import {
  ageSql,
  containsPattern,
  type FilterContext,
  filterConditions,
  impliedBounds,
  isIndexFilter,
  Parameters,
  plainOrder,
  REGISTER_SOURCE,
  type RegisterSection,
  registerSections,
  rowColumns,
  searchWords,
  sectionOrder,
  sectionSource,
  WITH_RISK,
} from "./register-sql";

/** Writes the lines that have gone stale; every reader of the register calls it first. */
export async function refreshRegister(client: pg.ClientBase): Promise<void> {
  await client.query("SELECT refresh_register()");
}

/**
 * As {@link refreshRegister}, for a transaction that reads one window: starting parallel workers takes
 * longer than reading a hundred rows in order.
 */
export async function refreshForWindow(client: pg.ClientBase): Promise<void> {
  await client.query(
    "SELECT refresh_register(), set_config('max_parallel_workers_per_gather', '0', true)",
  );
}

export async function hasLines(client: pg.ClientBase): Promise<boolean> {
  const { rows } = await client.query('SELECT EXISTS (SELECT FROM "RegisterLine") AS present');
  return rows[0].present;
}

/** A search found in more heaters than this reads the register in order instead of by id. */
const MOST_FOUND = 2000;
/** Trigrams serve words of three characters and more. */
const SHORTEST_LOOKED_UP = 3;

/** Looks up a search that only few heaters in service match, so that they are read by id. */
async function filterContext(
  client: pg.ClientBase,
  { filter }: RegisterQuery,
  today: CalendarDay,
): Promise<FilterContext> {
  const [longest] = searchWords(filter.search);
  if (filter.status !== "in-service" || !longest || longest.length < SHORTEST_LOOKED_UP) {
    return { today, foundIds: null };
  }
  const { rows } = await client.query<{ ids: string[] | null }>(
    "SELECT find_in_register($1, $2) AS ids",
    [containsPattern(longest), MOST_FOUND],
  );
  return { today, foundIds: rows[0]?.ids ?? null };
}

/** Rows of a section from an anchor on (or from its start), at most `limit`, with their anchors. */
async function readSection(
  client: pg.ClientBase,
  query: RegisterQuery,
  context: FilterContext,
  {
    index,
    section,
    from,
    after = false,
    limit,
    ids = null,
  }: {
    readonly index: number;
    readonly section: RegisterSection;
    readonly from: RegisterAnchor | null;
    /** Leaves out the row of the anchor itself. */
    readonly after?: boolean;
    readonly limit: number;
    readonly ids?: readonly string[] | null;
  },
): Promise<{ readonly rows: readonly RegisterRow[]; readonly last: RegisterAnchor | null }> {
  const parameters = new Parameters();
  const today = parameters.add(context.today);
  const conditions = [section.where, ...filterConditions(query.filter, context, parameters)];
  if (ids) conditions.push(`l."heaterId" = ANY (${parameters.add(ids)}::uuid[])`);
  if (from) {
    const sign = `${section.descending ? "<" : ">"}${after ? "" : "="}`;
    conditions.push(
      `(${section.key}, ${section.tie}) ${sign} (${parameters.add(from[1])}::${section.keyType}, ${parameters.add(from[2])}::${section.tieType})`,
    );
  }
  conditions.push(...impliedBounds(section, query.filter, today, parameters));
  const direction = section.descending ? "DESC" : "ASC";
  const window = (columns: string) =>
    `SELECT ${columns}, ${section.key} AS "anchorKey", ${section.tie} AS "anchorTie"
     FROM ${sectionSource(section, query.filter)} WHERE ${conditions.join(" AND ")}
     ORDER BY ${sectionOrder(section)} LIMIT ${limit}`;
  // The window is cut before the risk of its rows is looked up, and where the index of the order is
  // enough to tell which rows these are, before their lines are read.
  const source = isIndexFilter(query.filter)
    ? `(${window('l."heaterId"')}) cut JOIN "RegisterLine" l ON l."heaterId" = cut."heaterId"`
    : `(${window("l.*")}) l`;
  const cut = isIndexFilter(query.filter) ? "cut" : "l";
  const { rows } = await client.query<RegisterRow & { anchorKey: string; anchorTie: string }>(
    `SELECT ${rowColumns(today)}, ${cut}."anchorKey"::text, ${cut}."anchorTie"::text
     FROM ${source} ${WITH_RISK}
     ORDER BY ${cut}."anchorKey" ${direction}, ${cut}."anchorTie" ${direction}`,
    parameters.values,
  );
  const end = rows.at(-1);
  return {
    rows: rows.map(({ anchorKey, anchorTie, ...row }) => row),
    last: end ? [index, end.anchorKey, end.anchorTie] : null,
  };
}

/**
 * A window of the register: from an anchor to the end of its section or 100 rows; without an anchor,
 * the first rows of the register.
 */
export async function readWindow(
  client: pg.ClientBase,
  query: RegisterQuery,
  today: CalendarDay,
  from: RegisterAnchor | null,
): Promise<readonly RegisterRow[]> {
  const context = await filterContext(client, query, today);
  const sections = registerSections(query.sort, query.filter.status);
  if (from) {
    const section = sections[from[0]];
    if (!section) return [];
    const place = { index: from[0], section, from, limit: REGISTER_WINDOW };
    return (await readSection(client, query, context, place)).rows;
  }
  const rows: RegisterRow[] = [];
  for (const [index, section] of sections.entries()) {
    const limit = REGISTER_WINDOW - rows.length;
    if (limit === 0) break;
    const part = await readSection(client, query, context, { index, section, from: null, limit });
    rows.push(...part.rows);
  }
  return rows;
}

/** All rows of the register in order, in batches; only those of `ids` when given. */
export async function readBatch(
  client: pg.ClientBase,
  query: RegisterQuery,
  today: CalendarDay,
  {
    after,
    limit,
    ids,
  }: {
    readonly after: RegisterAnchor | null;
    readonly limit: number;
    readonly ids: readonly string[] | null;
  },
): Promise<{ readonly rows: readonly RegisterRow[]; readonly next: RegisterAnchor | null }> {
  const context = ids ? { today, foundIds: null } : await filterContext(client, query, today);
  const sections = registerSections(query.sort, query.filter.status);
  const first = after?.[0] ?? 0;
  for (const [index, section] of sections.entries()) {
    if (index < first) continue;
    const from = index === first ? after : null;
    const place = { index, section, from, after: true, limit, ids };
    const { rows, last } = await readSection(client, query, context, place);
    if (last) return { rows, next: last };
  }
  return { rows: [], next: null };
}

type GroupColumns = { readonly id: string; readonly name: string; readonly order: string };

const GROUP_COLUMNS: Readonly<Record<"property" | "building", GroupColumns>> = {
  property: { id: 'l."propertyId"', name: 'l."propertyName"', order: 'l."propertyOrder"' },
  building: { id: 'l."buildingId"', name: 'l."buildingName"', order: 'l."buildingOrder"' },
};

/** Rows of groups that follow one another, from the `offset`th row of the first one on. */
export async function readGroupWindow(
  client: pg.ClientBase,
  query: RegisterQuery,
  today: CalendarDay,
  { groupIds, offset }: { readonly groupIds: readonly string[]; readonly offset: number },
): Promise<readonly RegisterRow[]> {
  if (query.group === "none") throw new RangeError("group must not be none to read groups");
  const { id, order } = GROUP_COLUMNS[query.group];
  const context = await filterContext(client, query, today);
  const parameters = new Parameters();
  const day = parameters.add(today);
  const conditions = [
    ...filterConditions(query.filter, context, parameters),
    `${id} = ANY (${parameters.add(groupIds)}::uuid[])`,
    ...statusCondition(query),
  ];
  const { rows } = await client.query<RegisterRow>(
    `SELECT ${rowColumns(day)} FROM ${REGISTER_SOURCE} WHERE ${conditions.join(" AND ")}
     ORDER BY ${order}, ${id}, ${plainOrder(query.sort, day)}
     OFFSET ${parameters.add(offset)} LIMIT ${REGISTER_WINDOW}`,
    parameters.values,
  );
  return rows;
}

function statusCondition({ filter }: RegisterQuery): readonly string[] {
  return filter.status === null ? [] : [`l.status = '${filter.status}'`];
}

/** How many heaters there are and where each window, or each group, begins. */
export async function readOutline(
  client: pg.ClientBase,
  query: RegisterQuery,
  today: CalendarDay,
): Promise<RegisterOutline> {
  const context = await filterContext(client, query, today);
  const summary = await readSummary(client, query, context);
  if (query.group !== "none") {
    return { summary, sections: [], groups: await readGroups(client, query, context) };
  }
  const sections: RegisterOutline["sections"][number][] = [];
  let left = summary.total;
  for (const [index, section] of registerSections(query.sort, query.filter.status).entries()) {
    if (left === 0) break;
    const part = await readAnchors(client, query, context, index, section);
    if (part.count > 0) sections.push({ section: index, ...part });
    left -= part.count;
  }
  return { summary, sections, groups: null };
}

async function readSummary(
  client: pg.ClientBase,
  query: RegisterQuery,
  context: FilterContext,
): Promise<RegisterSummary> {
  const parameters = new Parameters();
  const today = parameters.add(context.today);
  const conditions = [
    ...filterConditions(query.filter, context, parameters),
    ...statusCondition(query),
  ];
  const inService = "FILTER (WHERE l.status = 'in-service')";
  const installed = (kind: string) =>
    `count(*) FILTER (WHERE l.status = 'in-service' AND l."installKind" = '${kind}')`;
  const { rows } = await client.query<RegisterSummary>(
    `SELECT count(*) AS total, count(*) ${inService} AS "inService",
       avg(${ageSql(today)}) ${inService} AS "averageAgeYears",
       ${installed("estimated")} AS "estimatedInstalls", ${installed("unknown")} AS "unknownInstalls",
       count(r."heaterId") AS scored,
       COALESCE(sum(r."failureProbability"), 0) AS "expectedFailures",
       COALESCE(sum(r."expectedLossCents"), 0) AS "expectedLossCents"
     FROM ${REGISTER_SOURCE} ${whereOf(conditions)}`,
    parameters.values,
  );
  return rows[0] as RegisterSummary;
}

async function readAnchors(
  client: pg.ClientBase,
  query: RegisterQuery,
  context: FilterContext,
  index: number,
  section: RegisterSection,
): Promise<{ readonly count: number; readonly anchors: readonly RegisterAnchor[] }> {
  const parameters = new Parameters();
  const conditions = [section.where, ...filterConditions(query.filter, context, parameters)];
  const { rows } = await client.query<{ key: string; tie: string; number: number }>(
    `SELECT key::text, tie::text, number FROM (
       SELECT ${section.key} AS key, ${section.tie} AS tie,
         row_number() OVER (ORDER BY ${sectionOrder(section)}) AS number,
         lead(0) OVER (ORDER BY ${sectionOrder(section)}) IS NULL AS "isLast"
       FROM ${sectionSource(section, query.filter)} WHERE ${conditions.join(" AND ")}
     ) numbered
     WHERE number % ${REGISTER_WINDOW} = 1 OR "isLast" ORDER BY number`,
    parameters.values,
  );
  const begins = rows.filter((row) => row.number % REGISTER_WINDOW === 1);
  return {
    count: rows.at(-1)?.number ?? 0,
    anchors: begins.map((row): RegisterAnchor => [index, row.key, row.tie]),
  };
}

async function readGroups(
  client: pg.ClientBase,
  query: RegisterQuery,
  context: FilterContext,
): Promise<readonly RegisterGroupLine[]> {
  if (query.group === "none") return [];
  const { id, name, order } = GROUP_COLUMNS[query.group];
  const within = query.group === "building" ? 'l."propertyName"' : "NULL";
  const parameters = new Parameters();
  const today = parameters.add(context.today);
  const conditions = [
    ...filterConditions(query.filter, context, parameters),
    ...statusCondition(query),
  ];
  const { rows } = await client.query<RegisterGroupLine>(
    `SELECT ${id} AS id, min(${name}) AS name, min(${within}) AS within, count(*) AS count,
       avg(${ageSql(today)}) AS "averageAgeYears", avg(r."failureProbability") AS "averageChance"
     FROM ${REGISTER_SOURCE} ${whereOf(conditions)}
     GROUP BY ${order}, ${id} ORDER BY ${order}, ${id}`,
    parameters.values,
  );
  return rows;
}

const whereOf = (conditions: readonly string[]) =>
  conditions.length === 0 ? "" : `WHERE ${conditions.join(" AND ")}`;

export type RegisterPlaces = {
  readonly properties: readonly { readonly id: string; readonly name: string }[];
  /** Buildings of the property that is filtered by; none without one. */
  readonly buildings: readonly { readonly id: string; readonly name: string }[];
};

/** What the register can be narrowed to by place. */
export async function readPlaces(
  client: pg.ClientBase,
  propertyId: string | null,
): Promise<RegisterPlaces> {
  const properties = await client.query(
    'SELECT id, name FROM "Property" ORDER BY natural_order(name), id',
  );
  const buildings = propertyId
    ? await client.query(
        'SELECT id, name FROM "Building" WHERE "propertyId" = $1 ORDER BY natural_order(name), id',
        [propertyId],
      )
    : null;
  return { properties: properties.rows, buildings: buildings?.rows ?? [] };
}
