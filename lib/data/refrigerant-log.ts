import type pg from "pg";
import type { RefrigerantEvent } from "@/lib/core/emissions/refrigerant-account";
import type { Technology } from "@/lib/core/heaters/vocabulary";

/** An entry of the refrigerant log as it is listed. */
export type RefrigerantEntry = RefrigerantEvent & {
  readonly id: string;
  readonly tag: string;
  readonly propertyName: string;
  readonly note: string | null;
};

/** A heater that refrigerant may be noted for. */
export type RefrigerantHeater = {
  readonly id: string;
  readonly tag: string;
  readonly propertyName: string;
  readonly technology: Technology;
};

const ENTRY = `SELECT e.id, e."heaterId", h.tag, p.name AS "propertyName", e.kind, e.refrigerant, e.kg,
    e."happenedOn" AS day, e.note
  FROM "RefrigerantEvent" e
  JOIN "Heater" h ON h.id = e."heaterId"
  JOIN "Building" b ON b.id = h."buildingId"
  JOIN "Property" p ON p.id = b."propertyId"`;

/** The log, the latest day first. */
export async function listRefrigerantEntries(
  client: pg.ClientBase,
  { limit }: { readonly limit: number },
): Promise<readonly RefrigerantEntry[]> {
  const { rows } = await client.query<RefrigerantEntry>(
    `${ENTRY} ORDER BY e."happenedOn" DESC, e."createdAt" DESC LIMIT $1`,
    [limit],
  );
  return rows;
}

/** The log of one heater in the order of its days. */
export async function refrigerantEntriesOf(
  client: pg.ClientBase,
  heaterId: string,
): Promise<readonly RefrigerantEntry[]> {
  const { rows } = await client.query<RefrigerantEntry>(
    `${ENTRY} WHERE e."heaterId" = $1 ORDER BY e."happenedOn", e."createdAt"`,
    [heaterId],
  );
  return rows;
}

/** Heaters that bear a tag, locked until the end of the transaction. */
export async function lockHeatersByTag(
  client: pg.ClientBase,
  tag: string,
): Promise<readonly RefrigerantHeater[]> {
  const { rows } = await client.query<RefrigerantHeater>(
    `SELECT h.id, h.tag, p.name AS "propertyName", h.technology
     FROM "Heater" h
     JOIN "Building" b ON b.id = h."buildingId"
     JOIN "Property" p ON p.id = b."propertyId"
     WHERE lower(h.tag) = lower($1) ORDER BY p.name FOR UPDATE OF h`,
    [tag],
  );
  return rows;
}

/** Adds an entry and gives its id. */
export async function insertRefrigerantEntry(
  client: pg.ClientBase,
  organizationId: string,
  {
    heaterId,
    kind,
    refrigerant,
    kg,
    day,
    note,
  }: RefrigerantEvent & { readonly note: string | null },
  enteredBy: string,
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "RefrigerantEvent" (id, "organizationId", "heaterId", kind, refrigerant, kg,
       "happenedOn", note, "enteredBy")
     VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $6, $7, $8) RETURNING id`,
    [organizationId, heaterId, kind, refrigerant, kg, day, note, enteredBy],
  );
  const [row] = rows;
  if (!row) throw new RangeError(`insert for heater "${heaterId}" gave no row`);
  return row.id;
}

/** An entry by id, its heater locked; null when it is not on record. */
export async function lockRefrigerantEntry(
  client: pg.ClientBase,
  id: string,
): Promise<RefrigerantEntry | null> {
  const { rows } = await client.query<RefrigerantEntry>(
    `${ENTRY} WHERE e.id = $1 FOR UPDATE OF h`,
    [id],
  );
  return rows[0] ?? null;
}

export async function deleteRefrigerantEntry(client: pg.ClientBase, id: string): Promise<void> {
  await client.query('DELETE FROM "RefrigerantEvent" WHERE id = $1', [id]);
}
