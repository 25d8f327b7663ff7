import { expect, test } from "vitest";
import { FREE_ATTEMPTS, SignInThrottle } from "@/lib/services/sign-in-throttle";

const SECOND = 1000;

/** A throttle on which an account has used up its free attempts at the moment 0. */
function tried(account = "a@test.example"): SignInThrottle {
  const throttle = new SignInThrottle();
  for (let i = 0; i < FREE_ATTEMPTS; i++) expect(throttle.begin(account, 0)).toBe(0);
  return throttle;
}

test("the first attempts wait for nothing, the next one waits half a minute", () => {
  expect(tried().begin("a@test.example", 0)).toBe(30);
});

test("every further wrong attempt doubles the wait, up to a quarter of an hour", () => {
  const throttle = tried();
  const waits: number[] = [];
  let now = 0;
  for (let i = 0; i < 8; i++) {
    const wait = throttle.begin("a@test.example", now);
    waits.push(wait);
    now += wait * SECOND;
    expect(throttle.begin("a@test.example", now)).toBe(0);
  }
  expect(waits).toEqual([30, 60, 120, 240, 480, 900, 900, 900]);
});

test("asking while waiting does not make the wait longer", () => {
  const throttle = tried();
  expect(throttle.begin("a@test.example", 10 * SECOND)).toBe(20);
  expect(throttle.begin("a@test.example", 20 * SECOND)).toBe(10);
});

test("an account is the same however its address is written, and another account is not held up", () => {
  const throttle = tried();
  expect(throttle.begin(" A@Test.Example ", 0)).toBe(30);
  expect(throttle.begin("b@test.example", 0)).toBe(0);
});

test("the right password lets the account start afresh", () => {
  const throttle = tried();
  throttle.succeed("a@test.example");
  expect(throttle.begin("a@test.example", 0)).toBe(0);
});
