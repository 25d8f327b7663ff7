import { describe, expect, test } from "vitest";
import { wilsonInterval } from "@/lib/core/stats/binomial";
import {
  choleskyFactor,
  choleskyInverse,
  choleskySolve,
  logDeterminant,
  multiplyLower,
  solveTransposed,
} from "@/lib/core/stats/matrix";
import { denseCurvature, type Evaluation, maximize } from "@/lib/core/stats/maximize";

// The 3 × 3 example on most pages on Cholesky's method: L = [2; 6 1; −8 5 3].
const matrix = Float64Array.of(4, 12, -16, 12, 37, -43, -16, -43, 98);

describe("Cholesky's factor", () => {
  test("equals the textbook factor", () => {
    expect(Array.from(choleskyFactor(matrix, 3) ?? [])).toEqual([2, 0, 0, 6, 1, 0, -8, 5, 3]);
  });

  test("solves, inverts and gives the determinant (36)", () => {
    const factor = choleskyFactor(matrix, 3) as Float64Array;
    const solution = choleskySolve(factor, Float64Array.of(0, 6, 39));
    expect(Array.from(solution, (v) => Math.round(v * 1e9) / 1e9)).toEqual([1, 1, 1]);
    expect(Math.exp(logDeterminant(factor, 3))).toBeCloseTo(36, 9);
    const inverse = choleskyInverse(factor, 3);
    expect(inverse[0]).toBeCloseTo(1777 / 36, 9);
    expect(inverse[8]).toBeCloseTo(1 / 9, 12);
  });

  test("multiplies and solves by its halves", () => {
    const factor = choleskyFactor(matrix, 3) as Float64Array;
    expect(Array.from(multiplyLower(factor, Float64Array.of(1, 1, 1)))).toEqual([2, 7, 0]);
    const right = Float64Array.of(1, 2, 3);
    const solution = solveTransposed(factor, right);
    expect(2 * solution[0] + 6 * solution[1] - 8 * solution[2]).toBeCloseTo(1, 12);
  });

  test("is refused for a matrix that is not positive definite", () => {
    expect(choleskyFactor(Float64Array.of(1, 2, 2, 1), 2)).toBeNull();
    expect(choleskyFactor(Float64Array.of(1, 1, 1, 1), 2)).toBeNull();
  });
});

describe("maximize", () => {
  // Rosenbrock's valley (1960), turned upside down: its only maximum, 0, is at (1, 1), and the
  // start (−1.2, 1) is his.
  test("climbs Rosenbrock's valley to (1, 1) from his start", () => {
    const evaluate = (p: Float64Array): Evaluation<ReturnType<typeof denseCurvature>> => {
      const [x, y] = p;
      const rise = y - x * x;
      return {
        value: -(100 * rise * rise + (1 - x) ** 2),
        gradient: Float64Array.of(400 * x * rise + 2 * (1 - x), -200 * rise),
        curvature: denseCurvature(
          Float64Array.of(800 * x * x - 400 * rise + 2, -400 * x, -400 * x, 200),
          2,
        ),
      };
    };
    const { point, converged, iterations } = maximize(evaluate, Float64Array.of(-1.2, 1));
    expect(converged).toBe(true);
    expect(iterations).toBeLessThan(40);
    expect(point[0]).toBeCloseTo(1, 7);
    expect(point[1]).toBeCloseTo(1, 7);
  });

  test("says so when there is no maximum", () => {
    const slope = (p: Float64Array) => ({
      value: p[0],
      gradient: Float64Array.of(1),
      curvature: denseCurvature(Float64Array.of(0), 1),
    });
    expect(maximize(slope, Float64Array.of(0), 20).converged).toBe(false);
  });

  test("starts from a place where the curvature bends the wrong way", () => {
    // −cos has maxima at odd multiples of π and bends upwards at 0.5.
    const wave = (p: Float64Array) => ({
      value: -Math.cos(p[0]),
      gradient: Float64Array.of(Math.sin(p[0])),
      curvature: denseCurvature(Float64Array.of(-Math.cos(p[0])), 1),
    });
    const { point, converged } = maximize(wave, Float64Array.of(0.5));
    expect(converged).toBe(true);
    expect(Math.cos(point[0])).toBeCloseTo(-1, 12);
  });
});

describe("wilsonInterval", () => {
  // Newcombe, Statistics in Medicine 17 (1998), table I, method 3, 95 % (from memory).
  test.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])("%i of %i is between %f and %f", (successes, trials, lower, upper) => {
    const interval = wilsonInterval(successes, trials, 0.95);
    expect(interval.lower).toBeCloseTo(lower, 4);
    expect(interval.upper).toBeCloseTo(upper, 4);
  });

  test("refuses more successes than trials", () => {
    expect(() => wilsonInterval(3, 2, 0.9)).toThrow(/successes.*3/);
  });
});
