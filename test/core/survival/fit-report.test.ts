import { describe, expect, test } from "vitest";
import { compareModels } from "@/lib/core/survival/compare-models";
import { fitRecords, type RecordFit } from "@/lib/core/survival/fit-records";
import { reportFit, summarizeLeftOut } from "@/lib/core/survival/fit-report";
import { describeLearning } from "@/lib/core/survival/learning";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { PRIOR_MODEL, type SurvivalModel } from "@/lib/core/survival/model";
import { expectedFailures } from "@/lib/core/survival/predict";
import { runBackTest } from "@/lib/core/survival/run-back-test";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio } from "@/test/support/simulate-portfolio";

const today = PORTFOLIO_TODAY;
const fitted = (records: readonly LifeRecord[]): RecordFit => {
  const fit = fitRecords(records, { today, method: "fit 1" });
  if (!fit.ok) throw new Error(JSON.stringify(fit.problems));
  return fit.value;
};

const truth: SurvivalModel = {
  ...PRIOR_MODEL,
  lifetimes: { ...PRIOR_MODEL.lifetimes, "gas-storage": { shape: 3.5, scaleYears: 11 } },
  propertyEffects: { "property-0": 0.35 },
};
const portfolio = simulatePortfolio({
  truth,
  seed: 3,
  heaters: 1_200,
  properties: 8,
  recordYears: 12,
});
const fit = fitted(portfolio);

describe("what a fit learnt", () => {
  const learning = describeLearning(fit);
  const of = (quantity: string, subject: string) => {
    const found = learning.find((one) => one.quantity === quantity && one.subject === subject);
    if (!found) throw new Error(`no ${quantity} of ${subject}`);
    return found;
  };

  test("is said for the kinds on record and every covariate, each with the band before and after", () => {
    expect(learning).toHaveLength(2 * 2 + 8);
    for (const { prior, posterior, sentence } of learning) {
      for (const { lower, median, upper } of [prior, posterior]) {
        expect(lower).toBeLessThan(median);
        expect(median).toBeLessThan(upper);
      }
      expect(sentence).not.toMatch(/NaN|undefined|Infinity/);
    }
  });

  // The truth behind the portfolio: 11 · Γ(1 + 1/3.5) = 9.90 years, computed from the formula.
  test("mean life covers the truth and is far narrower than before", () => {
    const life = of("mean-life", "gas-storage");
    expect(life.learnt).toBe(true);
    expect(life.prior.median).toBeCloseTo(13, 6);
    expect(life.posterior.lower).toBeLessThan(9.9);
    expect(life.posterior.upper).toBeGreaterThan(9.9);
    const width = ({ lower, upper }: typeof life.prior) => upper - lower;
    expect(width(life.posterior)).toBeLessThan(width(life.prior) / 2);
    expect(life.sentence).toMatch(
      /^Lives shorter than believed, by \d+ failures; the range is \d+(\.\d)? times narrower\.$/,
    );
  });

  test("a record of two heaters says too little, and the sentences say so", () => {
    const little = describeLearning(fitted(portfolio.slice(0, 2)));
    expect(little.filter(({ learnt }) => learnt)).toEqual([]);
    for (const { sentence } of little)
      expect(sentence).toMatch(/too little; what was believed stands/);
  });

  test("a kind of which none has failed is said to follow the others", () => {
    const alive = Array.from({ length: 5 }, (_, i) => ({
      heater: aHeater({ id: `pump-${i}`, technology: "heat-pump-storage" }),
      observedFrom: aHeater().install.earliest,
      retirement: null,
    }));
    const shape = describeLearning(fitted([...portfolio, ...alive])).find(
      ({ quantity, subject }) => quantity === "shape" && subject === "heat-pump-storage",
    );
    expect(shape?.failures).toBe(0);
    expect(shape?.sentence).toMatch(/taken from the other kinds|0 failures say too little/);
  });

  test("the most different property moves most and its own record weighs more than a small one's", () => {
    const byEffect = [...fit.properties].sort((a, b) => b.effect - a.effect);
    expect(byEffect[0].propertyId).toBe("property-0");
    for (const { effect, ownWeight, aloneEffect, standardDeviation } of fit.properties) {
      expect(standardDeviation).toBeGreaterThan(0);
      expect(ownWeight).toBeGreaterThan(0);
      expect(ownWeight).toBeLessThan(1);
      // Drawn towards none: its own record alone would say more.
      if (aloneEffect !== null) expect(Math.abs(aloneEffect)).toBeGreaterThan(Math.abs(effect));
    }
  });

  // The step to the property's own estimate is quadratic: with a wide spread both nearly agree.
  test("what a property's record says alone is near a fit with hardly any pull", () => {
    const property = fit.properties.find(({ propertyId }) => propertyId === "property-0");
    expect(property?.aloneEffect).toBeGreaterThan(0.2);
    expect(property?.aloneEffect).toBeLessThan(0.55);
  });
});

