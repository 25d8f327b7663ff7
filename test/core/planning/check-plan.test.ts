import { describe, expect, test } from "vitest";
import { checkPlan } from "@/lib/core/planning/check-plan";
import type { PlanProblem, PlanSchedule } from "@/lib/core/planning/problem";

const problem: PlanProblem = {
  periods: [
    { id: "P1", budgetYear: "Y1", discount: 1 },
    { id: "P2", budgetYear: "Y2", discount: 0.9 },
  ],
  budgets: { Y1: { cents: 1_000, carryOver: 0.5 }, Y2: { cents: 600, carryOver: 0 } },
  crewHours: { P1: 8 },
  buildings: [{ id: "B", headroom: 1, upgrade: { cents: 100, adds: 1 }, mobilisationCents: 50 }],
  heaters: ["H1", "H2"].map((id) => ({
    id,
    building: "B",
    never: { costCents: 900, kg: 10 },
    choices: ["P1", "P2"].map((period) => ({
      option: "hp",
      period,
      costCents: 500,
      capitalCents: 400,
      hours: 5,
      circuit: 1,
      kg: 2,
    })),
    lock: null,
  })),
  emissionCap: { kg: 11, excessCentsPerKg: null },
};

const swap = (heater: string, period: string) => ({ heater, option: "hp", period });
const visit = (period: string) => ({ building: "B", period });

const good: PlanSchedule = {
  assignments: [swap("H1", "P1"), swap("H2", "P2")],
  upgrades: [{ building: "B", period: "P2" }],
  mobilisations: [visit("P1"), visit("P2")],
};

test("a plan that keeps every rule is costed: choices, and events at their period's factor", () => {
  const check = checkPlan(problem, good);
  expect(check.violations).toEqual([]);
  expect(check.objectiveCents).toBeCloseTo(500 + 500 + 50 + 45 + 90, 9);
  expect(check.spentCents).toEqual({ Y1: 450, Y2: 550 });
  // Half of what Y1 leaves moves on.
  expect(check.availableCents).toEqual({ Y1: 1_000, Y2: 600 + 0.5 * 550 });
  expect(check.kg).toBe(4);
});

describe("each rule that is broken is named", () => {
  const both = [swap("H1", "P1"), swap("H2", "P1")];
  test.each<[string, Partial<PlanSchedule>, Partial<PlanProblem>, RegExp]>([
    [
      "budget",
      {},
      { budgets: { Y1: { cents: 449, carryOver: 0 } } },
      /Y1: \$4.50 are spent of \$4.49/,
    ],
    [
      "crew",
      { assignments: both, upgrades: [{ building: "B", period: "P1" }] },
      {},
      /P1: 10 crew hours/,
    ],
    ["headroom", { upgrades: [] }, {}, /B carries 2 of new load in P2, with room for 1/],
    ["visit", { mobilisations: [visit("P1")] }, {}, /H2 is swapped in P2 without a visit/],
    ["line", { assignments: [swap("H1", "P1")] }, {}, /H2 has no line/],
    ["double", { assignments: [...good.assignments, swap("H1", "P1")] }, {}, /more than one line/],
    ["stranger", { assignments: [...good.assignments, swap("H9", "P1")] }, {}, /no heater "H9"/],
    ["choice", { assignments: [swap("H1", "P9"), swap("H2", "P2")] }, {}, /no choice hp in P9/],
    [
      "upgrade",
      { upgrades: [...good.upgrades, { building: "B", period: "P1" }] },
      {},
      /upgraded twice/,
    ],
    ["cap", {}, { emissionCap: { kg: 3, excessCentsPerKg: null } }, /Emissions are 4 kg/],
  ])("%s", (_name, plan, changes, message) => {
    const check = checkPlan({ ...problem, ...changes }, { ...good, ...plan });
    expect(check.violations.join("\n")).toMatch(message);
  });

  test("a committed line and a heater that may not be left", () => {
    const [first, second] = problem.heaters;
    const strict = {
      ...problem,
      heaters: [
        { ...first, lock: { option: "hp", period: "P2" } },
        { ...second, never: null },
      ],
    };
    const check = checkPlan(strict, {
      ...good,
      assignments: [swap("H1", "P1"), { heater: "H2", never: true }],
    });
    expect(check.violations).toContain("Heater H1 is committed to hp in P2");
    expect(check.violations).toContain("Heater H2 may not be left");
  });

  test("an upgrade counts from its own period on, not before", () => {
    const early = { ...good, assignments: [swap("H1", "P1"), swap("H2", "P1")] };
    const roomy = { ...problem, crewHours: {} };
    expect(checkPlan(roomy, early).violations.join()).toContain("in P1, with room for 1");
    const upgraded = { ...early, upgrades: [{ building: "B", period: "P1" }] };
    expect(checkPlan(roomy, upgraded).violations).toEqual([]);
  });
});

test("above a soft cap every kilogram is priced and none is a violation", () => {
  const soft = { ...problem, emissionCap: { kg: 3, excessCentsPerKg: 7 } };
  const check = checkPlan(soft, good);
  expect(check.violations).toEqual([]);
  expect(check.excessKg).toBe(1);
  expect(check.objectiveCents).toBeCloseTo(1_185 + 7, 9);
});
