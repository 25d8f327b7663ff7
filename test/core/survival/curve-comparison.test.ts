import { describe, expect, test } from "vitest";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { compareCurves } from "@/lib/core/survival/curve-comparison";
import { type AgeingModel, PRIOR_MODEL } from "@/lib/core/survival/model";
import { survival } from "@/lib/core/survival/weibull";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const truth: AgeingModel = {
  ...PRIOR_MODEL,
  coefficients: { ...PRIOR_MODEL.coefficients, hardness: 0.2, anodeSpent: 0.4 },
  propertyEffects: { "property-0": 0.3, "property-1": -0.3 },
};
const shorter: AgeingModel = {
  ...truth,
  lifetimes: { ...truth.lifetimes, "gas-storage": { shape: 2.5, scaleYears: 9 } },
};
const portfolio = simulatePortfolio({
  truth,
  seed: 4,
  heaters: 3_000,
  properties: 4,
  recordYears: 12,
});

describe("compareCurves", () => {
  const [gas, electric] = compareCurves(portfolio, PORTFOLIO_TODAY, {
    draws: [truth],
    reference: shorter,
    confidence: 0.999,
  });

  test("the model that a portfolio follows stays within Kaplan and Meier's bands at every age, late entries, care and properties included", () => {
    expect([gas.technology, electric.technology]).toEqual(["gas-storage", "electric-storage"]);
    for (const curve of [gas, electric]) {
      curve.ages.forEach((_, k) => {
        const { lower, upper } = curve.observed[k];
        expect(curve.expected[k].median).toBeGreaterThanOrEqual(lower - 0.02);
        expect(curve.expected[k].median).toBeLessThanOrEqual(upper + 0.02);
      });
    }
  });

  test("a model of shorter lives leaves them", () => {
    const k = gas.ages.indexOf(12);
    expect(gas.reference[k]).toBeLessThan(gas.observed[k].lower);
  });

  test("both start at one, never rise, and say how many are watched", () => {
    for (const { expected, observed, reference } of [gas, electric]) {
      expect(expected[0].median).toBe(1);
      expect(observed[0].survival).toBe(1);
      for (let k = 1; k < expected.length; k++) {
        expect(expected[k].median).toBeLessThanOrEqual(expected[k - 1].median);
        expect(reference[k]).toBeLessThanOrEqual(reference[k - 1]);
        expect(observed[k].survival).toBeLessThanOrEqual(observed[k - 1].survival);
      }
      for (const { atRisk } of observed) expect(atRisk).toBeGreaterThan(0);
    }
  });

  // Closed form: heaters all alike and watched from the start are averaged to the law itself.
  test("ordinary heaters watched from the start give the Weibull law", () => {
    const installed = calendarDay("2000-01-01");
    const records = Array.from({ length: 40 }, (_, i) => ({
      heater: aHeater({
        id: `h${i}`,
        install: { earliest: installed, latest: installed, evidence: "permit" },
      }),
      observedFrom: installed,
      retirement:
        i < 12
          ? {
              heaterId: `h${i}`,
              earliest: calendarDay("2019-06-01"),
              latest: calendarDay("2019-06-01"),
              cause: "leak" as const,
              emergency: true,
            }
          : null,
    }));
    const [curve] = compareCurves(records, calendarDay("2026-01-01"), {
      draws: [PRIOR_MODEL],
      reference: PRIOR_MODEL,
    });
    expect(curve.ages[0]).toBe(0);
    expect(curve.expected[10].median).toBeCloseTo(
      survival(PRIOR_MODEL.lifetimes["gas-storage"], 10),
      9,
    );
    // 12 of 40 fail at 19.4 years: Kaplan and Meier's curve falls once, to 28/40.
    expect(curve.observed[19].survival).toBe(1);
    expect(curve.observed[20].survival).toBeCloseTo(0.7, 12);
  });

  test("a kind with fewer than ten failures has no curve", () => {
    const few = simulatePortfolio({
      truth,
      seed: 5,
      heaters: 12,
      properties: 1,
      recordYears: 3,
      technologies: ["gas-storage"],
    });
    expect(compareCurves(few, PORTFOLIO_TODAY, { draws: [truth], reference: truth })).toEqual([]);
    expect(compareCurves([], PORTFOLIO_TODAY, { draws: [truth], reference: truth })).toEqual([]);
  });
});
