import { hashPassword } from "better-auth/crypto";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { setPassword } from "@/lib/data/people";
import { withSql } from "@/lib/data/tenant";
import { handleAuthRequest, startSession } from "@/lib/services/sign-in";
import { FREE_ATTEMPTS } from "@/lib/services/sign-in-throttle";
import type { Viewer } from "@/lib/services/viewer";
import { anOrganization, openTestDatabase, type TestDatabase } from "@/test/support/database";

vi.mock("next/headers", () => ({
  headers: async () => new Headers(),
  cookies: async () => ({ get: () => undefined, set: () => undefined }),
}));

const PASSWORD = "a long enough password";
const ADDRESS = "http://127.0.0.1:3210";
let database: TestDatabase;
let person: Viewer;

beforeAll(async () => {
  process.env.TANKLORE_BASE_URL = ADDRESS;
  process.env.TANKLORE_AUTH_SECRET = "only for this test, and long enough for it";
  database = await openTestDatabase();
  person = await anOrganization(database);
  const digest = await hashPassword(PASSWORD);
  await withSql(person, (client) => setPassword(client, person.userId, digest));
});

afterAll(() => database?.close());

const tryWith = (email: string, password: string) =>
  startSession({ email, password }, new Headers({ host: "127.0.0.1:3210" }));

test("the right password starts a session, also after a few wrong ones", async () => {
  expect((await tryWith(person.email, "wrong")).ok).toBe(false);
  expect((await tryWith(person.email, PASSWORD)).ok).toBe(true);
});

test("after too many wrong passwords even the right one waits, through every door", async () => {
  for (let i = 0; i < FREE_ATTEMPTS; i++) await tryWith(person.email, "wrong");
  const held = await tryWith(person.email, PASSWORD);
  expect(held.ok ? [] : held.problems.map(({ message }) => message)).toEqual([
    expect.stringMatching(/^Too many attempts for this email\. Wait \d+ seconds/),
  ]);
  const answer = await handleAuthRequest(
    new Request(`${ADDRESS}/api/auth/sign-in/email`, {
      method: "POST",
      headers: { "content-type": "application/json", origin: ADDRESS },
      body: JSON.stringify({ email: person.email, password: PASSWORD }),
    }),
  );
  expect(answer.status).toBe(429);
  // The library says so on the log of errors, without the address.
  expect(vi.mocked(console.error).mock.calls.flat().join(" ")).not.toContain(person.email);
  vi.mocked(console.error).mockClear();
  expect(answer.headers.get("set-cookie")).toBeNull();
});

test("an address without an account is held up in the same way", async () => {
  const attempts = await Promise.all(
    Array.from({ length: FREE_ATTEMPTS + 1 }, () => tryWith("nobody@test.example", "wrong")),
  );
  const messages = attempts.flatMap((one) => (one.ok ? [] : one.problems.map((p) => p.message)));
  expect(messages.filter((text) => text.startsWith("Too many attempts"))).toHaveLength(1);
});
