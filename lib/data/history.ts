import type pg from "pg";
import type { Heater } from "@/lib/core/heaters/heater";
import type { HeaterStatus, RetirementCause } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { loadFleet } from "./fleet";

/** A heater, in service or retired, with the frame of its record. */
export type HistoryRow = {
  readonly heater: Heater;
  readonly status: HeaterStatus;
  readonly recordedFrom: CalendarDay;
  readonly end: {
    readonly earliest: CalendarDay;
    readonly latest: CalendarDay;
    readonly cause: RetirementCause;
  } | null;
};

type FrameRow = {
  readonly id: string;
  readonly status: HeaterStatus;
  readonly recordedFrom: CalendarDay;
  readonly earliest: CalendarDay | null;
  readonly latest: CalendarDay | null;
  readonly cause: RetirementCause | null;
};

/**
 * All heaters of the organisation, in service and retired, in pages by id: memory is that of one
 * page, however many there are. A retired heater without a row of its end is left out, since nothing
 * says how long it was observed.
 */
export async function* readHistory(
  client: pg.ClientBase,
  organizationId: string,
  pageSize = 2_000,
): AsyncGenerator<readonly HistoryRow[]> {
  let after = "00000000-0000-0000-0000-000000000000";
  for (;;) {
    const { rows } = await client.query<FrameRow>(
      `SELECT h.id, h.status, h."recordedFrom", r.earliest, r.latest, r.cause
       FROM "Heater" h LEFT JOIN "Retirement" r ON r."heaterId" = h.id
       WHERE h."organizationId" = $1 AND h.id > $2
       ORDER BY h.id LIMIT $3`,
      [organizationId, after, pageSize],
    );
    const last = rows.at(-1);
    if (!last) return;
    const { heaters } = await loadFleet(client, { heaterIds: rows.map((row) => row.id) });
    const heaterOf = new Map(heaters.map((heater) => [heater.id, heater]));
    yield rows.flatMap((row) => historyRow(row, heaterOf.get(row.id)));
    if (rows.length < pageSize) return;
    after = last.id;
  }
}

function historyRow(row: FrameRow, heater: Heater | undefined): readonly HistoryRow[] {
  const { status, recordedFrom, earliest, latest, cause } = row;
  if (!heater) return [];
  if (earliest && latest && cause) {
    return [{ heater, status, recordedFrom, end: { earliest, latest, cause } }];
  }
  return status === "in-service" ? [{ heater, status, recordedFrom, end: null }] : [];
}
