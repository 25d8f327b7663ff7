import { describe, expect, test } from "vitest";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { heaterCurve, watchedSpan } from "@/lib/core/survival/curves";
import { drawModels } from "@/lib/core/survival/draws";
import { kaplanMeier, kaplanMeierBand } from "@/lib/core/survival/kaplan-meier";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { survival } from "@/lib/core/survival/weibull";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const draws = drawModels(PRIOR_MODEL, { count: 100, seed: 1, propertyIds: ["property-1"] });

describe("heaterCurve", () => {
  test("starts at one today and its band keeps its order", () => {
    const curve = heaterCurve(draws, aHeater(), {
      today: calendarDay("2026-06-01"),
      years: [0, 1, 5],
    });
    expect(curve[0].survival).toEqual({ lower: 1, median: 1, upper: 1 });
    expect(curve[2].survival.lower).toBeLessThan(curve[2].survival.median);
    expect(curve[2].survival.median).toBeLessThan(curve[2].survival.upper);
  });
});

describe("watchedSpan", () => {
  const installed = calendarDay("2010-01-01");
  const record = (changes: Partial<LifeRecord>): LifeRecord => ({
    heater: aHeater({ install: { earliest: installed, latest: installed, evidence: "permit" } }),
    observedFrom: calendarDay("2015-01-01"),
    retirement: null,
    ...changes,
  });
  const ended = (earliest: string, latest: string, cause: "leak" | "planned") => ({
    heaterId: "heater-1",
    earliest: calendarDay(earliest),
    latest: calendarDay(latest),
    cause,
    emergency: false,
  });

  test("a planned swap is no failure and a bracket counts in its middle", () => {
    const today = calendarDay("2025-01-01");
    const planned = watchedSpan(
      record({ retirement: ended("2020-01-01", "2020-01-01", "planned") }),
      today,
    );
    const leaked = watchedSpan(
      record({ retirement: ended("2020-01-01", "2021-01-01", "leak") }),
      today,
    );
    expect(planned?.failed).toBe(false);
    expect(planned?.entry).toBeCloseTo(5, 2);
    expect(planned?.exit).toBeCloseTo(10, 2);
    expect(leaked?.failed).toBe(true);
    expect(leaked?.exit).toBeCloseTo(10.5, 2);
    expect(watchedSpan(record({}), today)?.exit).toBeCloseTo(15, 2);
  });

  test("what ended before it was watched is left out", () => {
    const gone = record({ retirement: ended("2014-01-01", "2014-01-01", "leak") });
    expect(watchedSpan(gone, calendarDay("2025-01-01"))).toBeNull();
  });

  // Ordinary heaters only, so that the curve estimates the Weibull law itself.
  test("the curve of a portfolio that follows the model has the model within its bands", () => {
    const plain = { ...PRIOR_MODEL.coefficients };
    for (const name of Object.keys(plain) as (keyof typeof plain)[]) plain[name] = 0;
    const records = simulatePortfolio({
      truth: { ...PRIOR_MODEL, coefficients: plain },
      seed: 6,
      heaters: 2_000,
      properties: 2,
      recordYears: 25,
      technologies: ["gas-storage"],
    });
    const steps = kaplanMeier(
      records.flatMap((record) => watchedSpan(record, PORTFOLIO_TODAY) ?? []),
    );
    for (const age of [6, 10, 14, 18]) {
      const step = steps.findLast(({ t }) => t <= age);
      expect(step).toBeDefined();
      if (!step) return;
      const { lower, upper } = kaplanMeierBand(step, 0.999);
      const expected = survival(PRIOR_MODEL.lifetimes["gas-storage"], age);
      expect(expected).toBeGreaterThan(lower);
      expect(expected).toBeLessThan(upper);
    }
  });
});
