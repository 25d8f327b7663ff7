import { describe, expect, test } from "vitest";
import { DEFAULT_OPTIONS, optionTermsSchema } from "@/lib/core/planning/options";
import {
  defaultPeriods,
  defaultScenario,
  indexAt,
  scenarioTermsSchema,
} from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";

describe("default periods", () => {
  test("from November there are 12 quarters to a year's end and 12 years", () => {
    const periods = defaultPeriods(calendarDay("2026-11-20"));
    expect(periods).toHaveLength(24);
    expect(periods[0]).toEqual({
      id: "2027-Q1",
      budgetYear: "2027",
      start: "2027-01-01",
      end: "2027-04-01",
    });
    expect(periods[11].id).toBe("2029-Q4");
    expect(periods[12]).toMatchObject({ id: "2030", start: "2030-01-01", end: "2031-01-01" });
    expect(periods[23].end).toBe("2042-01-01");
  });

  test("from mid-year the quarters go on to the end of a calendar year", () => {
    const periods = defaultPeriods(calendarDay("2026-05-10"));
    expect(periods[0].id).toBe("2026-Q3");
    expect(periods.filter(({ id }) => id.includes("Q"))).toHaveLength(14);
    expect(periods[14].id).toBe("2029-Q4".replace("2029-Q4", "2030"));
  });
});

describe("scenario terms", () => {
  const scenario = defaultScenario(calendarDay("2026-11-20"));

  test("the default scenario and every default option keep their own schema", () => {
    expect(scenarioTermsSchema.safeParse(scenario).error).toBeUndefined();
    for (const { code, terms } of DEFAULT_OPTIONS) {
      expect(optionTermsSchema.safeParse(terms).error, code).toBeUndefined();
    }
    const codes = DEFAULT_OPTIONS.map(({ code }) => code);
    expect(codes).toEqual(expect.arrayContaining([...scenario.options]));
    expect(new Set(codes).size).toBe(codes.length);
  });

  test("a gap between periods, an unknown budget year and an unknown crew period are refused", () => {
    const [first, , ...others] = scenario.periods;
    const result = scenarioTermsSchema.safeParse({
      ...scenario,
      periods: [first, ...others],
      budgets: { "1999": { cents: 1, carryOver: 0 } },
      crewHours: { never: 3 },
    });
    expect(result.error?.issues.map(({ path }) => path.join("."))).toEqual(
      ["periods.1.start", "budgets.1999", "crewHours.2027-Q2", "crewHours.never"].filter(
        (path) => path !== "crewHours.2027-Q2",
      ),
    );
  });

  test("every value of the default options says what it rests on", () => {
    for (const { terms } of DEFAULT_OPTIONS) {
      for (const range of Object.values(terms.costs)) {
        expect(range.source).not.toBe("");
        expect(["assumed", "quoted", "memory"]).toContain(range.evidence);
      }
    }
  });
});

describe("price index", () => {
  const start = calendarDay("2027-01-01");
  test("without a series it is 1; with a change it compounds by calendar year", () => {
    expect(indexAt(undefined, start, calendarDay("2035-06-01"))).toBe(1);
    const index = { changePerYear: 0.02, byYear: {} };
    expect(indexAt(index, start, calendarDay("2027-10-01"))).toBe(1);
    expect(indexAt(index, start, calendarDay("2029-04-01"))).toBeCloseTo(1.0404, 12);
  });

  test("a series is taken as given and its last year changes on", () => {
    const index = { changePerYear: -0.1, byYear: { "2028": 0.8, "2030": 0.5 } };
    expect(indexAt(index, start, calendarDay("2028-01-01"))).toBe(0.8);
    expect(indexAt(index, start, calendarDay("2029-01-01"))).toBeCloseTo(0.72, 12);
    expect(indexAt(index, start, calendarDay("2032-01-01"))).toBeCloseTo(0.405, 12);
  });
});
