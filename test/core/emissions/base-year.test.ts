import { describe, expect, test } from "vitest";
import { decideBaseYear, type StructuralChange } from "@/lib/core/emissions/base-year";

const change = (kgCo2e: number, reason: StructuralChange["reason"] = "bought") => ({
  reason,
  description: "test",
  kgCo2e,
});

describe("the base year", () => {
  // A threshold is asked for by the GHG Protocol Corporate Standard, chapter 5 (from memory); 5 % is
  // common practice, no source.
  test.each([
    [4_999, false, 100_000],
    [5_000, false, 100_000],
    [5_001, true, 105_001],
  ])("of 100 t is recalculated for a purchase of %i kg: %s", (kg, recalculate, kgCo2e) => {
    expect(decideBaseYear({ kgCo2e: 100_000, changes: [change(kg)] })).toMatchObject({
      recalculate,
      kgCo2e,
    });
  });

  test("small changes count together, and opposite ones do not hide each other", () => {
    const changes = [change(3_000), change(-3_000, "sold")];
    expect(decideBaseYear({ kgCo2e: 100_000, changes })).toMatchObject({
      recalculate: true,
      share: 0.06,
      kgCo2e: 100_000,
    });
  });

  test("stands without changes, and takes the organisation's own threshold", () => {
    expect(decideBaseYear({ kgCo2e: 1, changes: [] }).recalculate).toBe(false);
    const changes = [change(3_000, "method")];
    expect(decideBaseYear({ kgCo2e: 100_000, changes, thresholdShare: 0.02 }).recalculate).toBe(
      true,
    );
  });

  test("of nothing cannot be compared with", () => {
    expect(() => decideBaseYear({ kgCo2e: 0, changes: [] })).toThrow(/kgCo2e.*0/);
  });
});
