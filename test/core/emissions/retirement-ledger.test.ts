import { describe, expect, test } from "vitest";
import {
  emptyWeightKg,
  METAL_SHARE,
  type RetiredHeater,
  retirementLedger,
} from "@/lib/core/emissions/retirement-ledger";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";

function aRetired(changes: Partial<RetiredHeater> = {}): RetiredHeater {
  return {
    heaterId: "old",
    technology: "gas-storage",
    nameplate: { ...aHeater().nameplate, volumeGal: 40 },
    retiredOn: calendarDay("2025-03-01"),
    route: "recycled",
    weighedKg: 50,
    chargeKg: null,
    recoveredKg: null,
    ...changes,
  };
}

describe("the retirement ledger", () => {
  test("counts recycled metal, what was used again and what went to landfill", () => {
    const [year] = retirementLedger([
      aRetired(),
      aRetired({ route: "reused" }),
      aRetired({ route: "landfill" }),
    ]);
    expect(year).toMatchObject({
      year: 2025,
      retired: 3,
      byRoute: { recycled: 1, reused: 1, landfill: 1 },
      unknown: 0,
      weighed: 3,
    });
    expect(year?.metalRecycledKg).toBeCloseTo(50 * METAL_SHARE, 9);
    expect(year?.landfillAvoidedKg).toBeCloseTo(50 * METAL_SHARE + 50, 9);
    // Nothing is lost: what is not avoided is landfilled.
    expect((year?.landfillAvoidedKg ?? 0) + (year?.landfilledKg ?? 0)).toBeCloseTo(150, 9);
  });

  test("never counts a heater as recycled because nobody noted where it went", () => {
    const [year] = retirementLedger([aRetired({ route: null })]);
    expect(year).toMatchObject({ unknown: 1, metalRecycledKg: 0, landfillAvoidedKg: 0 });
  });

  test("sets refrigerant recovered beside the charges, and counts circuits without a note", () => {
    const [year] = retirementLedger([
      aRetired({ technology: "heat-pump-storage", chargeKg: 0.75, recoveredKg: 0.7 }),
      aRetired({ technology: "heat-pump-storage", chargeKg: 0.75 }),
    ]);
    expect(year).toMatchObject({ circuits: 2, chargeKg: 1.5, recoveredKg: 0.7, notRecovered: 1 });
  });

  test("is by year, the latest first", () => {
    const years = ["2023-12-31", "2024-01-01", "2022-05-05"].map((day) =>
      aRetired({ retiredOn: calendarDay(day) }),
    );
    expect(retirementLedger(years).map(({ year }) => year)).toEqual([2024, 2023, 2022]);
    expect(retirementLedger([])).toEqual([]);
  });

  // The trade's range of empty tanks, 100 to 250 lb, as in the caution about lifting (common practice,
  // no source).
  test.each([
    ["gas-storage", 40],
    ["gas-storage", 75],
    ["electric-storage", 50],
    ["heat-pump-storage", 50],
  ] as const)("an empty %s of %i gallons weighs what tanks weigh", (technology, volumeGal) => {
    const nameplate = { ...aHeater().nameplate, volumeGal };
    const pounds = emptyWeightKg({ technology, nameplate, weighedKg: null }) / 0.45359237;
    expect(pounds).toBeGreaterThanOrEqual(100);
    expect(pounds).toBeLessThanOrEqual(250);
  });
});
