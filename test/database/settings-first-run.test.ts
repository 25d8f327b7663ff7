import { verifyPassword } from "better-auth/crypto";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { appPool } from "@/lib/data/connections";
import { findMemberships } from "@/lib/data/sign-in";
import { isNewInstallation, makeFirstOwner } from "@/lib/services/settings-first-run";
import { openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;

beforeAll(async () => {
  database = await openTestDatabase();
});

afterAll(() => database.close());

const form = (changes = {}) => ({
  organizationName: "Quarry Homes",
  unitSystem: "us",
  name: "First Owner",
  email: "First@Test.example",
  password: "correct horse battery",
  repeated: "correct horse battery",
  ...changes,
});

/** In order: each step needs what the one before left. */
describe("the first run of an installation", () => {
  test("an installation without an organisation is new", async () => {
    expect(await isNewInstallation()).toBe(true);
  });

  test.each([
    [{ organizationName: "" }, "organizationName"],
    [{ email: "nobody" }, "email"],
    [{ password: "short", repeated: "short" }, "password"],
    [{ repeated: "something else" }, "repeated"],
    [{ unitSystem: "cgs" }, "unitSystem"],
  ])("refuses %j, says where, and stays new", async (changes, path) => {
    const outcome = await makeFirstOwner(form(changes));
    expect(outcome).toMatchObject({ ok: false, problems: [{ path }] });
    expect(await isNewInstallation()).toBe(true);
  });

  test("of several who begin at once, one becomes the owner of one organisation", async () => {
    const outcomes = await Promise.all(
      [1, 2, 3, 4].map((n) => makeFirstOwner(form({ email: `owner-${n}@test.example` }))),
    );
    expect(outcomes.filter(({ ok }) => ok)).toHaveLength(1);
    const { rows } = await database.owner.query(
      `SELECT u.id, u.email, m.role, o.name, o."isDemo", a.password, a."providerId"
       FROM "Organization" o JOIN "Member" m ON m."organizationId" = o.id
       JOIN "User" u ON u.id = m."userId" JOIN "Account" a ON a."userId" = u.id`,
    );
    expect(rows).toHaveLength(1);
    expect(rows[0]).toMatchObject({
      role: "owner",
      name: "Quarry Homes",
      isDemo: false,
      providerId: "credential",
    });
    expect(
      await verifyPassword({ hash: rows[0].password, password: "correct horse battery" }),
    ).toBe(true);
    expect(await findMemberships(rows[0].id)).toMatchObject([
      { organizationName: "Quarry Homes", role: "owner", unitSystem: "us" },
    ]);
  });

  test("afterwards nobody can begin again, and nothing is left of the attempt", async () => {
    expect(await isNewInstallation()).toBe(false);
    expect(await makeFirstOwner(form({ email: "late@test.example" }))).toMatchObject({ ok: false });
    const { rows } = await database.owner.query(
      `SELECT FROM "User" WHERE email = 'late@test.example'`,
    );
    expect(rows).toEqual([]);
  });

  test("the application's role learns whether there is an organisation, and nothing of it", async () => {
    const { rows } = await appPool().query(
      'SELECT installation_is_empty() AS empty, (SELECT count(*) FROM "Organization") AS seen',
    );
    expect(rows[0]).toEqual({ empty: false, seen: 0 });
  });
});
