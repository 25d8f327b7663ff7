import { describe, expect, test } from "vitest";
import { addDays, calendarDay, DAYS_PER_YEAR } from "@/lib/core/shared/calendar-day";
import {
  bandFailure,
  bandFailureCounts,
  bandFleet12Months,
  bandOf,
} from "@/lib/core/survival/bands";
import { drawModels } from "@/lib/core/survival/draws";
import { fitRecords } from "@/lib/core/survival/fit-records";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { COMMON_PARAMETERS, commonOf } from "@/lib/core/survival/parameters";
import { expectedFailures, forecastFailure } from "@/lib/core/survival/predict";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const today = calendarDay("2026-06-01");
const years = (age: number) => {
  const day = addDays(today, -Math.round(age * DAYS_PER_YEAR));
  return { earliest: day, latest: day, evidence: "invoice" } as const;
};
const draws = drawModels(PRIOR_MODEL, { seed: 1, propertyIds: ["property-1"] });

describe("drawModels", () => {
  test("the same seed gives the same draws, another seed others", () => {
    const again = drawModels(PRIOR_MODEL, { seed: 1, propertyIds: ["property-1"] });
    expect(again).toEqual(draws);
    expect(drawModels(PRIOR_MODEL, { seed: 2, propertyIds: ["property-1"] })).not.toEqual(draws);
  });

  // Tolerance: four standard errors of a mean and of a variance over 20,000 draws.
  test("have the mean and the spread of the model", () => {
    const count = 20_000;
    const many = drawModels(PRIOR_MODEL, { count, seed: 3, propertyIds: ["p"] });
    const centre = commonOf(PRIOR_MODEL.lifetimes, PRIOR_MODEL.coefficients);
    const commons = many.map((draw) => commonOf(draw.lifetimes, draw.coefficients));
    for (let i = 0; i < COMMON_PARAMETERS; i++) {
      const variance = PRIOR_MODEL.uncertainty.covariance[i * COMMON_PARAMETERS + i];
      const mean = commons.reduce((sum, common) => sum + common[i], 0) / count;
      const spread = commons.reduce((sum, common) => sum + (common[i] - centre[i]) ** 2, 0) / count;
      expect(Math.abs(mean - centre[i])).toBeLessThan(4 * Math.sqrt(variance / count));
      expect(Math.abs(spread / variance - 1)).toBeLessThan(4 * Math.sqrt(2 / count));
    }
    const effects = many.map((draw) => draw.propertyEffects.p);
    const spread = effects.reduce((sum, effect) => sum + effect ** 2, 0) / count;
    expect(Math.abs(spread / 0.1 ** 2 - 1)).toBeLessThan(4 * Math.sqrt(2 / count));
  });

  test("a property with a record is drawn closer than one without", () => {
    const fit = fitRecords(
      simulatePortfolio({
        truth: PRIOR_MODEL,
        seed: 2,
        heaters: 800,
        properties: 6,
        recordYears: 10,
      }),
      { today: PORTFOLIO_TODAY, method: "test" },
    );
    if (!fit.ok) throw new Error("no fit");
    const drawn = drawModels(fit.value.model, {
      count: 2_000,
      seed: 4,
      propertyIds: ["property-0", "unheard-of"],
    });
    const spread = (id: string) => {
      const effects = drawn.map((draw) => draw.propertyEffects[id]);
      const mean = effects.reduce((sum, effect) => sum + effect, 0) / effects.length;
      return effects.reduce((sum, effect) => sum + (effect - mean) ** 2, 0) / effects.length;
    };
    expect(spread("property-0")).toBeLessThan(spread("unheard-of"));
  });
});

