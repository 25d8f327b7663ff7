import { afterAll, beforeAll, beforeEach, describe, expect, test } from "vitest";
import { ROLES, type Role } from "@/lib/core/shared/roles";
import { readLog } from "@/lib/services/settings-log";
import {
  addPerson,
  changeRole,
  choosePassword,
  readLink,
  readPeople,
  removePerson,
  renewLink,
} from "@/lib/services/settings-people";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

let database: TestDatabase;
let owner: Viewer;
let count = 0;

beforeAll(async () => {
  database = await openTestDatabase();
});

beforeEach(async () => {
  owner = await anOrganization(database);
  count += 1;
});

afterAll(() => database.close());

const password = { password: "correct horse battery", repeated: "correct horse battery" };
const someone = (changes = {}) => ({
  name: "Somebody New",
  email: `person-${count}@test.example`,
  role: "viewer",
  ...changes,
});

async function invite(changes = {}) {
  const outcome = await addPerson(owner, someone(changes));
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  const { people } = await readPeople(owner);
  const person = people.find(({ email }) => email === outcome.value.email);
  if (!person) throw new Error("not listed");
  return { ...outcome.value, userId: person.userId };
}

async function passwordOf(userId: string): Promise<string | null> {
  const { rows } = await database.owner.query(
    'SELECT password FROM "Account" WHERE "userId" = $1',
    [userId],
  );
  return rows[0]?.password ?? null;
}

describe("adding a person", () => {
  test("they are listed with their role and cannot sign in before they use the link", async () => {
    const { userId, token } = await invite({ email: ` Person-${count}@TEST.example ` });
    const { people } = await readPeople(owner);
    const person = people.find((one) => one.userId === userId);
    expect(person).toMatchObject({
      email: `person-${count}@test.example`,
      role: "viewer",
      hasPassword: false,
    });
    expect(person?.linkUntil).not.toBeNull();
    expect(await passwordOf(userId)).toBeNull();
    expect(await readLink(token)).toMatchObject({ name: "Somebody New" });
  });

  test("the link works once, and what is kept is neither token nor password", async () => {
    const { userId, token, email } = await invite();
    expect(await choosePassword(token, password)).toEqual({ ok: true, value: email });
    expect(await passwordOf(userId)).not.toContain(password.password);
    const { rows } = await database.owner.query('SELECT identifier, value FROM "Verification"');
    expect(JSON.stringify(rows)).not.toContain(token);
    expect((await choosePassword(token, password)).ok).toBe(false);
    expect(await readLink(token)).toBeNull();
    const { people } = await readPeople(owner);
    expect(people.find((one) => one.userId === userId)?.hasPassword).toBe(true);
  });

  test("of two who use one link at once, one succeeds", async () => {
    const { token } = await invite();
    const outcomes = await Promise.all([
      choosePassword(token, password),
      choosePassword(token, password),
    ]);
    expect(outcomes.filter(({ ok }) => ok)).toHaveLength(1);
  });

  test("a link that is too old does not work", async () => {
    const { token, userId } = await invite();
    await database.owner.query(
      `UPDATE "Verification" SET "expiresAt" = now() - interval '1 second' WHERE value = $1`,
      [userId],
    );
    expect(await readLink(token)).toBeNull();
    expect((await choosePassword(token, password)).ok).toBe(false);
  });

  test("a new link ends the earlier one; a password already chosen stands until it is used", async () => {
    const { userId, token } = await invite();
    await choosePassword(token, password);
    const before = await passwordOf(userId);
    const renewed = await renewLink(owner, { userId });
    const again = await renewLink(owner, { userId });
    if (!renewed.ok || !again.ok) throw new Error("refused");
    expect(await passwordOf(userId)).toBe(before);
    expect(await readLink(renewed.value.token)).toBeNull();
    expect((await choosePassword(again.value.token, password)).ok).toBe(true);
    expect(await passwordOf(userId)).not.toBe(before);
  });

  test("choosing a password ends the sessions that used the old one", async () => {
    const { userId, token } = await invite();
    await database.owner.query(
      `INSERT INTO "Session" (id, "expiresAt", token, "updatedAt", "userId")
       VALUES ($1, now() + interval '1 day', $1, now(), $2)`,
      [`session-${count}`, userId],
    );
    await choosePassword(token, password);
    const { rows } = await database.owner.query('SELECT FROM "Session" WHERE "userId" = $1', [
      userId,
    ]);
    expect(rows).toEqual([]);
  });

  test.each([
    [{ email: "not an address" }, "email"],
    [{ name: "   " }, "name"],
    [{ role: "emperor" }, "role"],
  ])("refuses %j and says where", async (changes, path) => {
    const outcome = await addPerson(owner, someone(changes));
    expect(outcome).toMatchObject({ ok: false, problems: [{ path }] });
  });

  test.each([
    [{ password: "short", repeated: "short" }, "password"],
    [{ password: "correct horse battery", repeated: "correct horse" }, "repeated"],
  ])("a password such as %j is refused and the link still works", async (input, path) => {
    const { token } = await invite();
    expect(await choosePassword(token, input)).toMatchObject({ ok: false, problems: [{ path }] });
    expect(await readLink(token)).not.toBeNull();
  });

  test("an address is taken once, here or in another organisation", async () => {
    const { email } = await invite();
    expect(await addPerson(owner, someone({ email }))).toMatchObject({
      ok: false,
      problems: [{ path: "email" }],
    });
    const elsewhere = await anOrganization(database, { name: "Elsewhere" });
    expect(await addPerson(elsewhere, someone({ email }))).toMatchObject({
      ok: false,
      problems: [{ path: "email" }],
    });
    expect((await readPeople(elsewhere)).people).toHaveLength(1);
  });
});

