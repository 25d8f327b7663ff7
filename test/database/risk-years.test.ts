import { describe, expect, test } from "vitest";
import type { Heater } from "@/lib/core/heaters/heater";
import {
  addDays,
  type CalendarDay,
  calendarDay,
  DAYS_PER_YEAR,
  daysBetween,
  minDay,
} from "@/lib/core/shared/calendar-day";
import { createRandom } from "@/lib/core/stats/random";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { expectedFailures } from "@/lib/core/survival/predict";
import { YEARS_AHEAD, YEARS_BACK, YearTally } from "@/lib/services/risk-years";
import { aHeater } from "@/test/support/a-heater";

const today = calendarDay("2026-07-01");
const { shape, scaleYears } = PRIOR_MODEL.lifetimes["gas-storage"];
/** Cumulative hazard of an ordinary gas tank, in closed form: it wears one year a year. */
const hazard = (years: number) => (years / scaleYears) ** shape;
const yearsTo = (from: CalendarDay, to: CalendarDay) => daysBetween(from, to) / DAYS_PER_YEAR;

type Life = Parameters<YearTally["add"]>[0];

function installedOn(text: string, changes: Partial<Heater> = {}): Heater {
  const day = calendarDay(text);
  return aHeater({ install: { earliest: day, latest: day, evidence: "invoice" }, ...changes });
}

function tally(lives: readonly Life[]) {
  const years = new YearTally(today, PRIOR_MODEL, []);
  for (const life of lives) years.add(life);
  return years.rows();
}

const standing = (heater: Heater, observedFrom: string): Life => ({
  heater,
  observedFrom: calendarDay(observedFrom),
  retirement: null,
});

const ended = (
  heater: Heater,
  observedFrom: string,
  day: CalendarDay,
  cause: "leak" | "no-heat" | "planned" | "damage",
): Life => ({
  heater,
  observedFrom: calendarDay(observedFrom),
  retirement: { heaterId: heater.id, earliest: day, latest: day, cause, emergency: false },
});

const pastOf = (rows: ReturnType<typeof tally>) =>
  rows.filter(({ kind, propertyId }) => kind === "past" && propertyId === null);
const sumExpected = (rows: ReturnType<typeof tally>) =>
  rows.reduce((sum, { expected }) => sum + expected, 0);

describe("failures by year, past", () => {
  test("a heater watched since it went in is expected to fail as often as its hazard says", () => {
    const rows = pastOf(tally([standing(installedOn("2015-06-01"), "2015-06-01")]));
    expect(sumExpected(rows)).toBeCloseTo(hazard(yearsTo(calendarDay("2015-06-01"), today)), 10);
    expect(rows.map(({ year }) => year)).toEqual([
      2015, 2016, 2017, 2018, 2019, 2020, 2021, 2022, 2023, 2024, 2025, 2026,
    ]);
  });

  test("the years before a heater was watched count on neither side", () => {
    const installed = calendarDay("2012-01-01");
    const from = calendarDay("2019-03-01");
    const rows = pastOf(tally([standing(installedOn("2012-01-01"), "2019-03-01")]));
    expect(sumExpected(rows)).toBeCloseTo(
      hazard(yearsTo(installed, today)) - hazard(yearsTo(installed, from)),
      10,
    );
    expect(rows[0].year).toBe(2019);
    expect(rows[0].heaterYears).toBeCloseTo(306 / DAYS_PER_YEAR, 10);
  });

  test("a leak counts in its year and ends the time watched with its day", () => {
    const failedOn = calendarDay("2021-09-10");
    const rows = pastOf(tally([ended(installedOn("2015-06-01"), "2015-06-01", failedOn, "leak")]));
    expect(rows.filter(({ happened }) => happened === 1).map(({ year }) => year)).toEqual([2021]);
    expect(sumExpected(rows)).toBeCloseTo(
      hazard(yearsTo(calendarDay("2015-06-01"), addDays(failedOn, 1))),
      10,
    );
  });

  test.each(["planned", "damage"] as const)("an end by %s is no failure", (cause) => {
    const life = ended(installedOn("2015-06-01"), "2015-06-01", calendarDay("2021-09-10"), cause);
    const rows = pastOf(tally([life]));
    expect(rows.every(({ happened }) => happened === 0)).toBe(true);
    expect(rows.at(-1)?.year).toBe(2021);
  });

  test("a heater that ended before it was watched leaves no trace", () => {
    const life = ended(installedOn("2015-06-01"), "2022-01-01", calendarDay("2021-09-10"), "leak");
    expect(tally([life])).toEqual([]);
  });

  test("looks no further back than it says", () => {
    const rows = pastOf(tally([standing(installedOn("1990-01-01"), "1990-01-01")]));
    expect(rows).toHaveLength(YEARS_BACK);
    expect(rows[0].year).toBe(2026 - YEARS_BACK + 1);
  });

  test("an install bracket is expected between its two ends, younger the longer it has lived", () => {
    const bracket = aHeater({
      install: {
        earliest: calendarDay("2000-01-01"),
        latest: calendarDay("2012-12-31"),
        evidence: "building-age",
      },
    });
    const of = (heater: Heater) => sumExpected(pastOf(tally([standing(heater, "2016-01-01")])));
    expect(of(bracket)).toBeGreaterThan(of(installedOn("2012-12-31")));
    expect(of(bracket)).toBeLessThan(of(installedOn("2006-07-01")));
  });

  /**
   * Simulated from the model with a fixed seed, with late entry and planned swaps: the number that
   * failed lies within four standard deviations of the number expected (once in 16,000 by chance).
   */
  test("expects what happens when the model is right, however heaters come and go", () => {
    const random = createRandom(7);
    const start = calendarDay("1995-01-01");
    const lives: Life[] = [];
    for (let n = 0; n < 6_000; n++) {
      const installed = addDays(start, Math.floor(random.nextUniform() * 30 * DAYS_PER_YEAR));
      const life = scaleYears * (-Math.log(1 - random.nextUniform())) ** (1 / shape);
      const failedOn = addDays(installed, Math.ceil(life * DAYS_PER_YEAR));
      const swapDays = Math.ceil(random.nextUniform() * 40 * DAYS_PER_YEAR);
      const swapOn = addDays(installed, swapDays);
      const heater = installedOn(installed, { id: `heater-${n}` });
      const recordsBegin = "2010-01-01";
      const endedOn = minDay(failedOn, swapOn);
      if (endedOn < recordsBegin) continue;
      lives.push(
        endedOn >= today
          ? standing(heater, recordsBegin)
          : ended(heater, recordsBegin, endedOn, failedOn < swapOn ? "leak" : "planned"),
      );
    }
    const rows = pastOf(tally(lives));
    const expected = sumExpected(rows);
    const happened = rows.reduce((sum, row) => sum + (row.happened ?? 0), 0);
    expect(happened).toBeGreaterThan(500);
    expect(Math.abs(happened - expected)).toBeLessThan(4 * Math.sqrt(expected));
  });
});

