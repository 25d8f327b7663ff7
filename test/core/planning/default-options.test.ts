import { describe, expect, test } from "vitest";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";

type Found = { readonly path: string; readonly evidence: string; readonly source: string };

/** Everything within the terms that says what it rests on. */
function sourcedWithin(value: unknown, path: string): readonly Found[] {
  if (typeof value !== "object" || value === null) return [];
  const { evidence, source } = value as Partial<Found>;
  const own =
    typeof evidence === "string" && typeof source === "string" ? [{ path, evidence, source }] : [];
  return own.concat(
    ...Object.entries(value).map(([key, each]) => sourcedWithin(each, `${path}.${key}`)),
  );
}

describe.each(DEFAULT_OPTIONS.map(({ code, terms }) => [code, terms] as const))(
  "the starting option %s",
  (code, terms) => {
    test("says of every price and figure that it is assumed, from memory, or who is quoted", () => {
      const found = sourcedWithin(terms, code);
      expect(found.length).toBeGreaterThan(8);
      for (const { path, evidence, source } of found) {
        if (evidence === "assumed") expect(source, path).toBe("assumed, edit me");
        else if (evidence === "memory") expect(source, path).toMatch(/from memory$/);
        else {
          expect(evidence, path).toBe("quoted");
          expect(source, path).toMatch(/as quoted/);
        }
      }
    });
  },
);

test("the starting catalogue has every kind of replacement once or more", () => {
  const kinds = DEFAULT_OPTIONS.map(({ terms }) => `${terms.technology} ${terms.volumeGal ?? ""}`);
  expect(kinds).toEqual(
    expect.arrayContaining([
      "heat-pump-storage 50",
      "heat-pump-storage 65",
      "heat-pump-storage 80",
      "heat-pump-plug-in 65",
      "heat-pump-central 100",
      "electric-storage 50",
      "gas-storage 40",
    ]),
  );
  expect(kinds.some((kind) => kind.startsWith("heat-pump-split"))).toBe(true);
});
