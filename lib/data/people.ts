import { randomUUID } from "node:crypto";
import type pg from "pg";
import type { Role } from "@/lib/core/shared/roles";
import { appPool } from "./connections";

export type PersonRow = {
  readonly userId: string;
  readonly name: string;
  readonly email: string;
  readonly role: Role;
  readonly since: Date;
  /** False until a password is chosen by the link. */
  readonly hasPassword: boolean;
  readonly lastSeenAt: Date | null;
  /** When the link that was made last stops working; null when none does. */
  readonly linkUntil: Date | null;
};

/** The people of the organisation, owners first. */
export async function listPeople(client: pg.ClientBase): Promise<readonly PersonRow[]> {
  const { rows } = await client.query<PersonRow>(
    `SELECT u.id AS "userId", u.name, u.email, m.role, m."createdAt" AS since,
       EXISTS (SELECT FROM "Account" a WHERE a."userId" = u.id AND a.password IS NOT NULL)
         AS "hasPassword",
       (SELECT max(s."updatedAt") FROM "Session" s WHERE s."userId" = u.id) AS "lastSeenAt",
       (SELECT max(v."expiresAt") FROM "Verification" v
         WHERE v.value = u.id AND v.identifier LIKE 'invitation:%' AND v."expiresAt" > now())
         AS "linkUntil"
     FROM "Member" m JOIN "User" u ON u.id = m."userId"
     ORDER BY array_position(ARRAY['owner', 'manager', 'maintenance', 'sustainability', 'viewer'], m.role),
       u.name, u.email`,
  );
  return rows;
}

/**
 * The organisation's members, held until the end of the transaction: two owners cannot each take the
 * other's role away at once.
 */
export async function lockMembers(
  client: pg.ClientBase,
): Promise<readonly { readonly userId: string; readonly role: Role }[]> {
  const { rows } = await client.query<{ userId: string; role: Role }>(
    'SELECT "userId", role FROM "Member" ORDER BY id FOR UPDATE',
  );
  return rows;
}

/** A sign-in by its address, in whatever organisation. */
export async function findUserByEmail(
  client: pg.ClientBase,
  email: string,
): Promise<{ readonly id: string; readonly name: string } | null> {
  const { rows } = await client.query<{ id: string; name: string }>(
    'SELECT id, name FROM "User" WHERE email = $1',
    [email],
  );
  return rows[0] ?? null;
}

/** In how many organisations other than this one a person is. */
export async function countOtherMemberships(
  client: pg.ClientBase,
  organizationId: string,
  userId: string,
): Promise<number> {
  // A person's own memberships are seen, wherever they are, while the transaction names the person.
  await client.query("SELECT set_config('tanklore.person', $1, true)", [userId]);
  const { rows } = await client.query<{ others: number }>(
    'SELECT count(*) AS others FROM "Member" WHERE "userId" = $1 AND "organizationId" <> $2',
    [userId, organizationId],
  );
  await client.query("SELECT set_config('tanklore.person', '', true)");
  return rows[0].others;
}

/** Makes a sign-in; without a password nobody can use it yet. */
export async function insertUser(
  client: pg.ClientBase,
  { name, email }: { readonly name: string; readonly email: string },
): Promise<string> {
  const userId = randomUUID();
  await client.query(
    `INSERT INTO "User" (id, name, email, "emailVerified", "updatedAt")
     VALUES ($1, $2, $3, false, now())`,
    [userId, name, email],
  );
  return userId;
}

export async function insertMember(
  client: pg.ClientBase,
  organizationId: string,
  { userId, role }: { readonly userId: string; readonly role: Role },
): Promise<void> {
  await client.query(
    'INSERT INTO "Member" (id, "organizationId", "userId", role) VALUES ($1, $2, $3, $4)',
    [randomUUID(), organizationId, userId, role],
  );
}

export async function updateMemberRole(
  client: pg.ClientBase,
  userId: string,
  role: Role,
): Promise<void> {
  await client.query('UPDATE "Member" SET role = $2 WHERE "userId" = $1', [userId, role]);
}

export async function deleteMember(client: pg.ClientBase, userId: string): Promise<void> {
  await client.query('DELETE FROM "Member" WHERE "userId" = $1', [userId]);
}

/** Ends a person's sessions and takes password and links away; their name stays for the log. */
export async function disableSignIn(client: pg.ClientBase, userId: string): Promise<void> {
  await client.query('DELETE FROM "Session" WHERE "userId" = $1', [userId]);
  await client.query('DELETE FROM "Account" WHERE "userId" = $1', [userId]);
  await deleteLinks(client, userId);
}

/** Sets the password of a sign-in, by its hash, and ends the sessions that used the old one. */
export async function setPassword(
  client: pg.ClientBase,
  userId: string,
  passwordHash: string,
): Promise<void> {
  await client.query('DELETE FROM "Session" WHERE "userId" = $1', [userId]);
  await client.query(`DELETE FROM "Account" WHERE "userId" = $1 AND "providerId" = 'credential'`, [
    userId,
  ]);
  await client.query(
    `INSERT INTO "Account" (id, "accountId", "providerId", "userId", password, "updatedAt")
     VALUES ($1, $2, 'credential', $2, $3, now())`,
    [randomUUID(), userId, passwordHash],
  );
}

// ---- links by which a person chooses a password ----

/** Keeps a link by the hash of its token, in place of earlier ones. */
export async function replaceLink(
  client: pg.ClientBase,
  {
    userId,
    tokenHash,
    days,
  }: { readonly userId: string; readonly tokenHash: string; readonly days: number },
): Promise<void> {
  await deleteLinks(client, userId);
  await client.query(
    `INSERT INTO "Verification" (id, identifier, value, "expiresAt", "updatedAt")
     VALUES ($1, $2, $3, now() + make_interval(days => $4), now())`,
    [randomUUID(), `invitation:${tokenHash}`, userId, days],
  );
}

async function deleteLinks(client: pg.ClientBase, userId: string): Promise<void> {
  await client.query(
    `DELETE FROM "Verification" WHERE value = $1 AND identifier LIKE 'invitation:%'`,
    [userId],
  );
}

/** Whose link this is, while it works. */
export async function findLink(
  tokenHash: string,
): Promise<{ readonly userId: string; readonly name: string; readonly email: string } | null> {
  const { rows } = await appPool().query<{ userId: string; name: string; email: string }>(
    `SELECT u.id AS "userId", u.name, u.email FROM "Verification" v JOIN "User" u ON u.id = v.value
     WHERE v.identifier = $1 AND v."expiresAt" > now()`,
    [`invitation:${tokenHash}`],
  );
  return rows[0] ?? null;
}

/** Uses a link up: true for the first who does, while it works. */
export async function takeLink(client: pg.ClientBase, tokenHash: string): Promise<boolean> {
  const { rowCount } = await client.query(
    'DELETE FROM "Verification" WHERE identifier = $1 AND "expiresAt" > now()',
    [`invitation:${tokenHash}`],
  );
  return rowCount === 1;
}
