import { beforeAll, describe, expect, test } from "vitest";
import { addDays, addYears, calendarDay } from "@/lib/core/shared/calendar-day";
import {
  type BackTestYear,
  backTestOrigins,
  backTestYear,
  recordAsOf,
} from "@/lib/core/survival/back-test";
import { summarizeBackTest } from "@/lib/core/survival/back-test-verdict";
import type { LifeRecord } from "@/lib/core/survival/life-record";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { aHeater } from "@/test/support/a-heater";
import { PORTFOLIO_TODAY, simulatePortfolio, type Truth } from "@/test/support/simulate-portfolio";

const yearOf = (records: readonly LifeRecord[], origin: string): BackTestYear => {
  const outcome = backTestYear(records, calendarDay(origin));
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
};
/** Wear that differs much from heater to heater, so that there is something to foresee. */
const truth: Truth = {
  ...PRIOR_MODEL,
  coefficients: { ...PRIOR_MODEL.coefficients, hardness: 0.2, closedSystem: 0.4, highDraw: 0.3 },
};
const records = simulatePortfolio({
  truth,
  seed: 24,
  heaters: 1_500,
  properties: 8,
  recordYears: 12,
});

describe("backTestOrigins", () => {
  test("are a year apart, the last a year before today, none before the earliest", () => {
    expect(backTestOrigins(calendarDay("2026-06-01"), calendarDay("2023-01-01"), 10)).toEqual([
      "2023-06-01",
      "2024-06-01",
      "2025-06-01",
    ]);
    expect(backTestOrigins(calendarDay("2026-06-01"), calendarDay("2026-01-01"), 10)).toEqual([]);
  });
});

describe("a back-test of a portfolio that follows the model", () => {
  const origins = ["2022-06-01", "2023-06-01", "2024-06-01", "2025-06-01"];
  let years: readonly BackTestYear[];
  beforeAll(() => {
    years = origins.map((origin) => yearOf(records, origin));
  });

  test("predicts about as many failures as happened, and beats the rule of ten years", () => {
    const summary = summarizeBackTest(years);
    expect(summary).not.toBeNull();
    if (summary === null) return;
    const { calibration, replaceAtTen, ageOnly, verdict } = summary;
    expect(calibration.observed).toBeGreaterThan(100);
    expect(calibration.observed).toBeGreaterThanOrEqual(calibration.expectedBand.lower);
    expect(calibration.observed).toBeLessThanOrEqual(calibration.expectedBand.upper);
    expect(replaceAtTen.modelIsBetter).toBe(true);
    expect(ageOnly.modelIsBetter).toBe(true);
    expect(verdict.grade).toBe("good");
    expect(verdict.headline).toBe(
      `Predicted ${Math.round(calibration.expected)}, happened ${calibration.observed}.`,
    );
  });

  test("later fits learn from more failures", () => {
    const learnt = years.map(({ failuresLearntFrom }) => failuresLearntFrom);
    expect(learnt).toEqual([...learnt].sort((a, b) => a - b));
    expect(learnt[3]).toBeGreaterThan(learnt[0]);
  });

  test("what happened after the day of the forecast does not reach it", () => {
    const origin = calendarDay("2023-06-01");
    const after = addDays(origin, 1);
    const rewritten = records.map((record) => ({
      ...record,
      heater: {
        ...record.heater,
        care: {
          ...record.heater.care,
          flushDays: [...record.heater.care.flushDays.filter((day) => day <= origin), after],
          anodeReplacementDays: [
            ...record.heater.care.anodeReplacementDays.filter((day) => day <= origin),
            after,
          ],
        },
      },
      retirement:
        record.retirement && record.retirement.earliest > origin ? null : record.retirement,
    }));
    const before = years[1];
    const again = yearOf(rewritten, origin);
    // Those that really ended otherwise were watched for a part of the year only.
    expect(again.failuresLearntFrom).toBe(before.failuresLearntFrom);
    const changed = again.model.filter(
      ({ probability }, i) => Math.abs(probability - before.model[i].probability) > 1e-12,
    );
    expect(changed.length).toBe(before.endedOtherwise);
  });

  test("refuses to judge by few failures", () => {
    const few = {
      ...years[0],
      model: years[0].model.slice(0, 30),
      ageOnly: years[0].ageOnly.slice(0, 30),
      replaceAtTen: years[0].replaceAtTen.slice(0, 30),
    };
    const { verdict } = summarizeBackTest([few]) ?? {};
    expect(verdict?.grade).toBe("too-few");
    expect(verdict?.sentences[0]).toMatch(/too few to judge/);
  });

  test("a model that is wrong is told so", () => {
    const halved = years.map((year) => ({
      ...year,
      model: year.model.map(({ probability, happened }) => ({
        probability: probability / 4,
        happened,
      })),
    }));
    const summary = summarizeBackTest(halved);
    expect(summary?.verdict.grade).not.toBe("good");
    expect(summary?.verdict.sentences[0]).toMatch(/predicts too few/);
  });
});

describe("recordAsOf", () => {
  const heater = aHeater({
    care: { ...aHeater().care, flushDays: [calendarDay("2018-01-01"), calendarDay("2021-01-01")] },
  });
  const record: LifeRecord = {
    heater,
    observedFrom: calendarDay("2016-01-01"),
    retirement: {
      heaterId: heater.id,
      earliest: calendarDay("2022-01-01"),
      latest: calendarDay("2022-03-01"),
      cause: "leak",
      emergency: true,
    },
  };

  test("knows nothing before the records begin or the heater was put in", () => {
    expect(recordAsOf(record, calendarDay("2015-12-31"))).toBeNull();
    expect(recordAsOf(record, calendarDay("2014-01-01"))).toBeNull();
  });

  test("has only the care of its time, and the end once it was known", () => {
    const early = recordAsOf(record, calendarDay("2020-01-01"));
    expect(early?.heater.care.flushDays).toEqual(["2018-01-01"]);
    expect(early?.retirement).toBeNull();
    expect(recordAsOf(record, calendarDay("2022-03-01"))?.retirement?.cause).toBe("leak");
  });

  test("between last sighting and discovery only the sighting is known", () => {
    const between = recordAsOf(record, calendarDay("2022-02-01"));
    expect(between?.retirement).toMatchObject({ cause: "other", latest: "2022-01-01" });
  });
});

describe("nothing to test on", () => {
  test("no records give no predictions and no summary", () => {
    const year = yearOf([], "2024-06-01");
    expect(year.model).toEqual([]);
    expect(summarizeBackTest([year])).toBeNull();
    expect(summarizeBackTest([])).toBeNull();
  });

  test("a window that is not over yet is not offered", () => {
    const origins = backTestOrigins(PORTFOLIO_TODAY, calendarDay("2000-01-01"), 3);
    expect(origins.every((origin) => addYears(origin, 1) <= PORTFOLIO_TODAY)).toBe(true);
  });
});
