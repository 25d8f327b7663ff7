import type pg from "pg";

export type ChangeRow = {
  readonly id: string;
  readonly at: Date;
  readonly userId: string | null;
  /** Null when nobody or somebody unknown did it. */
  readonly personName: string | null;
  readonly action: string;
  readonly entity: string;
  readonly entityId: string | null;
  readonly before: unknown;
  readonly after: unknown;
};

/** A page of the log, the latest change first, of one kind of thing or of all. */
export async function readChanges(
  client: pg.ClientBase,
  {
    entity,
    limit,
    offset,
  }: { readonly entity: string | null; readonly limit: number; readonly offset: number },
): Promise<readonly ChangeRow[]> {
  const { rows } = await client.query<ChangeRow>(
    `SELECT e.id, e.at, e."userId", u.name AS "personName", e.action, e.entity, e."entityId",
       e.before, e.after
     FROM "AuditEntry" e LEFT JOIN "User" u ON u.id = e."userId"
     WHERE $1::text IS NULL OR e.entity = $1
     ORDER BY e.at DESC, e.id DESC LIMIT $2 OFFSET $3`,
    [entity, limit, offset],
  );
  return rows;
}

/** Kinds of things in the log, with the number of changes of each. */
export async function countChanges(
  client: pg.ClientBase,
): Promise<readonly { readonly entity: string; readonly changes: number }[]> {
  const { rows } = await client.query<{ entity: string; changes: number }>(
    'SELECT entity, count(*) AS changes FROM "AuditEntry" GROUP BY entity ORDER BY entity',
  );
  return rows;
}
