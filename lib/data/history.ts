import type pg from "pg";
import type { Heater, Retirement } from "@/lib/core/heaters/heater";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { AgeingHeater } from "@/lib/core/survival/exposure";
import type { LifeRecord } from "@/lib/core/survival/life-record";
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

function lifeOf(
  { heaterId, isInService, recordedFrom, earliest, latest, cause, emergency = false }: FrameRow,
  heater: Heater,
): HeaterLife | null {
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

/**
 * All lives of the organisation at once, each with no more than the model reads of it: about half a
 * kilobyte a life.
 *
 * @param onPage is told how many lives have been read so far
 */
export async function loadLives(
  client: pg.ClientBase,
  organizationId: string,
  onPage: (read: number) => void = () => undefined,
): Promise<Lives> {
  const records: LifeRecord[] = [];
  const withoutEnd: string[] = [];
  const shared = new SharedParts();
  for await (const page of readHistory(client, organizationId)) {
    for (const { heater, observedFrom, retirement } of page.lives) {
      records.push({ heater: shared.bare(heater), observedFrom, retirement });
    }
    withoutEnd.push(...page.withoutEnd);
    onPage(records.length);
  }
  return { records, withoutEnd };
}

const NO_CARE: AgeingHeater["care"] = {
  flushDays: [],
  anodeReplacementDays: [],
  anodeInspection: null,
};

/** Strips heaters down to what the model reads; parts that many have in common are kept once. */
class SharedParts {
  private readonly parts = new Map<string, unknown>();

  bare({ home, water, care, ...heater }: Heater): AgeingHeater {
    const { id, propertyId, technology, install, setpointF, closedSystem, expansionControl } =
      heater;
    const { bedrooms, occupants, homesServed } = home;
    const { hardnessMgPerLitre, softened } = water;
    const { flushDays, anodeReplacementDays, anodeInspection } = care;
    const isUncared =
      flushDays.length === 0 && anodeReplacementDays.length === 0 && anodeInspection === null;
    return {
      id,
      propertyId: this.once(propertyId),
      technology: this.once(technology),
      install,
      setpointF,
      closedSystem: this.once(closedSystem),
      expansionControl: this.once(expansionControl),
      home: this.once({ bedrooms, occupants, homesServed }),
      water: this.once({ hardnessMgPerLitre, softened }),
      care: isUncared ? NO_CARE : { flushDays, anodeReplacementDays, anodeInspection },
    };
  }

  private once<T>(part: T): T {
    const key = JSON.stringify(part);
    const known = this.parts.get(key);
    if (known !== undefined) return known as T;
    this.parts.set(key, part);
    return part;
  }
}