describe("bands", () => {
  test("bandOf holds the middle of the values", () => {
    const values = Array.from({ length: 101 }, (_, i) => 100 - i);
    const band = bandOf(values);
    expect(band.lower).toBeCloseTo(5, 12);
    expect(band.median).toBe(50);
    expect(band.upper).toBeCloseTo(95, 12);
  });

  test("a forecast lies within its band, and more confidence widens it", () => {
    const heater = aHeater({ install: years(12) });
    const { failureProbabilities } = forecastFailure(PRIOR_MODEL, heater, {
      today,
      horizonsYears: [1, 5],
    });
    const bands = bandFailure(draws, heater, { today, horizonsYears: [1, 5] });
    const wide = bandFailure(draws, heater, { today, horizonsYears: [1, 5], confidence: 0.98 });
    failureProbabilities.forEach((probability, k) => {
      expect(probability).toBeGreaterThan(bands[k].lower);
      expect(probability).toBeLessThan(bands[k].upper);
      expect(wide[k].lower).toBeLessThanOrEqual(bands[k].lower);
      expect(wide[k].upper).toBeGreaterThanOrEqual(bands[k].upper);
    });
  });

  test("the pass over a fleet agrees with each heater's own band", () => {
    const heaters = [
      aHeater({ install: years(4) }),
      aHeater({
        install: {
          earliest: addDays(today, -7000),
          latest: addDays(today, -1000),
          evidence: "none",
        },
        care: {
          ...aHeater().care,
          anodeReplacementDays: [calendarDay("2024-01-01")],
          flushDays: [calendarDay("2025-08-01")],
        },
      }),
    ];
    const fleet = bandFleet12Months(draws, heaters, today);
    heaters.forEach((heater, i) => {
      const [band] = bandFailure(draws, heater, { today, horizonsYears: [1] });
      expect(fleet.lower[i]).toBeCloseTo(band.lower, 12);
      expect(fleet.upper[i]).toBeCloseTo(band.upper, 12);
      expect(fleet.mean[i]).toBeGreaterThan(fleet.lower[i]);
      expect(fleet.mean[i]).toBeLessThan(fleet.upper[i]);
    });
  });

  test("failures of a certain model: the expected number has no band, the count has luck's", () => {
    const heaters = Array.from({ length: 400 }, (_, i) =>
      aHeater({ id: String(i), install: years(12) }),
    );
    const [first] = bandFailureCounts([PRIOR_MODEL, PRIOR_MODEL], heaters, today, 1);
    const [expected] = expectedFailures(PRIOR_MODEL, heaters, today, 1);
    expect(first.expected).toBeCloseTo(expected, 10);
    expect(first.expectedBand.lower).toBeCloseTo(first.expectedBand.upper, 10);
    // Binomial with n = 400, p = 0.12583: R gives qbinom(c(.05, .95), 400, .12584) = 40 and 61.
    expect(first.countBand).toEqual({ lower: 40, upper: 61 });
  });

  test("few failures are counted as Poisson", () => {
    const heaters = Array.from({ length: 20 }, () => aHeater({ install: years(12) }));
    const [first] = bandFailureCounts([PRIOR_MODEL], heaters, today, 1);
    // Poisson with mean 2.5166: R gives qpois(c(.05, .95), 2.5166) = 0 and 5.
    expect(first.countBand).toEqual({ lower: 0, upper: 5 });
  });

  test("doubt about the model widens both", () => {
    const heaters = Array.from({ length: 400 }, () => aHeater({ install: years(12) }));
    const [sure] = bandFailureCounts([PRIOR_MODEL], heaters, today, 2);
    const [unsure] = bandFailureCounts(draws, heaters, today, 2);
    expect(unsure.expectedBand.upper - unsure.expectedBand.lower).toBeGreaterThan(5);
    expect(unsure.countBand.upper).toBeGreaterThan(sure.countBand.upper);
    expect(unsure.countBand.lower).toBeLessThan(sure.countBand.lower);
  });

  test("a sample that stands for the fleet gives the fleet's band, not its own", () => {
    const heaters = Array.from({ length: 400 }, () => aHeater({ install: years(12) }));
    const [whole] = bandFailureCounts([PRIOR_MODEL], heaters, today, 1);
    const [part] = bandFailureCounts([PRIOR_MODEL], heaters.slice(0, 100), today, 1, { each: 4 });
    expect(part.expected).toBeCloseTo(whole.expected, 9);
    expect(part.countBand).toEqual(whole.countBand);
  });

  test("no heaters, no failures", () => {
    const [first] = bandFailureCounts(draws, [], today, 1);
    expect(first.expected).toBe(0);
    expect(first.countBand).toEqual({ lower: 0, upper: 0 });
  });
});
