import { describe, expect, test } from "vitest";
import { gaussLegendre } from "@/lib/core/stats/quadrature";

const integrate = (size: number, f: (x: number) => number): number => {
  const { points, weights } = gaussLegendre(size);
  return points.reduce((sum, x, i) => sum + weights[i] * f(x), 0);
};

describe("gaussLegendre", () => {
  // Abramowitz and Stegun, table 25.4, n = 2 and n = 5, moved from [-1, 1] to [0, 1].
  test("has the tabulated points and weights", () => {
    expect(gaussLegendre(2).points[1]).toBeCloseTo((1 + 1 / Math.sqrt(3)) / 2, 15);
    expect(gaussLegendre(5).points[4]).toBeCloseTo((1 + 0.906179845938664) / 2, 14);
    expect(gaussLegendre(5).weights[4]).toBeCloseTo(0.236926885056189 / 2, 14);
    expect(gaussLegendre(5).weights[2]).toBeCloseTo(0.568888888888889 / 2, 14);
  });

  test("is exact for polynomials up to degree 2n − 1 and not beyond", () => {
    for (const size of [1, 2, 3, 8, 16]) {
      const exact = 2 * size - 1;
      expect(integrate(size, (x) => x ** exact)).toBeCloseTo(1 / (exact + 1), 13);
    }
    expect(Math.abs(integrate(2, (x) => x ** 4) - 1 / 5)).toBeGreaterThan(1e-3);
  });

  test("has weights that sum to one for every size", () => {
    for (const size of [1, 7, 12, 64, 200]) {
      expect(gaussLegendre(size).weights.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
    }
  });

  test("refuses a size of zero", () => {
    expect(() => gaussLegendre(0)).toThrow(/size.*0/);
  });
});
