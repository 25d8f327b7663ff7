import { describe, expect, test } from "vitest";
import type { ScopeTotals } from "@/lib/core/emissions/annual-emissions";
import {
  checkPolicy,
  type Policy,
  type PolicyProperty,
  type PolicyRule,
  policyRuleSchema,
} from "@/lib/core/emissions/policies";
import { coveredKg, targetKg } from "@/lib/core/emissions/target";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const totals = (kg: number): ScopeTotals => ({
  scope1: kg,
  scope2Location: 200,
  scope2Market: 50,
  scope3: 30,
});

describe("a target line", () => {
  const line = {
    baseYear: 2020,
    baseKgCo2e: 1000,
    points: [
      { year: 2040, cutShare: 0.9 },
      { year: 2030, cutShare: 0.4 },
    ],
  };

  test.each([
    [2019, null],
    [2020, 1000],
    [2025, 800],
    [2030, 600],
    [2035, 350],
    [2040, 100],
    [2050, 100],
  ])("in %i allows %s kg", (year, kg) => {
    const allowed = targetKg(year, line);
    if (kg === null) expect(allowed).toBeNull();
    else expect(allowed).toBeCloseTo(kg, 9);
  });

  test("is not there without points", () => {
    expect(targetKg(2030, { ...line, points: [] })).toBeNull();
  });

  test("counts what the organisation says it covers", () => {
    expect(coveredKg(totals(100), "all-location")).toBe(330);
    expect(coveredKg(totals(100), "owner-location")).toBe(300);
    expect(coveredKg(totals(100), "owner-market")).toBe(150);
  });
});

const LIMIT: PolicyRule = {
  kind: "limit",
  basis: "home",
  coverage: "all-location",
  steps: [
    { fromYear: 2026, limitKg: 40 },
    { fromYear: 2028, limitKg: 20 },
  ],
  otherKgPerYear: 70,
  centsPerTonneOver: 26_800,
};

const PROPERTY: PolicyProperty = {
  propertyId: "p",
  homes: 10,
  floorAreaSqFt: null,
  years: [2025, 2026, 2027, 2028].map((year) => ({
    year,
    kgCo2e: totals(100),
    burnersLeft: year < 2028 ? 3 : 0,
  })),
  installs: [
    { day: calendarDay("2026-12-31"), technology: "gas-storage" },
    { day: calendarDay("2027-01-01"), technology: "gas-storage" },
    { day: calendarDay("2027-06-01"), technology: "heat-pump-storage" },
  ],
};

const policy = (rule: PolicyRule, propertyId: string | null = null): Policy => ({
  id: "rule",
  name: "rule",
  propertyId,
  rule,
  source: "test",
});

const found = (rule: PolicyRule, property = PROPERTY) =>
  checkPolicy(policy(rule), property).map(({ year, kind, amount, cents }) => [
    year,
    kind,
    amount,
    cents,
  ]);

describe("a building performance limit", () => {
  test("is compared year by year with what it counts, and priced by the tonne above it", () => {
    // 330 kg of hot water and 70 kg of other uses are 400 kg: at 40 kg for each of 10 homes just
    // within, at 20 kg 200 kg over, at 268 dollars a tonne 53.60 dollars.
    expect(found(LIMIT)).toEqual([[2028, "over-limit", 200, 5360]]);
  });

  test("by floor area says that it cannot be checked without the area", () => {
    const rule: PolicyRule = { ...LIMIT, basis: "square-foot" };
    expect(found(rule)).toEqual([[2026, "cannot-be-checked", 0, null]]);
    expect(found(rule, { ...PROPERTY, floorAreaSqFt: 1000 })).toEqual([]);
  });

  test("of another property is not this one's", () => {
    expect(checkPolicy(policy(LIMIT, "other"), PROPERTY)).toEqual([]);
  });

  test("whose years fall back is refused", () => {
    const steps = [
      { fromYear: 2028, limitKg: 1 },
      { fromYear: 2026, limitKg: 2 },
    ];
    expect(policyRuleSchema.safeParse({ ...LIMIT, steps }).success).toBe(false);
  });
});

describe("a low-emission appliance rule", () => {
  test("finds burners that the plan puts in on or after its day", () => {
    const from = calendarDay("2027-01-01");
    expect(found({ kind: "no-new-combustion", from })).toEqual([[2027, "new-burners", 1, null]]);
  });

  test("finds burners that are left at the end of a year after its day", () => {
    const from = calendarDay("2027-01-01");
    expect(found({ kind: "no-combustion", from })).toEqual([[2027, "burners-left", 3, null]]);
  });
});
