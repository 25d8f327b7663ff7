import { beforeAll, describe, expect, test } from "vitest";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { fitRecords, type RecordFit } from "@/lib/core/survival/fit-records";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { commonOf } from "@/lib/core/survival/parameters";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio, type Truth } from "@/test/support/simulate-portfolio";

const today = PORTFOLIO_TODAY;
const fitted = (records: readonly LifeRecord[], options = {}): RecordFit => {
  const outcome = fitRecords(records, { today, method: "test", ...options });
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
};

/** A portfolio that lasts longer than published, in harsher water, with unlike properties. */
const truth: Truth = {
  lifetimes: {
    ...PRIOR_MODEL.lifetimes,
    "gas-storage": { shape: 3.2, scaleYears: 17 },
    "electric-storage": { shape: 2.8, scaleYears: 18 },
  },
  coefficients: { ...PRIOR_MODEL.coefficients, hardness: 0.16, anodeSpent: 0.4 },
  propertyEffects: Object.fromEntries(
    Array.from({ length: 12 }, (_, g) => [`property-${g}`, g % 2 === 0 ? 0.15 : -0.15]),
  ),
};
const terms = { truth, seed: 8, heaters: 2_500, properties: 12, recordYears: 12 };

describe("a portfolio drawn from a known truth", () => {
  let fit: RecordFit;
  beforeAll(() => {
    fit = fitted(simulatePortfolio(terms));
  });

  // Tolerance: four of the fit's own standard errors, at a fixed seed.
  test("gives back the truth it was drawn from, late entries, brackets and swaps included", () => {
    const known = commonOf(truth.lifetimes, truth.coefficients);
    fit.learning.forEach(({ parameter, posterior, learnt }, i) => {
      if (!learnt) return;
      const away = Math.abs(posterior.mean - known[i]) / posterior.standardDeviation;
      expect(away, parameter).toBeLessThan(4);
    });
    expect(fit.counts.failures).toBeGreaterThan(500);
    expect(fit.counts.lateEntries).toBeGreaterThan(500);
    expect(fit.counts.bracketedInstalls).toBeGreaterThan(300);
  });

  test("says what it has learnt and what it has not", () => {
    const learnt = new Map(fit.learning.map((entry) => [entry.parameter, entry.learnt]));
    expect(learnt.get("life of gas-storage")).toBe(true);
    expect(learnt.get("effect of hardness")).toBe(true);
    expect(learnt.get("life of heat-pump-split")).toBe(false);
  });

  test("sees that properties differ, and which way", () => {
    expect(fit.propertyStandardDeviation).toBeGreaterThanOrEqual(0.08);
    const effects = Object.entries(fit.model.propertyEffects);
    expect(effects).toHaveLength(12);
    const right = effects.filter(
      ([id, effect]) => Math.sign(effect) === Math.sign(truth.propertyEffects[id]),
    );
    expect(right.length).toBeGreaterThanOrEqual(11);
  });

  test("counting planned swaps as failures would shorten lives", () => {
    const careless = simulatePortfolio(terms).map((record) =>
      record.retirement
        ? { ...record, retirement: { ...record.retirement, cause: "leak" as const } }
        : record,
    );
    const gas = (f: RecordFit) => f.model.lifetimes["gas-storage"].scaleYears;
    expect(gas(fitted(careless))).toBeLessThan(gas(fit));
  });

  test("ignoring that heaters were seen only late would lengthen lives", () => {
    const careless = simulatePortfolio(terms).map((record) => ({
      ...record,
      observedFrom: calendarDay("1950-01-01"),
    }));
    const gas = (f: RecordFit) => f.model.lifetimes["gas-storage"].scaleYears;
    expect(gas(fitted(careless))).toBeGreaterThan(gas(fit));
  });
});

