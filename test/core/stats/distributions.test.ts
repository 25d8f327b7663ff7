import { describe, expect, test } from "vitest";
import { gamma, logGamma } from "@/lib/core/stats/gamma";
import { regularizedGammaP, regularizedGammaQ } from "@/lib/core/stats/incomplete-gamma";
import { normalCdf, normalQuantile } from "@/lib/core/stats/normal";
import { quantile, quantileSorted } from "@/lib/core/stats/quantile";

describe("gamma", () => {
  test("is the factorial of one less at whole numbers", () => {
    let factorial = 1;
    for (let n = 1; n <= 20; n++) {
      expect(gamma(n) / factorial).toBeCloseTo(1, 12);
      factorial *= n;
    }
  });

  // Γ(1/2) = √π exactly; Γ(1.4) = 0.8872638175 (Abramowitz and Stegun, table 6.1).
  test("matches known values", () => {
    expect(gamma(0.5)).toBeCloseTo(Math.sqrt(Math.PI), 13);
    expect(gamma(1.4)).toBeCloseTo(0.8872638175, 10);
    expect(logGamma(0.1)).toBeCloseTo(2.252712651734206, 12); // R: lgamma(0.1)
    expect(logGamma(1000)).toBeCloseTo(5905.220423209181, 9); // R: lgamma(1000)
  });

  test("refuses zero and below and names the value", () => {
    expect(() => logGamma(0)).toThrow(/x.*0/);
  });
});

describe("regularizedGammaP and Q", () => {
  // Shape 1 is the exponential distribution: P(1, x) = 1 − e^−x.
  test("is the exponential distribution for shape 1", () => {
    for (const x of [0, 0.1, 1, 5, 30]) {
      expect(regularizedGammaP(1, x)).toBeCloseTo(-Math.expm1(-x), 13);
      expect(regularizedGammaQ(1, x) / Math.exp(-x)).toBeCloseTo(1, 12);
    }
  });

  // χ² with 2 degrees of freedom of 5.991 has an upper tail of 0.05 (any table of χ²).
  test("gives tabulated tails of the chi-squared distribution", () => {
    expect(regularizedGammaQ(1, 5.991464547 / 2)).toBeCloseTo(0.05, 9);
    expect(regularizedGammaQ(0.5, 3.841458821 / 2)).toBeCloseTo(0.05, 9);
  });
});

describe("normalCdf and normalQuantile", () => {
  // Two-sided 95 % and 90 % points of any normal table; R: pnorm(-10).
  test("match the table of the normal distribution", () => {
    expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 12);
    expect(normalQuantile(0.95)).toBeCloseTo(1.6448536269514722, 12);
    expect(normalCdf(1)).toBeCloseTo(0.8413447460685429, 13);
    expect(normalCdf(-10) / 7.61985302416053e-24).toBeCloseTo(1, 10);
  });

  test("undo each other", () => {
    for (const p of [1e-10, 0.01, 0.3, 0.5, 0.9, 0.9999]) {
      expect(normalCdf(normalQuantile(p)) / p).toBeCloseTo(1, 11);
    }
  });

  test("refuse a probability of one", () => {
    expect(() => normalQuantile(1)).toThrow(/probability.*1/);
  });
});

describe("quantile", () => {
  // R: quantile(c(1, 2, 4, 8), c(.25, .5, .9)) with the default type 7 gives 1.75, 3, 6.8.
  test("uses the R-7 method", () => {
    expect(quantileSorted([1, 2, 4, 8], 0.25)).toBeCloseTo(1.75, 12);
    expect(quantile([8, 1, 4, 2], 0.5)).toBeCloseTo(3, 12);
    expect(quantile([8, 1, 4, 2], 0.9)).toBeCloseTo(6.8, 12);
  });

  test("gives the ends for 0 and 1 and refuses an empty sample", () => {
    expect(quantile([3, 1, 2], 0)).toBe(1);
    expect(quantile([3, 1, 2], 1)).toBe(3);
    expect(() => quantile([], 0.5)).toThrow(/empty/);
  });
});
