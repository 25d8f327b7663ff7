import { afterEach, beforeEach, vi } from "vitest";

/** An unexpected `console.error` or `console.warn` fails the test that caused it. */
const spies = { error: vi.spyOn(console, "error"), warn: vi.spyOn(console, "warn") };

beforeEach(() => {
  for (const spy of Object.values(spies)) spy.mockClear();
});

afterEach(() => {
  for (const [name, spy] of Object.entries(spies)) {
    const call = spy.mock.calls[0];
    if (call) throw new Error(`unexpected console.${name}: ${call.map(String).join(" ")}`);
  }
});
