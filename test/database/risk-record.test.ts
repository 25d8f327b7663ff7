import { describe, expect, test } from "vitest";
import { compareWithRecord, countBand, meanBand } from "@/lib/services/risk-record";

const year = (changes: Partial<Parameters<typeof compareWithRecord>[0][number]>) => ({
  year: 2020,
  heaterYears: 1_000,
  expected: 100,
  draws: [60, 80, 100, 120, 150],
  happened: 100,
  ...changes,
});

describe("countBand", () => {
  // Tables of the cumulative Poisson distribution, mean 10 (from memory): P(N ≤ 4) = 0.0293,
  // P(N ≤ 5) = 0.0671, P(N ≤ 14) = 0.9165, P(N ≤ 15) = 0.9513.
  test("is the Poisson band of the tables when the mean is certain", () => {
    expect(countBand([10])).toEqual({ low: 5, high: 15 });
  });

  // The same tables, mean 1: P(N ≤ 0) = 0.3679, P(N ≤ 2) = 0.9197, P(N ≤ 3) = 0.9810.
  test("begins at zero where zero is likely enough", () => {
    expect(countBand([1])).toEqual({ low: 0, high: 3 });
  });

  test("is nothing but zero when nothing can fail", () => {
    expect(countBand([0, 0])).toEqual({ low: 0, high: 0 });
  });

  test("is wider when the mean is in doubt", () => {
    const certain = countBand([100]);
    const doubtful = countBand([70, 85, 100, 115, 130]);
    expect(doubtful.low).toBeLessThan(certain.low);
    expect(doubtful.high).toBeGreaterThan(certain.high);
  });

  test("refuses an empty list of means by name", () => {
    expect(() => countBand([])).toThrow(/means/);
  });
});

describe("meanBand", () => {
  // Garwood's limits are half of chi-square quantiles; printed tables give 10.851 (5 %, 20 degrees of
  // freedom) and 33.924 (95 %, 22 degrees of freedom).
  test("matches the chi-square tables for ten events", () => {
    const { low, high } = meanBand(10);
    expect(low).toBeCloseTo(10.851 / 2, 3);
    expect(high).toBeCloseTo(33.924 / 2, 3);
  });

  // No event: the upper limit is −ln 0.05, closed form.
  test("reaches from zero to −ln 0.05 when nothing happened", () => {
    const { low, high } = meanBand(0);
    expect(low).toBe(0);
    expect(high).toBeCloseTo(-Math.log(0.05), 6);
  });
});

describe("compareWithRecord", () => {
  test("agrees when chance alone explains the difference", () => {
    expect(compareWithRecord([year({ happened: 108 })]).verdict).toBe("agrees");
  });

  test("is off when only the model's own doubt explains it", () => {
    const { verdict, total } = compareWithRecord([year({ happened: 140 })]);
    expect(verdict).toBe("off");
    expect(total?.verdict).toBe("more");
  });

  test("contradicts when not even that does", () => {
    const comparison = compareWithRecord([year({ happened: 20 })]);
    expect(comparison.verdict).toBe("contradicts");
    expect(comparison.total?.verdict).toBe("fewer");
  });

  test("says nothing on a handful of failures", () => {
    const few = year({ expected: 3, draws: [2, 3, 4], happened: 9 });
    expect(compareWithRecord([few]).verdict).toBe("too-little");
  });

  test("has no total when no year is on record", () => {
    expect(compareWithRecord([])).toEqual({ years: [], total: null, verdict: "too-little" });
  });

  test("adds years up draw by draw, since a wrong mean is wrong in every year", () => {
    const { total } = compareWithRecord([year({}), year({ year: 2021, happened: 90 })]);
    expect(total).toMatchObject({ expected: 200, happened: 190, heaterYears: 2_000 });
    expect(total?.draws).toEqual([120, 160, 200, 240, 300]);
  });
});
