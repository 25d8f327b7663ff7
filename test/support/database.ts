import { randomBytes, randomUUID } from "node:crypto";
import pg from "pg";
import { inject } from "vitest";
import type { Role } from "@/lib/core/shared/roles";
import { closeConnections } from "@/lib/data/connections";
import { closeQueue } from "@/lib/data/job-queue";
import type { Viewer } from "@/lib/services/viewer";
import { TEMPLATE_DATABASE, TEST_APP_PASSWORD } from "./throwaway-server";

export type TestDatabase = {
  /** Owner: passes row-level security; for arranging and for looking behind the curtain. */
  readonly ownerUrl: string;
  /** The application's role; also set as the connection of lib/data in this process. */
  readonly appUrl: string;
  readonly owner: pg.Client;
  readonly close: () => Promise<void>;
};

/**
 * A migrated, empty database of the test file's own on the throw-away server. Call it in
 * `beforeAll`, and `close` in `afterAll`.
 */
export async function openTestDatabase(): Promise<TestDatabase> {
  const adminUrl = inject("adminUrl");
  const name = `test_${randomBytes(6).toString("hex")}`;
  const admin = new pg.Client({ connectionString: adminUrl });
  await admin.connect();
  await admin.query(`CREATE DATABASE ${name} TEMPLATE ${TEMPLATE_DATABASE}`);
  await admin.query(`GRANT CONNECT, TEMPORARY ON DATABASE ${name} TO tanklore_app`);
  await admin.end();

  const ownerUrl = withParts(adminUrl, { database: name });
  const appUrl = withParts(ownerUrl, { user: "tanklore_app", password: TEST_APP_PASSWORD });
  process.env.TANKLORE_APP_DATABASE_URL = appUrl;
  const owner = new pg.Client({ connectionString: ownerUrl });
  await owner.connect();
  return {
    ownerUrl,
    appUrl,
    owner,
    close: async () => {
      await closeQueue();
      await closeConnections();
      await owner.end();
    },
  };
}

/** An organisation with one person of the given role, as services see them. */
export async function anOrganization(
  database: TestDatabase,
  { name = "Test organisation", role = "owner" as Role } = {},
): Promise<Viewer> {
  const organizationId = randomUUID();
  const userId = randomUUID();
  const email = `${userId}@test.example`;
  await database.owner.query('INSERT INTO "Organization" (id, name) VALUES ($1, $2)', [
    organizationId,
    name,
  ]);
  await database.owner.query(
    'INSERT INTO "User" (id, name, email, "updatedAt") VALUES ($1, $2, $3, now())',
    [userId, `Test ${role}`, email],
  );
  await database.owner.query(
    'INSERT INTO "Member" (id, "organizationId", "userId", role) VALUES ($1, $2, $3, $4)',
    [randomUUID(), organizationId, userId, role],
  );
  return {
    userId,
    name: `Test ${role}`,
    email,
    organizationId,
    organizationName: name,
    isDemo: false,
    unitSystem: "us",
    role,
  };
}

function withParts(
  address: string,
  parts: { readonly database?: string; readonly user?: string; readonly password?: string },
): string {
  const url = new URL(address);
  if (parts.database) url.pathname = `/${parts.database}`;
  if (parts.user) url.username = parts.user;
  if (parts.password) url.password = parts.password;
  return url.toString();
}
