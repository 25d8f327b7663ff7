import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { attributeChange } from "@/lib/core/emissions/attribution";

describe("splitting a change between its causes", () => {
  // The glove game of game theory: one left glove, two right ones, a pair is worth 1. Its Shapley
  // values are 2/3, 1/6 and 1/6 (any textbook; by hand over the six orders).
  test("gives the glove game its known values", () => {
    const parts = attributeChange(3, (set) => ((set & 1) !== 0 && (set & 6) !== 0 ? 1 : 0));
    expect(parts[0]).toBeCloseTo(2 / 3, 12);
    expect(parts[1]).toBeCloseTo(1 / 6, 12);
    expect(parts[2]).toBeCloseTo(1 / 6, 12);
  });

  test("of causes that add up gives each its own", () => {
    const own = [3, -7, 11, 0.5];
    const parts = attributeChange(4, (set) =>
      own.reduce((sum, value, bit) => ((set & (1 << bit)) !== 0 ? sum + value : sum), 100),
    );
    parts.forEach((part, bit) => {
      expect(part).toBeCloseTo(own[bit] as number, 9);
    });
  });

  test("adds up to the whole, whatever the causes do to each other", () => {
    const values = fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), {
      minLength: 16,
      maxLength: 16,
    });
    fc.assert(
      fc.property(values, (totals) => {
        const parts = attributeChange(4, (set) => totals[set] as number);
        const sum = parts.reduce((a, b) => a + b, 0);
        expect(sum).toBeCloseTo((totals[15] as number) - (totals[0] as number), 5);
      }),
      { seed: 5 },
    );
  });
});