describe("a property's own effect", () => {
  const installed = calendarDay("2012-06-01");
  const lives = (propertyId: string, failures: number, survivors: number): LifeRecord[] =>
    Array.from({ length: failures + survivors }, (_, i) => ({
      heater: aHeater({
        id: `${propertyId}-${i}`,
        propertyId,
        install: { earliest: installed, latest: installed, evidence: "invoice" },
      }),
      observedFrom: installed,
      retirement:
        i < failures
          ? {
              heaterId: `${propertyId}-${i}`,
              earliest: addDays(installed, 2_000 + 20 * i),
              latest: addDays(installed, 2_000 + 20 * i),
              cause: "leak",
              emergency: true,
            }
          : null,
    }));

  test("shrinks towards none the less there is on record", () => {
    const fit = fitted([
      ...lives("small", 2, 1),
      ...lives("large", 60, 30),
      ...lives("plain-1", 20, 60),
      ...lives("plain-2", 22, 58),
      ...lives("plain-3", 18, 62),
    ]);
    const { small, large } = fit.model.propertyEffects;
    expect(large).toBeGreaterThan(small);
    expect(small).toBeGreaterThan(0);
    expect(fit.model.uncertainty.properties.small.variance).toBeGreaterThan(
      fit.model.uncertainty.properties.large.variance,
    );
  });

  test("is not looked for when asked not to", () => {
    const fit = fitted([...lives("a", 20, 5), ...lives("b", 2, 40)], { learnProperties: false });
    expect(Math.abs(fit.model.propertyEffects.a)).toBeLessThan(1e-4);
  });
});

describe("little to learn from", () => {
  const alive = (id: string): LifeRecord => ({
    heater: aHeater({ id }),
    observedFrom: calendarDay("2015-06-01"),
    retirement: null,
  });

  test("no records at all give the prior back", () => {
    const { model, counts, learning } = fitted([]);
    expect(counts.used).toBe(0);
    expect(model.lifetimes["gas-storage"].scaleYears).toBeCloseTo(
      PRIOR_MODEL.lifetimes["gas-storage"].scaleYears,
      9,
    );
    expect(learning.every(({ learnt }) => !learnt)).toBe(true);
    model.uncertainty.covariance.forEach((entry, i) => {
      expect(entry).toBeCloseTo(PRIOR_MODEL.uncertainty.covariance[i], 9);
    });
  });

  test("heaters that have only lived lengthen lives a little, and of other kinds less", () => {
    const { model } = fitted(Array.from({ length: 30 }, (_, i) => alive(`h${i}`)));
    const gain = (technology: "gas-storage" | "electric-storage") =>
      model.lifetimes[technology].scaleYears / PRIOR_MODEL.lifetimes[technology].scaleYears;
    expect(gain("gas-storage")).toBeGreaterThan(gain("electric-storage"));
    expect(gain("electric-storage")).toBeGreaterThan(1);
    expect(gain("gas-storage")).toBeLessThan(1.5);
  });

  test("one failure is taken, and nothing is NaN", () => {
    const failed: LifeRecord = {
      ...alive("f"),
      retirement: {
        heaterId: "f",
        earliest: calendarDay("2020-01-01"),
        latest: calendarDay("2020-01-01"),
        cause: "no-heat",
        emergency: true,
      },
    };
    const { model } = fitted([failed]);
    expect(JSON.stringify(model)).not.toMatch(/null|NaN/);
  });

  test("records that say nothing are left out and named", () => {
    const ended = (id: string, day: string): LifeRecord => ({
      ...alive(id),
      retirement: {
        heaterId: id,
        earliest: calendarDay(day),
        latest: calendarDay(day),
        cause: "leak",
        emergency: true,
      },
    });
    const { leftOut, counts } = fitted([
      ended("early", "2014-01-01"),
      { ...ended("unseen", "2017-01-01"), observedFrom: calendarDay("2018-01-01") },
      ended("fine", "2019-01-01"),
    ]);
    expect(counts.used).toBe(1);
    expect(leftOut).toEqual([
      { path: "early", message: expect.stringMatching(/before its installation/) },
      { path: "unseen", message: expect.stringMatching(/before the day from which/) },
    ]);
  });

  test("a heater that failed on the day it was put in is taken", () => {
    const { counts, model } = fitted([
      {
        ...alive("f"),
        retirement: {
          heaterId: "f",
          earliest: aHeater().install.earliest,
          latest: aHeater().install.earliest,
          cause: "leak",
          emergency: true,
        },
      },
    ]);
    expect(counts.failures).toBe(1);
    expect(Number.isFinite(model.lifetimes["gas-storage"].shape)).toBe(true);
  });
});
