import type pg from "pg";
import type { Heater, Retirement } from "@/lib/core/heaters/heater";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { AgeingHeater } from "@/lib/core/survival/exposure";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { readCareHistory } from "@/lib/core/upkeep/care-history";
import { loadFleet } from "./fleet";

/** A life with all that is on record of the heater. */
export type HeaterLife = LifeRecord & { readonly heater: Heater };

export type HistoryPage = {
  readonly lives: readonly HeaterLife[];
  /** Retired heaters of which no end is on record: nothing says how long they were observed. */
  readonly withoutEnd: readonly string[];
};

type FrameRow = Partial<Retirement> & {
  readonly heaterId: string;
  readonly isInService: boolean;
  readonly recordedFrom: CalendarDay;
};

/**
 * The lives of all heaters of the organisation, in service and retired, in pages by id: memory is
 * that of one page, however many there are.
 */
export async function* readHistory(
  client: pg.ClientBase,
  organizationId: string,
  pageSize = 2_000,
): AsyncGenerator<HistoryPage> {
  let after = "00000000-0000-0000-0000-000000000000";
  for (;;) {
    const { rows } = await client.query<FrameRow>(
      `SELECT h.id AS "heaterId", h.status = 'in-service' AS "isInService", h."recordedFrom",
         r.earliest, r.latest, r.cause, r.emergency
       FROM "Heater" h LEFT JOIN "Retirement" r ON r."heaterId" = h.id
       WHERE h."organizationId" = $1 AND h.id > $2
       ORDER BY h.id LIMIT $3`,
      [organizationId, after, pageSize],
    );
    const last = rows.at(-1);
    if (!last) return;
    const { heaters } = await loadFleet(client, { heaterIds: rows.map((row) => row.heaterId) });
    const heaterOf = new Map(heaters.map((heater) => [heater.id, heater]));
    const lives: HeaterLife[] = [];
    const withoutEnd: string[] = [];
    for (const row of rows) {
      const heater = heaterOf.get(row.heaterId);
      const life = heater && lifeOf(row, heater);
      if (life) lives.push(life);
      else withoutEnd.push(row.heaterId);
    }
    yield { lives, withoutEnd };
    if (rows.length < pageSize) return;
    after = last.heaterId;
  }
}

function lifeOf<H extends AgeingHeater>(
  { heaterId, isInService, recordedFrom, earliest, latest, cause, emergency = false }: FrameRow,
  heater: H,
): (LifeRecord & { readonly heater: H }) | null {
  if (isInService) return { heater, observedFrom: recordedFrom, retirement: null };
  if (!earliest || !latest || !cause) return null;
  const retirement = { heaterId, earliest, latest, cause, emergency };
  return { heater, observedFrom: recordedFrom, retirement };
}

/** Heaters on record, in service and retired. */
export async function countHeaters(client: pg.ClientBase): Promise<number> {
  const { rows } = await client.query<{ heaters: number }>(
    'SELECT count(*)::int AS heaters FROM "Heater"',
  );
  return rows[0]?.heaters ?? 0;
}

export type Lives = {
  readonly records: readonly LifeRecord[];
  /** Retired heaters of which no end is on record. */
  readonly withoutEnd: readonly string[];
};

/** Care that the model reads; its entries are `[task, day, finding]`. */
const CARE_TASKS: readonly TaskKind[] = ["flush", "anode-inspection", "anode-replacement"];

type LifeRow = FrameRow & {
  readonly propertyId: string;
  readonly technology: Heater["technology"];
  readonly installEarliest: CalendarDay;
  readonly installLatest: CalendarDay;
  readonly installEvidence: Heater["install"]["evidence"];
  readonly setpointF: number | null;
  readonly closedSystem: Heater["closedSystem"];
  readonly expansionControl: Heater["expansionControl"];
  readonly homesServed: number;
  readonly bedrooms: number | null;
  readonly occupants: number | null;
  readonly care: readonly (readonly [TaskKind, CalendarDay, string | null])[] | null;
};

const LIFE_PAGE = 5_000;

/**
 * All lives of the organisation at once, in the order of their ids, each with no more than the model
 * reads of it. What {@link readHistory} says of the same heaters, without the rest.
 *
 * @param onPage is told how many heaters have been read so far
 */
