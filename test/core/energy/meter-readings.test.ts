import { describe, expect, test } from "vitest";
import {
  daysWithoutReading,
  type MeterReading,
  meteredPeriods,
  modelledUnitsOf,
  overlapOf,
  READING_UNITS,
  readingInPeriod,
  unitsInPeriod,
  yearPeriod,
} from "@/lib/core/energy/meter-readings";
import { DAYS_OF_MONTH } from "@/lib/core/energy/months";
import { calendarDay } from "@/lib/core/shared/calendar-day";

function aReading(changes: Partial<MeterReading> = {}): MeterReading {
  return {
    id: "r",
    fuel: "natural-gas",
    buildingId: null,
    from: calendarDay("2025-01-01"),
    to: calendarDay("2025-03-31"),
    units: 90,
    otherUnits: 0,
    ...changes,
  };
}

const between = (from: string, to: string) => ({ from: calendarDay(from), to: calendarDay(to) });

describe("units of a meter", () => {
  // Heat contents of 40 CFR 98 table C-1, as quoted: 1.026e-3 mmBtu/scf, 0.091 and 0.138 mmBtu/gallon.
  test("are turned into therms by the heat contents of the federal table", () => {
    expect(READING_UNITS.ccf.factor).toBeCloseTo(100 * 1.026e-3 * 10, 12);
    expect(READING_UNITS["gallon-propane"].factor).toBeCloseTo(0.091 * 10, 12);
    expect(READING_UNITS["gallon-oil"].factor).toBeCloseTo(0.138 * 10, 12);
  });
});

describe("a monthly model over a period", () => {
  test("of a whole year is the model's year, leap year or not", () => {
    for (const year of [2023, 2024]) {
      expect(unitsInPeriod(DAYS_OF_MONTH, yearPeriod(year))).toBeCloseTo(365, 9);
    }
  });

  test("is shared out by the days of each month", () => {
    const monthly = DAYS_OF_MONTH.map((_, month) => (month === 0 ? 31 : month === 1 ? 56 : 0));
    expect(unitsInPeriod(monthly, between("2025-01-22", "2025-02-07"))).toBeCloseTo(10 + 14, 9);
    // 29 days of February 2024 hold the same 56.
    expect(unitsInPeriod(monthly, between("2024-02-01", "2024-02-29"))).toBeCloseTo(56, 9);
  });
});

describe("readings of one property", () => {
  test("that count the same energy twice are found, whatever the building", () => {
    const whole = aReading();
    expect(overlapOf(aReading({ from: calendarDay("2025-03-31") }), [whole])).toBe(whole);
    expect(overlapOf(aReading({ buildingId: "b", id: "x" }), [whole])).toBe(whole);
    expect(overlapOf(aReading(between("2025-04-01", "2025-04-30")), [whole])).toBeNull();
    expect(overlapOf(aReading({ fuel: "electricity" }), [whole])).toBeNull();
    const a = aReading({ buildingId: "a" });
    expect(overlapOf(aReading({ buildingId: "b" }), [a])).toBeNull();
  });

  test("leave the days open that none of them covers", () => {
    const of = { fuel: "natural-gas", buildingId: "a" } as const;
    const readings = [
      aReading(between("2025-02-01", "2025-02-28")),
      aReading({ ...between("2025-03-01", "2025-03-31"), buildingId: "a" }),
      aReading({ ...between("2025-06-01", "2025-06-30"), buildingId: "b" }),
      aReading({ ...between("2025-07-01", "2026-07-01"), fuel: "electricity" }),
    ];
    expect(daysWithoutReading(yearPeriod(2025), of, readings)).toEqual([
      between("2025-01-01", "2025-01-31"),
      between("2025-04-01", "2025-12-31"),
    ]);
    expect(daysWithoutReading(between("2025-02-10", "2025-03-20"), of, readings)).toEqual([]);
  });

  test("across a new year fall to each year by their days, other uses taken off", () => {
    const reading = aReading({
      ...between("2024-12-17", "2025-01-15"),
      units: 330,
      otherUnits: 30,
    });
    expect(readingInPeriod(reading, yearPeriod(2024))).toBeCloseTo(150, 9);
    expect(readingInPeriod(reading, yearPeriod(2025))).toBeCloseTo(150, 9);
  });

  test("stand beside the model of the heaters and days that they read", () => {
    const service = between("2020-01-01", "2025-01-15");
    const use = (buildingId: string) => ({
      buildingId,
      fuel: "natural-gas" as const,
      service,
      monthly: DAYS_OF_MONTH,
    });
    const uses = [use("a"), use("b")];
    expect(modelledUnitsOf(aReading(), uses)).toBeCloseTo(30, 9);
    expect(modelledUnitsOf(aReading({ buildingId: "a" }), uses)).toBeCloseTo(15, 9);
    const periods = meteredPeriods([aReading(), aReading({ fuel: "electricity" })], uses, () => 10);
    expect(periods).toEqual([{ meteredUnits: 900, modelledUnits: expect.closeTo(300, 9) }]);
  });
});
