import { describe, expect, test } from "vitest";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import {
  complianceOn,
  complianceShare,
  type HeaterRecord,
  monthEnds,
} from "@/lib/core/upkeep/compliance";
import { DEFAULT_UPKEEP_RULES } from "@/lib/core/upkeep/rules";
import { faultShare, worthOfTask } from "@/lib/core/upkeep/task-worth";
import { costOfWork, yearlyCostPerHeater } from "@/lib/core/upkeep/upkeep-cost";
import { makeHeater } from "./make-heater";

describe("what a task is worth", () => {
  const outlook = (failureProbability: number, lossIfItFailsCents = 300_000) => ({
    failureProbability,
    lossIfItFailsCents,
  });

  // By hand: (12 % − 9 %) × $3,000 = $90; 30 minutes at $60 an hour and $20 of parts cost $50.
  test("it is the failure probability removed × consequence, less labour and parts", () => {
    const worth = worthOfTask({
      without: outlook(0.12),
      with: outlook(0.09),
      minutes: 30,
      partsCents: 2_000,
      labourCentsPerHour: 6_000,
    });
    expect(worth.removedProbability).toBeCloseTo(0.03, 12);
    expect(worth.avoidedCents).toBeCloseTo(9_000, 6);
    expect(worth.costCents).toBe(5_000);
    expect(worth.netCents).toBeCloseTo(4_000, 6);
    expect(worth.avoidedCentsPerMinute).toBeCloseTo(300, 6);
  });

  test("a task that only lessens the consequence is worth that", () => {
    const worth = worthOfTask({
      without: outlook(0.1, 200_000),
      with: outlook(0.1, 150_000),
      minutes: 5,
      partsCents: 0,
      labourCentsPerHour: 0,
    });
    expect(worth.removedProbability).toBe(0);
    expect(worth.avoidedCents).toBeCloseTo(5_000, 6);
  });

  test("a probability outside 0 to 1 and no minutes are named", () => {
    const terms = {
      without: outlook(0.1),
      with: outlook(0.1),
      minutes: 5,
      partsCents: 0,
      labourCentsPerHour: 0,
    };
    expect(() => worthOfTask({ ...terms, with: outlook(1.1) })).toThrow(/with.*1\.1/);
    expect(() => worthOfTask({ ...terms, minutes: 0 })).toThrow(/minutes.*0/);
  });

  // (0.1 × 20 + 5) / (20 + 30) = 0.14.
  test("the share of faults starts at a tenth and follows the organisation's own checks", () => {
    expect(faultShare({ checks: 0, faults: 0 })).toBeCloseTo(0.1, 12);
    expect(faultShare({ checks: 30, faults: 5 })).toBeCloseTo(0.14, 12);
    expect(() => faultShare({ checks: 1, faults: 2 })).toThrow(RangeError);
  });
});

describe("what upkeep costs", () => {
  const work = {
    visits: 2,
    minutes: 60,
    untimedVisits: 0,
    usualMinutes: 0,
    partsCents: 2_000,
    unpricedParts: 0,
    otherCents: 5_000,
  };

  // By hand: one hour at $60, $20 of parts and $50 to others are $130; over 4 heater-years $32.50 each.
  test("labour by the minute, parts and what others were paid, for one heater and year", () => {
    const cost = costOfWork(work, 6_000);
    expect(cost).toMatchObject({ labourCents: 6_000, totalCents: 13_000 });
    expect(yearlyCostPerHeater(cost, 4)).toBe(3_250);
  });

  test("visits without minutes take as long as their tasks as a rule, and are counted", () => {
    const cost = costOfWork({ ...work, untimedVisits: 1, usualMinutes: 30 }, 6_000);
    expect(cost).toMatchObject({ minutes: 90, labourCents: 9_000, untimedVisits: 1 });
  });

  test("no years in service have no yearly cost", () => {
    expect(() => yearlyCostPerHeater({ totalCents: 1 }, 0)).toThrow(/heaterYears/);
  });
});

describe("compliance", () => {
  const day = calendarDay;
  const record = (changes: Partial<HeaterRecord> = {}): HeaterRecord => ({
    heater: makeHeater(),
    entries: [],
    recordedFrom: day("2020-01-01"),
    retiredOn: null,
    ...changes,
  });
  const on = (records: readonly HeaterRecord[], ...days: readonly string[]) =>
    complianceOn(records, days.map(day), () => DEFAULT_UPKEEP_RULES);

  test("a task is in date through its due day and not on the day after", () => {
    // Installed 2022-03-15, relief valve yearly.
    const [last, after] = on([record()], "2023-03-15", "2023-03-16");
    expect(last.byTask["relief-valve-test"]).toEqual({ tasks: 1, inDate: 1 });
    expect(after.byTask["relief-valve-test"]).toEqual({ tasks: 1, inDate: 0 });
  });

  test("what was done later does not make an earlier day better", () => {
    const entries = [
      { task: "relief-valve-test" as const, day: day("2024-02-29"), finding: "works" },
    ];
    const [before, then] = on([record({ entries })], "2024-02-28", "2024-02-29");
    expect(before.byTask["relief-valve-test"]?.inDate).toBe(0);
    expect(then.byTask["relief-valve-test"]?.inDate).toBe(1);
  });

  test("heaters count from their record to the day they leave", () => {
    const records = [record({ recordedFrom: day("2024-01-01"), retiredOn: day("2024-06-01") })];
    const counts = on(records, "2023-12-31", "2024-01-01", "2024-05-31", "2024-06-01");
    expect(counts.map(({ tasks }) => tasks > 0)).toEqual([false, true, true, false]);
    expect(complianceShare(counts[0])).toBeNull();
  });

  test("a tank left alone is asked for no flush and no anode work", () => {
    const [young, old] = on([record()], "2031-03-01", "2031-03-31");
    expect(young.byTask.flush?.tasks).toBe(1);
    expect(old.byTask.flush).toBeUndefined();
    expect(old.byTask["relief-valve-test"]?.tasks).toBe(1);
  });

  test("asking for many days at once gives what asking for each alone gives", () => {
    const entries = ["2022-09-01", "2023-10-10", "2024-11-30"].flatMap((text) => [
      { task: "flush" as const, day: day(text), finding: "heavy-sediment" },
      { task: "anode-inspection" as const, day: day(text), finding: "protected" },
    ]);
    const records = [record({ entries }), record()];
    const days = monthEnds(day("2025-03-10"), 30);
    const together = complianceOn(records, days, () => DEFAULT_UPKEEP_RULES);
    const alone = days.map((one) => complianceOn(records, [one], () => DEFAULT_UPKEEP_RULES)[0]);
    expect(together.map(({ day, inDate, tasks }) => [day, inDate, tasks])).toEqual(
      alone.map(({ day, inDate, tasks }) => [day, inDate, tasks]),
    );
    expect(new Set(together.map(complianceShare)).size).toBeGreaterThan(2);
  });

  test("month ends hold in leap years and end with today", () => {
    expect(monthEnds(day("2024-03-31"), 3)).toEqual([
      "2023-12-31",
      "2024-01-31",
      "2024-02-29",
      "2024-03-31",
    ]);
  });
});