describe("compareModels", () => {
  const heaters = portfolio.filter(({ retirement }) => retirement === null).map((r) => r.heater);

  test("a model agrees with itself", () => {
    const same = compareModels(fit.model, fit.model, heaters, today);
    expect(same.rankCorrelation).toBe(1);
    expect(same.top.stay).toBe(same.top.size);
    expect(same.movers.every(({ before, after }) => before === after)).toBe(true);
    expect(same.years[0].model).toEqual(same.years[0].other);
  });

  test("says which heaters move, where from and where to, and how the expected failures change", () => {
    const comparison = compareModels(fit.model, PRIOR_MODEL, heaters, today);
    expect(comparison.against).toBe("prior-1");
    expect(comparison.years).toHaveLength(10);
    // Draws lean to either side of the model itself, so their mean is only near it.
    const [expected] = expectedFailures(fit.model, heaters, today, 1);
    expect(comparison.years[0].model.expected / expected).toBeGreaterThan(0.95);
    expect(comparison.years[0].model.expected / expected).toBeLessThan(1.05);
    const [first] = comparison.movers;
    for (const { before, after } of comparison.movers) {
      expect(Math.abs(after - before)).toBeLessThanOrEqual(Math.abs(first.after - first.before));
    }
    expect(comparison.rankCorrelation).toBeLessThan(1);
    expect(comparison.rankCorrelation).toBeGreaterThan(0);
  });

  test("an empty fleet and a single heater have no rank correlation", () => {
    expect(compareModels(fit.model, PRIOR_MODEL, [], today).rankCorrelation).toBeNull();
    const one = compareModels(fit.model, PRIOR_MODEL, heaters.slice(0, 1), today);
    expect(one.rankCorrelation).toBeNull();
    expect(one.top).toEqual({ size: 1, stay: 1 });
  });
});

describe("reportFit", () => {
  test("holds nothing that JSON cannot carry", () => {
    const report = reportFit(fit, portfolio, { today, inUse: PRIOR_MODEL });
    expect(JSON.parse(JSON.stringify(report))).toEqual(report);
    expect(report.recordsBegin).toBe("2014-06-01");
  });

  test("counts left-out records by reason and names the first fifty of each", () => {
    const problems = [
      ...Array.from({ length: 60 }, (_, i) => ({ path: `a${i}`, message: "reason one" })),
      { path: "b", message: "reason two" },
    ];
    const leftOut = summarizeLeftOut(problems);
    expect(leftOut.total).toBe(61);
    expect(leftOut.reasons).toEqual([
      { reason: "reason one", records: 60 },
      { reason: "reason two", records: 1 },
    ]);
    expect(leftOut.named).toHaveLength(51);
  });
});

describe("runBackTest", () => {
  test("keeps what was said and what happened, year by year", () => {
    const shares: number[] = [];
    const test = runBackTest(portfolio.slice(0, 300), today, (share) => shares.push(share));
    if (!test.ok) throw new Error(JSON.stringify(test.problems));
    const { years, calibration, origins } = test.value;
    expect(years.map(({ origin }) => origin)).toEqual(origins);
    const sum = (of: (year: (typeof years)[number]) => number) =>
      years.reduce((total, year) => total + of(year), 0);
    expect(sum(({ heaters }) => heaters)).toBe(calibration.heaters);
    expect(sum(({ observed }) => observed)).toBe(calibration.observed);
    expect(sum(({ expected }) => expected)).toBeCloseTo(calibration.expected, 9);
    expect(shares.at(-1)).toBe(1);
  });

  test("says why it cannot be made", () => {
    const [record] = portfolio;
    const young = { ...record, observedFrom: today, retirement: null };
    const none = runBackTest([], today);
    const tooYoung = runBackTest([young], today);
    expect(none).toMatchObject({
      ok: false,
      problems: [{ message: expect.stringMatching(/no record/) }],
    });
    expect(tooYoung).toMatchObject({
      ok: false,
      problems: [{ message: expect.stringMatching(/since 2026-06-01 only/) }],
    });
  });
});