describe("roles", () => {
  test("a role is changed, at once and with a line in the log", async () => {
    const { userId } = await invite();
    expect((await changeRole(owner, { userId, role: "maintenance" })).ok).toBe(true);
    const { people } = await readPeople(owner);
    expect(people.find((one) => one.userId === userId)?.role).toBe("maintenance");
    const { changes } = await readLog(owner, { entity: "Person", page: 1 });
    expect(changes[0]).toMatchObject({
      action: "person.role",
      fields: [{ field: "role", before: "viewer", after: "maintenance" }],
    });
  });

  test("the last owner can neither step down nor be removed", async () => {
    const { userId } = owner;
    expect((await changeRole(owner, { userId, role: "viewer" })).ok).toBe(false);
    expect((await removePerson(owner, { userId })).ok).toBe(false);
    expect((await readPeople(owner)).people).toMatchObject([{ userId, role: "owner" }]);
  });

  test("one of two owners can step down, the other then cannot", async () => {
    const { userId } = await invite({ role: "owner" });
    expect((await changeRole(owner, { userId: owner.userId, role: "manager" })).ok).toBe(true);
    expect((await changeRole(owner, { userId, role: "manager" })).ok).toBe(false);
  });

  test("two owners who step down at once leave one owner", async () => {
    const { userId } = await invite({ role: "owner" });
    const outcomes = await Promise.all([
      changeRole(owner, { userId, role: "viewer" }),
      changeRole(owner, { userId: owner.userId, role: "viewer" }),
    ]);
    expect(outcomes.filter(({ ok }) => ok)).toHaveLength(1);
    const { people } = await readPeople(owner);
    expect(people.filter(({ role }) => role === "owner")).toHaveLength(1);
  });

  test.each(ROLES)("%s manages people only as an owner", async (role: Role) => {
    const person = { ...owner, role };
    if (role === "owner") {
      expect((await addPerson(person, someone())).ok).toBe(true);
      return;
    }
    const refusal = { code: "not-allowed" };
    const { userId } = owner;
    await expect(addPerson(person, someone())).rejects.toMatchObject(refusal);
    await expect(changeRole(person, { userId, role: "viewer" })).rejects.toMatchObject(refusal);
    await expect(removePerson(person, { userId })).rejects.toMatchObject(refusal);
    await expect(renewLink(person, { userId })).rejects.toMatchObject(refusal);
    expect((await readPeople(person)).mayManage).toBe(false);
  });

  test("nobody of another organisation can be touched", async () => {
    const elsewhere = await anOrganization(database, { name: "Elsewhere" });
    const { userId } = elsewhere;
    expect((await changeRole(owner, { userId, role: "viewer" })).ok).toBe(false);
    expect((await removePerson(owner, { userId })).ok).toBe(false);
    expect((await renewLink(owner, { userId })).ok).toBe(false);
    expect((await readPeople(elsewhere)).people).toMatchObject([{ userId, role: "owner" }]);
  });

  test("whoever also belongs to another organisation gets no link here, since it opens both", async () => {
    const { userId } = await invite();
    const elsewhere = await anOrganization(database, { name: "Elsewhere" });
    await database.owner.query(
      'INSERT INTO "Member" (id, "organizationId", "userId", role) VALUES (gen_random_uuid(), $1, $2, $3)',
      [elsewhere.organizationId, userId, "viewer"],
    );
    expect((await renewLink(owner, { userId })).ok).toBe(false);
  });
});

describe("removing a person", () => {
  test("ends the sign-in, keeps the name in the log, and the address can come back", async () => {
    const { userId, token, email } = await invite();
    await choosePassword(token, password);
    expect((await removePerson(owner, { userId })).ok).toBe(true);
    expect((await readPeople(owner)).people).toHaveLength(1);
    expect(await passwordOf(userId)).toBeNull();
    const { changes } = await readLog(owner, { entity: "Person", page: 1 });
    expect(changes[0]).toMatchObject({ action: "person.remove", subject: "Somebody New" });
    const back = await addPerson(owner, someone({ email, role: "manager" }));
    expect(back.ok).toBe(true);
    expect((await readPeople(owner)).people.find((one) => one.email === email)).toMatchObject({
      userId,
      role: "manager",
      hasPassword: false,
    });
  });

  test("a link that waits does not survive it", async () => {
    const { userId, token } = await invite();
    await removePerson(owner, { userId });
    expect(await readLink(token)).toBeNull();
  });
});
