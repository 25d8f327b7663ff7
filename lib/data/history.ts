import type pg from "pg";
import type { Heater, Retirement } from "@/lib/core/heaters/heater";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { loadFleet } from "./fleet";

type FrameRow = Partial<Retirement> & {
  readonly heaterId: string;
  readonly isInService: boolean;
  readonly recordedFrom: CalendarDay;
};

/**
 * The lives of all heaters of the organisation, in service and retired, in pages by id: memory is
 * that of one page, however many there are. A retired heater without a row of its end is left out,
 * since nothing says how long it was observed.
 */
export async function* readHistory(
  client: pg.ClientBase,
  organizationId: string,
  pageSize = 2_000,
): AsyncGenerator<readonly LifeRecord[]> {
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
    yield rows.flatMap((row) => lifeOf(row, heaterOf.get(row.heaterId)));
    if (rows.length < pageSize) return;
    after = last.heaterId;
  }
}

function lifeOf(
  { heaterId, isInService, recordedFrom, earliest, latest, cause, emergency = false }: FrameRow,
  heater: Heater | undefined,
): readonly LifeRecord[] {
  if (!heater) return [];
  if (isInService) return [{ heater, observedFrom: recordedFrom, retirement: null }];
  if (!earliest || !latest || !cause) return [];
  const retirement = { heaterId, earliest, latest, cause, emergency };
  return [{ heater, observedFrom: recordedFrom, retirement }];
}
