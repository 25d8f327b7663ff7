import { describe, expect, test } from "vitest";
import { TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { addDays, calendarDay, DAYS_PER_YEAR, yearsBetween } from "@/lib/core/shared/calendar-day";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import {
  conditionalFailures,
  expectedFailures,
  failureCounts,
  failureProbabilities12Months,
  fleetColumns,
  forecastFailure,
  rankFleet,
} from "@/lib/core/survival/predict";
import { cumulativeHazard, meanLife } from "@/lib/core/survival/weibull";
import { aHeater } from "@/test/support/a-heater";

const today = calendarDay("2026-06-01");
const installedYearsAgo = (years: number) => {
  const day = addDays(today, -Math.round(years * DAYS_PER_YEAR));
  return { earliest: day, latest: day, evidence: "invoice" } as const;
};
const bracket = (oldest: number, youngest: number) =>
  ({
    earliest: addDays(today, -Math.round(oldest * DAYS_PER_YEAR)),
    latest: addDays(today, -Math.round(youngest * DAYS_PER_YEAR)),
    evidence: "none",
  }) as const;

describe("the prior model", () => {
  test("gives a heater of which nothing is known the published mean life", () => {
    // 13 years for tanks and 20 for gas tankless: US DOE, 75 FR 20112 (2010), from memory.
    expect(meanLife(PRIOR_MODEL.lifetimes["gas-storage"])).toBeCloseTo(13, 10);
    expect(meanLife(PRIOR_MODEL.lifetimes["electric-storage"])).toBeCloseTo(13, 10);
    expect(meanLife(PRIOR_MODEL.lifetimes["gas-instantaneous"])).toBeCloseTo(20, 10);
  });

  test("covers every technology", () => {
    for (const technology of TECHNOLOGIES) {
      expect(PRIOR_MODEL.lifetimes[technology].scaleYears).toBeGreaterThan(0);
    }
  });
});

describe("forecastFailure", () => {
  // Computed from the formula: mean 13, shape 2.5, alive at 12, one year on (0.1258).
  test("gives the tabulated chance for an ordinary 12-year-old gas tank", () => {
    const forecast = forecastFailure(PRIOR_MODEL, aHeater({ install: installedYearsAgo(12) }), {
      today,
      horizonsYears: [1],
    });
    expect(forecast.failureProbabilities[0]).toBeCloseTo(0.1258, 4);
    expect(forecast.ageYears).toBeCloseTo(12, 2);
    expect(forecast.ageIsEstimated).toBe(false);
  });

  // Worked by hand in docs/methods/survival.md: rates e^0.17 and e^-0.03, wear 13.36 years.
  test("gives the worked example of the method page", () => {
    const installed = calendarDay("2014-06-01");
    const heater = aHeater({
      install: { earliest: installed, latest: installed, evidence: "invoice" },
      setpointF: 130,
      water: { ...aHeater().water, hardnessMgPerLitre: 260, softened: "no" },
      care: { ...aHeater().care, anodeReplacementDays: [calendarDay("2020-06-01")] },
    });
    const forecast = forecastFailure(PRIOR_MODEL, heater, { today, horizonsYears: [1] });
    const wear = 8 * Math.exp(0.17) + 4 * Math.exp(-0.03);
    const hazard = (exposure: number) => (exposure / 14.6518) ** 2.5;
    const byHand = 1 - Math.exp(hazard(wear) - hazard(wear + Math.exp(0.17)));
    expect(byHand).toBeCloseTo(0.1714, 4);
    expect(forecast.failureProbabilities[0]).toBeCloseTo(byHand, 4);
  });

  test("a heater put in today has its whole life before it", () => {
    const forecast = forecastFailure(PRIOR_MODEL, aHeater({ install: installedYearsAgo(0) }), {
      today,
      horizonsYears: [0, 1],
    });
    expect(forecast.ageYears).toBe(0);
    expect(forecast.failureProbabilities[0]).toBe(0);
    expect(forecast.medianRemainingYears).toBeCloseTo(12.6538, 4); // median of mean 13, shape 2.5
  });

  test("a heater whose record says it was put in tomorrow counts as new", () => {
    const forecast = forecastFailure(PRIOR_MODEL, aHeater({ install: installedYearsAgo(-1) }), {
      today,
      horizonsYears: [1],
    });
    expect(forecast.ageYears).toBe(0);
  });

  test("a 60-year-old heater has a finite, high chance and a short median", () => {
    const forecast = forecastFailure(PRIOR_MODEL, aHeater({ install: installedYearsAgo(60) }), {
      today,
      horizonsYears: [1, 5, 50],
    });
    expect(forecast.failureProbabilities[0]).toBeGreaterThan(0.7);
    expect(forecast.failureProbabilities[2]).toBeLessThanOrEqual(1);
    expect(forecast.medianRemainingYears).toBeGreaterThan(0);
    expect(forecast.medianRemainingYears).toBeLessThan(1);
  });

  // Independent check: the same integral over the bracket by 20,000 midpoints.
  test.each([
    [1.5, 0.2],
    [12, 4],
    [30, 0],
    [70, 40],
  ])("a bracket from %f to %f years is integrated to one part in a million", (oldest, youngest) => {
    const install = bracket(oldest, youngest);
    const lifetime = PRIOR_MODEL.lifetimes["gas-storage"];
    const first = yearsBetween(install.latest, today);
    const last = yearsBetween(install.earliest, today);
    const points = 20_000;
    const floor = cumulativeHazard(lifetime, first);
    let alive = 0;
    let failed = 0;
    let age = 0;
    for (let i = 0; i < points; i++) {
      const years = first + ((i + 0.5) / points) * (last - first);
      const weight = Math.exp(floor - cumulativeHazard(lifetime, years));
      alive += weight;
      age += weight * years;
      failed -=
        weight *
        Math.expm1(cumulativeHazard(lifetime, years) - cumulativeHazard(lifetime, years + 1));
    }
    const forecast = forecastFailure(PRIOR_MODEL, aHeater({ install }), {
      today,
      horizonsYears: [1],
    });
    expect(Math.abs(forecast.failureProbabilities[0] - failed / alive)).toBeLessThan(1e-6);
    expect(forecast.ageYears).toBeCloseTo(age / alive, 4);
    expect(forecast.ageIsEstimated).toBe(true);
  });

  test("surviving pulls a wide bracket towards its young end", () => {
    const forecast = forecastFailure(PRIOR_MODEL, aHeater({ install: bracket(30, 0) }), {
      today,
      horizonsYears: [1],
    });
    expect(forecast.ageYears).toBeLessThan(15);
  });

  test("the median is where the chance reaches one half, for a bracket and changing care too", () => {
    const heater = aHeater({
      install: bracket(14, 6),
      care: {
        ...aHeater().care,
        anodeReplacementDays: [addDays(today, -400)],
        flushDays: [addDays(today, -100)],
      },
    });
    const { medianRemainingYears } = forecastFailure(PRIOR_MODEL, heater, {
      today,
      horizonsYears: [],
    });
    const { failureProbabilities } = forecastFailure(PRIOR_MODEL, heater, {
      today,
      horizonsYears: [medianRemainingYears],
    });
    expect(failureProbabilities[0]).toBeCloseTo(0.5, 7);
  });

  test("rejects a horizon below zero and names it", () => {
    expect(() => forecastFailure(PRIOR_MODEL, aHeater(), { today, horizonsYears: [-1] })).toThrow(
      /horizonsYears.*-1/,
    );
  });
});

describe("conditionalFailures", () => {
  test("survival through every period is survival to the last day", () => {
    for (const install of [installedYearsAgo(9), bracket(30, 0), bracket(80, 50)]) {
      const heater = aHeater({ install });
      const conditional = conditionalFailures(PRIOR_MODEL, heater, today, [0.5, 1, 3, 10]);
      const survived = conditional.reduce((product, p) => product * (1 - p), 1);
      const { failureProbabilities } = forecastFailure(PRIOR_MODEL, heater, {
        today,
        horizonsYears: [10],
      });
      expect(survived).toBeCloseTo(1 - failureProbabilities[0], 12);
    }
  });

  test("stays a probability for a heater of 100 years over 100 more", () => {
    const conditional = conditionalFailures(
      PRIOR_MODEL,
      aHeater({ install: bracket(100, 90) }),
      today,
      Array.from({ length: 100 }, (_, k) => k + 1),
    );
    expect(conditional.every((p) => p > 0.9 && p <= 1)).toBe(true);
  });

  test("rejects periods that do not rise", () => {
    expect(() => conditionalFailures(PRIOR_MODEL, aHeater(), today, [1, 1])).toThrow(
      /periodEndsYears/,
    );
  });
});

describe("failureProbabilities12Months", () => {
  test("agrees with the forecast of each heater, and ranks by it with ties by id", () => {
    const heaters = [
      aHeater({ id: "c", install: installedYearsAgo(3) }),
      aHeater({ id: "b", install: bracket(20, 5) }),
      aHeater({ id: "a", install: installedYearsAgo(3) }),
      aHeater({ id: "d", technology: "gas-instantaneous", install: installedYearsAgo(15) }),
    ];
    const probabilities = failureProbabilities12Months(fleetColumns(PRIOR_MODEL, heaters, today));
    heaters.forEach((heater, i) => {
      const forecast = forecastFailure(PRIOR_MODEL, heater, { today, horizonsYears: [1] });
      expect(probabilities[i]).toBeCloseTo(forecast.failureProbabilities[0], 13);
    });
    const order = Array.from(rankFleet(probabilities, heaters), (i) => heaters[i].id);
    expect(order).toEqual(["b", "d", "a", "c"]);
  });

  test("gives nothing for an empty fleet", () => {
    expect(failureProbabilities12Months(fleetColumns(PRIOR_MODEL, [], today))).toHaveLength(0);
  });
});

describe("expectedFailures", () => {
  test("every heater fails once: the years add up to the fleet", () => {
    const heaters = [installedYearsAgo(2), installedYearsAgo(11), bracket(30, 0)].map((install) =>
      aHeater({ install }),
    );
    const years = expectedFailures(PRIOR_MODEL, heaters, today, 100);
    expect(years.reduce((sum, expected) => sum + expected, 0)).toBeCloseTo(3, 9);
    expect(expectedFailures(PRIOR_MODEL, [], today, 3)).toEqual([0, 0, 0]);
  });

  test("the first year is the sum of 12-month chances, its variance the sum of p(1 − p)", () => {
    const heaters = [aHeater({ install: installedYearsAgo(12) }), aHeater()];
    const chances = failureProbabilities12Months(fleetColumns(PRIOR_MODEL, heaters, today));
    const [first] = failureCounts(PRIOR_MODEL, heaters, today, 1);
    expect(first.expected).toBeCloseTo(chances[0] + chances[1], 13);
    expect(first.variance).toBeCloseTo(
      chances[0] * (1 - chances[0]) + chances[1] * (1 - chances[1]),
      13,
    );
  });
});
