import type pg from "pg";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { UrgentKind } from "@/lib/core/upkeep/urgent-matters";

export type NewUrgentMatter = {
  readonly heaterId: string;
  readonly kind: UrgentKind;
  readonly raisedOn: CalendarDay;
  readonly raisedBy: string;
  readonly tapF: number | null;
  readonly note: string | null;
  readonly visitId: string | null;
};

export async function insertUrgentMatter(
  client: pg.ClientBase,
  organizationId: string,
  matter: NewUrgentMatter,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "UrgentMatter"
       (id, "organizationId", "heaterId", kind, "raisedOn", "raisedBy", "tapF", note, "visitId")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8) RETURNING id`,
    [
      organizationId,
      matter.heaterId,
      matter.kind,
      matter.raisedOn,
      matter.raisedBy,
      matter.tapF,
      matter.note,
      matter.visitId,
    ],
  );
  return rows[0].id;
}

/** An urgent matter with where it is. */
export type UrgentMatterRow = Omit<NewUrgentMatter, "visitId"> & {
  readonly id: string;
  readonly status: "open" | "settled" | "taken-back";
  readonly settledOn: CalendarDay | null;
  readonly settledBy: string | null;
  readonly settledNote: string | null;
  readonly tag: string;
  readonly home: string | null;
  readonly building: string;
  readonly property: string;
};

/** Open matters, the most pressing kind and the oldest first; or the latest that were settled. */
export async function listUrgentMatters(
  client: pg.ClientBase,
  status: "open" | "settled",
  limit = 200,
): Promise<readonly UrgentMatterRow[]> {
  const order =
    status === "open"
      ? `array_position(ARRAY['gas-smell', 'flue-gas', 'leak', 'scald', 'relief-valve'], m.kind),
         m."raisedOn", m.id`
      : 'm."settledOn" DESC, m.id DESC';
  const { rows } = await client.query<UrgentMatterRow>(
    `SELECT m.id, m."heaterId", m.kind, m."raisedOn", m."raisedBy", m."tapF", m.note, m.status,
       m."settledOn", m."settledBy", m."settledNote", h.tag, u.label AS home, b.name AS building,
       p.name AS property
     FROM "UrgentMatter" m
     JOIN "Heater" h ON h.id = m."heaterId"
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     LEFT JOIN "Unit" u ON u.id = h."unitId"
     WHERE m.status = $1 ORDER BY ${order} LIMIT $2`,
    [status, limit],
  );
  return rows;
}

/** Settles an open matter; false when it is not open any more. */
export async function settleUrgentMatter(
  client: pg.ClientBase,
  id: string,
  by: { readonly settledOn: CalendarDay; readonly settledBy: string; readonly note: string },
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "UrgentMatter" SET status = 'settled', "settledOn" = $2, "settledBy" = $3,
       "settledNote" = $4 WHERE id = $1 AND status = 'open'`,
    [id, by.settledOn, by.settledBy, by.note],
  );
  return rowCount === 1;
}

/** Opens a settled matter again; false when it is not settled. */
export async function reopenUrgentMatter(client: pg.ClientBase, id: string): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "UrgentMatter" SET status = 'open', "settledOn" = NULL, "settledBy" = NULL,
       "settledNote" = NULL WHERE id = $1 AND status = 'settled'`,
    [id],
  );
  return rowCount === 1;
}

/** Takes back the open matters that visits raised, with the visits. */
export async function takeBackUrgentMatters(
  client: pg.ClientBase,
  visitIds: readonly string[],
): Promise<void> {
  await client.query(
    `UPDATE "UrgentMatter" SET status = 'taken-back', "visitId" = NULL
     WHERE "visitId" = ANY ($1) AND status = 'open'`,
    [visitIds],
  );
}

export async function countUrgentMatters(client: pg.ClientBase): Promise<number> {
  const { rows } = await client.query<{ open: number }>(
    `SELECT count(*) AS open FROM "UrgentMatter" WHERE status = 'open'`,
  );
  return rows[0].open;
}
