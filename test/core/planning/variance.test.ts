import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  lineVariance,
  totalVariance,
  type VarianceLine,
  varianceBy,
} from "@/lib/core/planning/variance";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const line = (changes: Partial<VarianceLine> = {}): VarianceLine => ({
  heaterId: "h1",
  buildingId: "b1",
  budgetYear: "2027",
  start: calendarDay("2027-04-01"),
  end: calendarDay("2027-06-30"),
  plannedCents: 450_000,
  life: "done",
  actualDay: calendarDay("2027-05-10"),
  actualCents: 480_000,
  ...changes,
});

describe("lineVariance", () => {
  test.each([
    // Counted on a calendar: March has 31 days, and 30 June to 15 July is 15 days.
    ["2027-03-01", -31],
    ["2027-03-31", -1],
    ["2027-04-01", 0],
    ["2027-06-30", 0],
    ["2027-07-01", 1],
    ["2027-07-15", 15],
  ])("a swap on %s is %d days outside April to June", (day, days) => {
    expect(lineVariance(line({ actualDay: calendarDay(day) })).days).toBe(days);
  });

  test("is not known for a line that is not done or whose bill has not come", () => {
    expect(lineVariance(line({ life: "committed", actualDay: null, actualCents: null }))).toEqual({
      days: null,
      cents: null,
    });
    expect(lineVariance(line({ actualCents: null })).cents).toBeNull();
    expect(lineVariance(line()).cents).toBe(30_000);
  });
});

describe("totalVariance", () => {
  test("compares money over the same lines only", () => {
    // By hand: 4,500 and 4,000 planned were done for 4,800 and 3,900; a third has no bill yet.
    const lines = [
      line(),
      line({ plannedCents: 400_000, actualCents: 390_000, actualDay: calendarDay("2027-07-15") }),
      line({ plannedCents: 500_000, actualCents: null, actualDay: calendarDay("2027-03-31") }),
      line({ plannedCents: 300_000, life: "dropped", actualDay: null, actualCents: null }),
      line({ plannedCents: 200_000, life: "committed", actualDay: null, actualCents: null }),
    ];

    expect(totalVariance(lines)).toEqual({
      lines: 5,
      plannedCents: 1_850_000,
      done: 3,
      committed: 1,
      dropped: 1,
      droppedCents: 300_000,
      costUnknown: 1,
      plannedOfKnownCents: 850_000,
      actualCents: 870_000,
      early: 1,
      onTime: 1,
      late: 1,
    });
  });

  test("sums by building add up to the whole", () => {
    const lines = fc.array(
      fc.record({
        buildingId: fc.constantFrom("b1", "b2", "b3"),
        plannedCents: fc.integer({ min: 0, max: 1e6 }),
        actualCents: fc.option(fc.integer({ min: 0, max: 1e6 })),
        life: fc.constantFrom("planned", "committed", "done", "dropped"),
      }),
    );
    fc.assert(
      fc.property(lines, (changes) => {
        const all = changes.map((change) => line(change));
        const whole = totalVariance(all);
        const parts = [...varianceBy(all, ({ buildingId }) => buildingId).values()];
        for (const key of Object.keys(whole) as (keyof typeof whole)[]) {
          expect(parts.reduce((sum, part) => sum + part[key], 0)).toBe(whole[key]);
        }
      }),
    );
  });
});