describe("failures by year, ahead", () => {
  test("equal the core's own count, heater by heater", () => {
    const heaters = [
      installedOn("2010-05-01"),
      installedOn("2020-05-01", { id: "heater-2", setpointF: 140 }),
      aHeater({
        id: "heater-3",
        technology: "gas-instantaneous",
        install: {
          earliest: calendarDay("2008-01-01"),
          latest: calendarDay("2014-12-31"),
          evidence: "none",
        },
      }),
    ];
    const rows = tally(heaters.map((heater) => standing(heater, "2026-07-01"))).filter(
      ({ kind, propertyId }) => kind === "ahead" && propertyId === null,
    );
    const core = expectedFailures(PRIOR_MODEL, heaters, today, YEARS_AHEAD);
    expect(rows.map(({ year }) => year)).toEqual(core.map((_, k) => k + 1));
    // Both integrate the bracket by quadrature, with points of their own.
    rows.forEach((row, k) => {
      expect(row.expected).toBeCloseTo(core[k], 5);
      expect(row.heaterYears).toBe(3);
    });
  });

  test("a retired heater has no years ahead", () => {
    const life = ended(installedOn("2015-06-01"), "2015-06-01", calendarDay("2021-09-10"), "leak");
    expect(tally([life]).some(({ kind }) => kind === "ahead")).toBe(false);
  });

  test("properties add up to the row of all, draw by draw", () => {
    const years = new YearTally(today, PRIOR_MODEL, [
      PRIOR_MODEL,
      { ...PRIOR_MODEL, propertyEffects: { east: 0.3 } },
    ]);
    years.add(standing(installedOn("2012-05-01", { propertyId: "east" }), "2012-05-01"));
    years.add(
      standing(installedOn("2013-05-01", { id: "heater-2", propertyId: "west" }), "2013-05-01"),
    );
    const rows = years.rows().filter(({ kind, year }) => kind === "ahead" && year === 1);
    const of = (propertyId: string | null) => rows.find((row) => row.propertyId === propertyId);
    const [all, east, west] = [of(null), of("east"), of("west")];
    expect(all?.expected).toBeCloseTo((east?.expected ?? 0) + (west?.expected ?? 0), 12);
    expect(all?.draws[1]).toBeCloseTo((east?.draws[1] ?? 0) + (west?.draws[1] ?? 0), 12);
    expect(east?.draws[0]).toBeCloseTo(east?.expected ?? 0, 12);
    expect(east?.draws[1]).toBeGreaterThan(east?.expected ?? 0);
    expect(west?.draws[1]).toBeCloseTo(west?.expected ?? 0, 12);
  });
});
