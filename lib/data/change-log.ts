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

/** How the log stands against its seals. */
export type LogSeals = {
  /** Entries that carry a seal. */
  readonly sealed: number;
  /** Position of the first entry that is not as it was sealed; null when all are. */
  readonly brokenAt: number | null;
  /** Entries without a seal. */
  readonly unsealed: number;
  /** The last seal in hexadecimal; null while nothing is sealed. */
  readonly lastHash: string | null;
  readonly lastAt: Date | null;
};

/**
 * Computes every seal of an organisation's log again. It finds entries that were changed, removed or
 * slipped in; it cannot find that the owner of the database sealed the whole rest anew, for which keep
 * the last seal elsewhere and compare.
 */
export async function verifyChanges(client: pg.ClientBase): Promise<LogSeals> {
  const { rows } = await client.query<LogSeals>(
    `WITH chain AS (
       SELECT s."position", s.hash, e.id IS NOT NULL
         AND s."position" = row_number() OVER chained
         AND s.hash = audit_seal_hash(COALESCE(lag(s.hash) OVER chained, ''::bytea), s."position", e)
         AS holds, e.at
       FROM "AuditSeal" s LEFT JOIN "AuditEntry" e ON e.id = s."entryId"
       WINDOW chained AS (ORDER BY s."position")
     )
     SELECT (SELECT count(*)::int FROM chain) AS sealed,
       (SELECT min("position")::int FROM chain WHERE NOT holds) AS "brokenAt",
       (SELECT count(*)::int FROM "AuditEntry" e
        WHERE NOT EXISTS (SELECT FROM "AuditSeal" s WHERE s."entryId" = e.id)) AS unsealed,
       last.hash AS "lastHash", last.at AS "lastAt"
     FROM (VALUES (1)) one
     LEFT JOIN LATERAL (
       SELECT encode(hash, 'hex') AS hash, at FROM chain ORDER BY "position" DESC LIMIT 1
     ) last ON true`,
  );
  return rows[0];
}

/** An entry with its seal, as the log is handed out. */
export type SealedChange = ChangeRow & { readonly position: number; readonly hash: string };

/** Entries in the order of their seals, from after a position on. */
export async function readSealedChanges(
  client: pg.ClientBase,
  { after, limit }: { readonly after: number; readonly limit: number },
): Promise<readonly SealedChange[]> {
  const { rows } = await client.query<SealedChange>(
    `SELECT s."position"::int AS position, encode(s.hash, 'hex') AS hash, e.id, e.at, e."userId",
       u.name AS "personName", e.action, e.entity, e."entityId", e.before, e.after
     FROM "AuditSeal" s JOIN "AuditEntry" e ON e.id = s."entryId"
     LEFT JOIN "User" u ON u.id = e."userId"
     WHERE s."position" > $1 ORDER BY s."position" LIMIT $2`,
    [after, limit],
  );
  return rows;
}