export async function loadLives(
  client: pg.ClientBase,
  organizationId: string,
  onPage: (read: number) => void = () => undefined,
): Promise<Lives> {
  const waterOf = await readWaters(client);
  const records: LifeRecord[] = [];
  const withoutEnd: string[] = [];
  const shared = new SharedParts();
  let after = "00000000-0000-0000-0000-000000000000";
  for (;;) {
    const { rows } = await client.query<LifeRow>(
      `SELECT h.id AS "heaterId", h.status = 'in-service' AS "isInService", h."recordedFrom",
         r.earliest, r.latest, r.cause, r.emergency, b."propertyId", h.technology,
         h."installEarliest", h."installLatest", h."installEvidence", h."setpointF",
         h."closedSystem", h."expansionControl", h."homesServed", u.bedrooms, u.occupants, c.care
       FROM (
         SELECT * FROM "Heater" WHERE "organizationId" = $1 AND id > $2 ORDER BY id LIMIT $3
       ) h
       JOIN "Building" b ON b.id = h."buildingId"
       LEFT JOIN "Unit" u ON u.id = h."unitId"
       LEFT JOIN "Retirement" r ON r."heaterId" = h.id
       LEFT JOIN LATERAL (
         SELECT json_agg(
           json_build_array(t.task, t."doneOn", t.finding) ORDER BY t."doneOn", t.id
         ) AS care
         FROM "VisitTask" t WHERE t."heaterId" = h.id AND t.task = ANY ($4)
       ) c ON true
       ORDER BY h.id`,
      [organizationId, after, LIFE_PAGE, CARE_TASKS],
    );
    for (const row of rows) {
      const water = waterOf.get(row.propertyId) ?? UNKNOWN_WATER;
      const life = lifeOf(row, bareHeater(row, water, shared));
      if (life) records.push(life);
      else withoutEnd.push(row.heaterId);
    }
    onPage(records.length + withoutEnd.length);
    const last = rows.at(-1);
    if (!last || rows.length < LIFE_PAGE) return { records, withoutEnd };
    after = last.heaterId;
  }
}

type AgeingWater = AgeingHeater["water"];

const UNKNOWN_WATER: AgeingWater = { hardnessMgPerLitre: null, softened: "unknown" };

/** What the latest test of each property says. */
async function readWaters(client: pg.ClientBase): Promise<ReadonlyMap<string, AgeingWater>> {
  const { rows } = await client.query<AgeingWater & { propertyId: string }>(
    `SELECT DISTINCT ON ("propertyId") "propertyId", "hardnessMgPerLitre", softened
     FROM "WaterTest" ORDER BY "propertyId", "sampledOn" DESC`,
  );
  return new Map(
    rows.map(({ propertyId, hardnessMgPerLitre, softened }) => [
      propertyId,
      { hardnessMgPerLitre, softened },
    ]),
  );
}

const NO_CARE: AgeingHeater["care"] = {
  flushDays: [],
  anodeReplacementDays: [],
  anodeInspection: null,
};

function bareHeater(row: LifeRow, water: AgeingWater, shared: SharedParts): AgeingHeater {
  const { bedrooms, occupants, homesServed } = row;
  return {
    id: row.heaterId,
    propertyId: shared.text(row.propertyId),
    technology: shared.text(row.technology),
    install: {
      earliest: shared.text(row.installEarliest),
      latest: shared.text(row.installLatest),
      evidence: shared.text(row.installEvidence),
    },
    setpointF: row.setpointF,
    closedSystem: shared.text(row.closedSystem),
    expansionControl: shared.text(row.expansionControl),
    home: shared.home({ bedrooms, occupants, homesServed }),
    water,
    care: row.care === null ? NO_CARE : careOf(row.care, shared),
  };
}

function careOf(entries: NonNullable<LifeRow["care"]>, shared: SharedParts): AgeingHeater["care"] {
  const { care } = readCareHistory(
    entries.map(([task, day, finding]) => ({ task, day: shared.text(day), finding })),
  );
  const { flushDays, anodeReplacementDays, anodeInspection } = care;
  return { flushDays, anodeReplacementDays, anodeInspection };
}

/** Parts that many heaters have in common are kept once. */
class SharedParts {
  private readonly texts = new Map<string, string>();
  private readonly homes = new Map<string, AgeingHeater["home"]>();

  text<T extends string>(text: T): T {
    const known = this.texts.get(text);
    if (known !== undefined) return known as T;
    this.texts.set(text, text);
    return text;
  }

  home(home: AgeingHeater["home"]): AgeingHeater["home"] {
    const key = `${home.bedrooms} ${home.occupants} ${home.homesServed}`;
    const known = this.homes.get(key);
    if (known) return known;
    this.homes.set(key, home);
    return home;
  }
}
