import { expect, test } from "vitest";
import { describeError, withoutValues } from "@/lib/config/log";
import { shapeOfPath } from "@/lib/launch/observe";

test("a logged address names no record, no secret and nothing that a person typed", () => {
  const id = "0b9fd4a2-2f0b-4d3e-9d1e-1f3f5a7c9b11";
  expect(shapeOfPath(`/heaters/${id}/edit?search=Mrs+Somebody`)).toBe("/heaters/:id/edit");
  expect(shapeOfPath("/calendar/k3jd83kd93kd.ics")).toBe("/calendar/:secret");
  expect(shapeOfPath("/invitation/abcdef")).toBe("/invitation/:secret");
  expect(shapeOfPath("/plans/12#x")).toBe("/plans/:number");
  expect(shapeOfPath("/someone@example.org/..%2f")).toBe("/:other/:other");
  expect(shapeOfPath("/")).toBe("/");
});

test("a logged error keeps what went wrong and drops the values it quotes", () => {
  expect(withoutValues('invalid input syntax for type uuid: "Mrs Somebody"')).toBe(
    "invalid input syntax for type uuid: …",
  );
  expect(withoutValues("no mail to a.b@example.org, code 1234567")).toBe("no mail to …, code …");
  const error = Object.assign(new TypeError("key 'x' is bad"), { code: "23505" });
  expect(describeError(error)).toMatchObject({
    name: "TypeError",
    code: "23505",
    message: "key … is bad",
  });
  expect(JSON.stringify(describeError(error))).not.toContain(process.cwd());
  expect(describeError("thrown text with a name in it")).toEqual({ name: "string" });
});
