import type pg from "pg";
import { appPool } from "./connections";

export type FeedContent = "rounds" | "rounds-and-due";

export type CalendarFeedRow = {
  readonly id: string;
  readonly content: FeedContent;
  readonly createdOn: string;
  readonly lastReadOn: string | null;
};

/** The addresses of a person that still work, the newest first. */
export async function listFeeds(
  client: pg.ClientBase,
  userId: string,
): Promise<readonly CalendarFeedRow[]> {
  const { rows } = await client.query<CalendarFeedRow>(
    `SELECT id, content, "createdAt"::date AS "createdOn", "lastReadAt"::date AS "lastReadOn"
     FROM "CalendarFeed" WHERE "userId" = $1 AND "revokedAt" IS NULL ORDER BY "createdAt" DESC, id`,
    [userId],
  );
  return rows;
}

/** Keeps an address by the hash of its secret. */
export async function insertFeed(
  client: pg.ClientBase,
  organizationId: string,
  feed: { readonly userId: string; readonly secretHash: string; readonly content: FeedContent },
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO "CalendarFeed" (id, "organizationId", "userId", "secretHash", content)
     VALUES (gen_random_uuid(), $1, $2, $3, $4) RETURNING id`,
    [organizationId, feed.userId, feed.secretHash, feed.content],
  );
  return rows[0].id;
}

/** Makes an address of a person stop working for good; false when it does not work any more. */
export async function revokeFeed(
  client: pg.ClientBase,
  userId: string,
  feedId: string,
): Promise<boolean> {
  const { rowCount } = await client.query(
    `UPDATE "CalendarFeed" SET "revokedAt" = now()
     WHERE id = $1 AND "userId" = $2 AND "revokedAt" IS NULL`,
    [feedId, userId],
  );
  return rowCount === 1;
}

export type FeedOwner = {
  readonly feedId: string;
  readonly organizationId: string;
  readonly userId: string;
  readonly content: FeedContent;
};

/** Whose calendar a secret opens; null when it opens none (any more). Asked without a session. */
export async function findFeedOwner(secretHash: string): Promise<FeedOwner | null> {
  const { rows } = await appPool().query<FeedOwner>(
    `SELECT feed_id AS "feedId", organization_id AS "organizationId", user_id AS "userId", content
     FROM calendar_feed_of($1)`,
    [secretHash],
  );
  return rows[0] ?? null;
}

/** Notes that a calendar was read, once an hour at the most. */
export async function noteFeedRead(client: pg.ClientBase, feedId: string): Promise<void> {
  await client.query(
    `UPDATE "CalendarFeed" SET "lastReadAt" = now()
     WHERE id = $1 AND ("lastReadAt" IS NULL OR "lastReadAt" < now() - interval '1 hour')`,
    [feedId],
  );
}
