import { describe, expect, test } from "vitest";
import { calendarDay, yearsBetween } from "@/lib/core/shared/calendar-day";
import { normalCdf, normalQuantile } from "@/lib/core/stats/normal";
import {
  type AnodeInspection,
  type AnodeTerms,
  forecastAnode,
} from "@/lib/core/upkeep/anode-forecast";

const fittedOn = calendarDay("2020-05-01");
const today = calendarDay("2024-05-01");
const anode = (inspections: readonly AnodeInspection[] = []): AnodeTerms => ({
  fitted: { earliest: fittedOn, latest: fittedOn },
  medianYears: 5,
  logSpread: 0.45,
  inspections,
});
const look = (day: string, state: "protected" | "spent", remainingFraction: number | null = null) =>
  ({ day: calendarDay(day), state, remainingFraction }) as const;

// Closed forms of the log-normal distribution: median · exp(spread · z).
describe("an anode that nobody has looked at", () => {
  const forecast = forecastAnode(anode(), today);

  test("is due when the chance that it is spent passes 10 %, as the closed form says", () => {
    const years = 5 * Math.exp(0.45 * normalQuantile(0.1));
    expect(yearsBetween(fittedOn, forecast.dueOn)).toBeCloseTo(years, 1);
  });

  test("is likelier spent than not from the median life on", () => {
    expect(yearsBetween(fittedOn, forecast.likelySpentOn)).toBeCloseTo(5, 1);
  });

  test("is spent today with the chance of the closed form", () => {
    const age = yearsBetween(fittedOn, today);
    expect(forecast.chanceSpentToday).toBeCloseTo(normalCdf(Math.log(age / 5) / 0.45), 2);
  });
});

describe("what an inspection teaches", () => {
  test("metal left puts the day off, none left brings it to the past", () => {
    const blind = forecastAnode(anode(), today);
    const seen = forecastAnode(anode([look("2024-04-01", "protected")]), today);
    const spent = forecastAnode(anode([look("2024-04-01", "spent")]), today);

    expect(seen.dueOn > blind.dueOn).toBe(true);
    expect(seen.chanceSpentToday).toBeLessThan(0.1);
    expect(spent.chanceSpentToday).toBeGreaterThan(0.9);
    expect(spent.likelySpentOn < today).toBe(true);
  });

  // By hand: the chance beyond age a given life beyond age a, with 2 % of states noted wrongly.
  test("agrees with Bayes' rule by hand for metal seen after four years", () => {
    const seenOn = calendarDay("2024-05-01");
    const forecast = forecastAnode(anode([look(seenOn, "protected")]), calendarDay("2025-05-01"));
    const spentBy = (years: number) => normalCdf(Math.log(years / 5) / 0.45);
    const before = spentBy(4) * 0.02;
    const between = (spentBy(5) - spentBy(4)) * 0.98;
    const after = (1 - spentBy(5)) * 0.98;
    expect(forecast.chanceSpentToday).toBeCloseTo(
      (before + between) / (before + between + after),
      2,
    );
  });

  test("half of the metal left after four years points to a life of about eight", () => {
    const forecast = forecastAnode(anode([look("2024-05-01", "protected", 0.5)]), today);
    const years = yearsBetween(fittedOn, forecast.likelySpentOn);
    expect(years).toBeGreaterThan(6.3);
    expect(years).toBeLessThan(8.2);
  });

  test("less metal left makes it due sooner", () => {
    const due = (fraction: number) =>
      forecastAnode(anode([look("2023-05-01", "protected", fraction)]), today).dueOn;
    expect(due(0.2) < due(0.5)).toBe(true);
    expect(due(0.5) < due(0.8)).toBe(true);
  });

  test("contradicting notes still give an answer", () => {
    const forecast = forecastAnode(
      anode([look("2022-05-01", "spent"), look("2024-04-01", "protected")]),
      today,
    );
    expect(forecast.chanceSpentToday).toBeGreaterThan(0);
    expect(forecast.chanceSpentToday).toBeLessThan(1);
  });
});

test("an unknown day of fitting spreads the forecast: due sooner than from its middle", () => {
  const wide = forecastAnode(
    {
      ...anode(),
      fitted: { earliest: calendarDay("2017-05-01"), latest: calendarDay("2023-05-01") },
    },
    today,
  );
  expect(wide.dueOn < forecastAnode(anode(), today).dueOn).toBe(true);
});

test("refuses a chance outside 0 to 1 and a falling bracket", () => {
  expect(() => forecastAnode(anode(), today, 1)).toThrow(/chance.*1/);
  expect(() =>
    forecastAnode({ ...anode(), fitted: { earliest: today, latest: fittedOn } }, today),
  ).toThrow(/fitted/);
  expect(() => forecastAnode({ ...anode(), medianYears: 0 }, today)).toThrow(/medianYears/);
});
