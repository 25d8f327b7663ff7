import { describe, expect, test } from "vitest";
import { costByMonth, costOfMonth, type Tariff } from "@/lib/core/energy/tariff";

describe("a tiered tariff", () => {
  const tiers = [
    { upTo: 100, centsPerUnit: 10 },
    { upTo: 300, centsPerUnit: 20 },
    { upTo: null, centsPerUnit: 40 },
  ];
  const tariff = (otherUnitsPerMonth: number): Tariff => ({
    kind: "tiered",
    otherUnitsPerMonth,
    tiers,
  });

  // Worked by hand from the tiers above.
  test.each([
    [0, 100, 1_000],
    [0, 101, 1_020],
    [0, 300, 5_000],
    [0, 301, 5_040],
    [250, 100, 50 * 20 + 50 * 40],
    [300, 10, 400],
  ])("on top of %i other units, %i units cost %i cents", (other, units, cents) => {
    expect(costOfMonth(tariff(other), units, 1)).toBeCloseTo(cents, 9);
  });

  test("without an open end is refused when the use goes beyond it", () => {
    const closed: Tariff = {
      kind: "tiered",
      otherUnitsPerMonth: 0,
      tiers: [{ upTo: 100, centsPerUnit: 10 }],
    };
    expect(() => costOfMonth(closed, 101, 1)).toThrow(/last must have upTo null/);
  });
});

describe("a time-of-use tariff", () => {
  const peak = Array.from({ length: 24 }, (_, hour) => (hour >= 16 && hour < 21 ? 60 : 20));
  const tariff: Tariff = {
    kind: "time-of-use",
    seasons: [
      { months: [6, 7, 8, 9], centsByHour: peak },
      { months: [1, 2, 3, 4, 5, 10, 11, 12], centsByHour: Array(24).fill(20) },
    ],
  };

  // Hot-water share from 16 to 21 h by the profile: 0.037 + 4 · 0.063 = 0.289.
  test("prices a day's profile: 100 units in July cost 20 cents each and 40 more in the peak", () => {
    expect(costOfMonth(tariff, 100, 7)).toBeCloseTo(100 * (20 + 40 * 0.289), 6);
    expect(costOfMonth(tariff, 100, 12)).toBeCloseTo(2_000, 6);
  });

  test("a heater that runs at noon alone avoids the peak", () => {
    const noon = Array.from({ length: 24 }, (_, hour) => (hour === 12 ? 1 : 0));
    expect(costOfMonth(tariff, 100, 7, noon)).toBeCloseTo(2_000, 9);
  });

  test("with a month in no season is refused by name", () => {
    const gap: Tariff = { kind: "time-of-use", seasons: [{ months: [1], centsByHour: peak }] };
    expect(() => costOfMonth(gap, 1, 2)).toThrow(/month 2/);
  });

  test("is asked month by month", () => {
    const costs = costByMonth(tariff, Array(12).fill(100));
    expect(costs[6]).toBeGreaterThan(costs[0] as number);
  });
});
