import { readFileSync } from "node:fs";
import { expect } from "vitest";

/** The JSON examples under a heading of docs/compute.md, in their order. */
export function documentedExamples(heading: string): readonly unknown[] {
  const page = readFileSync(new URL("../../docs/compute.md", import.meta.url), "utf8");
  const section = page.split(/^## /m).find((part) => part.startsWith(`${heading}\n`));
  if (!section) throw new Error(`docs/compute.md has no section "${heading}"`);
  const blocks = [...section.matchAll(/^```json\n([\s\S]*?)^```/gm)];
  return blocks.map((block) => JSON.parse(block[1] as string));
}

/** A copy of `example` with the value at a path such as `items.0.kwh` replaced, or removed by `undefined`. */
export function withValueAt(example: unknown, path: string, value: unknown): unknown {
  const copy = structuredClone(example);
  const keys = path.split(".");
  const last = keys.pop() as string;
  let at = copy as Record<string, unknown>;
  for (const key of keys) at = at[key] as Record<string, unknown>;
  if (value === undefined) delete at[last];
  else at[last] = value;
  return copy;
}

/**
 * Expects an answer to hold everything an example prints: numbers as rounded to two decimals or, when
 * large, to five digits; lists in full; objects at least the keys printed.
 */
export function expectDocumented(documented: unknown, actual: unknown, path = "answer"): void {
  if (typeof documented === "number") {
    const tolerance = Math.max(0.00501, Math.abs(documented) * 5e-5);
    expect(typeof actual, path).toBe("number");
    expect(Math.abs((actual as number) - documented), path).toBeLessThanOrEqual(tolerance);
  } else if (Array.isArray(documented)) {
    expect(actual, path).toHaveLength(documented.length);
    documented.forEach((value, index) => {
      expectDocumented(value, (actual as unknown[])[index], `${path}[${index}]`);
    });
  } else if (documented !== null && typeof documented === "object") {
    for (const [key, value] of Object.entries(documented)) {
      expectDocumented(value, (actual as Record<string, unknown>)[key], `${path}.${key}`);
    }
  } else {
    expect(actual, path).toEqual(documented);
  }
}
