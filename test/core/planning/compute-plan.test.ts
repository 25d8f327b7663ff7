import { describe, expect, test } from "vitest";
import { checkPlan } from "@/lib/core/planning/check-plan";
import {
  computePlan,
  type PlanOutput,
  planInputSchema,
  problemFromInput,
} from "@/lib/core/planning/compute-plan";
import { planByBruteForce } from "@/test/support/brute-force-planner";

/**
 * Two heaters in one building, two years, worked by hand. A heat pump now ($6,000 in present value,
 * $4,800 of capital) is worth $3,000 to each heater; waiting a year costs H1 $500 and H2 $200. The
 * service carries one new circuit; an upgrade ($1,000) adds three; a visit costs $400 a year. The first
 * year's budget pays one swap, its visit and the upgrade.
 */
function twoHeaters(changes: Record<string, unknown> = {}) {
  const heater = (id: string, delayCents: number) => ({
    id,
    building: "B1",
    neverCost: 900_000,
    neverKg: 31_000,
    choices: [
      { option: "hp240", period: "2027", cost: 600_000 },
      { option: "hp240", period: "2028", cost: 600_000 + delayCents },
    ].map((choice) => ({ ...choice, capitalCents: 480_000, hours: 6, circuit: 1, kg: 5_400 })),
  });
  return {
    periods: [
      { id: "2027", budgetYear: "2027", discount: 1 },
      { id: "2028", budgetYear: "2028", discount: 0.95 },
    ],
    budgets: { "2027": { cents: 620_000 }, "2028": { cents: 620_000 } },
    crewHours: { "2027": 900, "2028": 900 },
    buildings: [
      {
        id: "B1",
        headroom: 1,
        upgrade: { cents: 100_000, adds: 3 },
        mobilisationCents: 40_000,
      },
    ],
    heaters: [heater("H1", 50_000), heater("H2", 20_000)],
    gap: 0,
    seconds: 20,
    ...changes,
  };
}

async function plan(input: unknown): Promise<PlanOutput> {
  const outcome = await computePlan(input);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

async function problemsOf(input: unknown): Promise<readonly string[]> {
  const outcome = await computePlan(input);
  if (outcome.ok) throw new Error("the input was accepted");
  return outcome.problems.map(({ path, message }) => `${path}: ${message}`);
}

describe("a plan of two heaters worked by hand", () => {
  test("takes the one that suffers most from waiting first and upgrades when the second needs it", async () => {
    const result = await plan(twoHeaters());
    // 6,000 + 6,200 for the swaps, 400 × (1 + 0.95) for visits, 1,000 × 0.95 for the upgrade: $13,930.
    expect(result.objective).toBeCloseTo(1_393_000, 6);
    expect(result.status).toBe("optimal");
    expect(result.gap).toBe(0);
    expect(result.assignments).toEqual([
      { heater: "H1", option: "hp240", period: "2027" },
      { heater: "H2", option: "hp240", period: "2028" },
    ]);
    expect(result.upgrades).toEqual([{ building: "B1", period: "2028" }]);
    expect(result.mobilisations).toEqual([
      { building: "B1", period: "2027" },
      { building: "B1", period: "2028" },
    ]);
    expect(result.seconds).toBeGreaterThan(0);
  });

  test("is the plan that trying every combination finds", async () => {
    const input = planInputSchema.parse(twoHeaters());
    expect(planByBruteForce(problemFromInput(input))?.check.objectiveCents).toBeCloseTo(
      1_393_000,
      6,
    );
  });

  test("leaves a heater whose swap no longer pays", async () => {
    const input = twoHeaters();
    const [first, second] = input.heaters;
    const result = await plan({ ...input, heaters: [first, { ...second, neverCost: 650_000 }] });
    expect(result.assignments[1]).toEqual({ heater: "H2", never: true });
    expect(result.upgrades).toEqual([]);
  });

  test("money left over helps to pay the next year's swap when it carries over", async () => {
    const budgets = { "2027": { cents: 720_000 }, "2028": { cents: 500_000 } };
    const without = await plan(twoHeaters({ budgets }));
    expect(without.assignments.filter((line) => "never" in line)).toHaveLength(1);
    const carried = await plan(
      twoHeaters({ budgets: { ...budgets, "2027": { cents: 720_000, carryOver: 0.5 } } }),
    );
    expect(carried.assignments.filter((line) => "never" in line)).toHaveLength(0);
  });

  test("keeps a committed line whatever it costs", async () => {
    const input = twoHeaters();
    const [first, second] = input.heaters;
    const lock = { option: "hp240", period: "2027" };
    const result = await plan({ ...input, heaters: [first, { ...second, lock }] });
    expect(result.assignments[1]).toEqual({ heater: "H2", ...lock });
    const left = await plan({ ...input, heaters: [first, { ...second, lock: "never" }] });
    expect(left.assignments[1]).toEqual({ heater: "H2", never: true });
  });
});

describe("what cannot be planned", () => {
  test("commitments above the budget are said in money", async () => {
    const input = twoHeaters({ budgets: { "2027": { cents: 900_000 } } });
    const lock = { option: "hp240", period: "2027" };
    const result = await plan({
      ...input,
      heaters: input.heaters.map((heater) => ({ ...heater, lock })),
    });
    expect(result.status).toBe("infeasible");
    expect(result.objective).toBeNull();
    expect(result.infeasibility).toEqual([
      "2027: the 2 committed lines alone need $10,000 of $9,000.",
    ]);
  });

  test("commitments above the crew's hours and the electrical service are said too", async () => {
    const input = twoHeaters({ budgets: {}, crewHours: { "2027": 10 } });
    const [building] = input.buildings;
    const lock = { option: "hp240", period: "2027" };
    const result = await plan({
      ...input,
      buildings: [{ ...building, upgrade: null }],
      heaters: input.heaters.map((heater) => ({ ...heater, lock })),
    });
    expect(result.infeasibility).toEqual([
      "2027: the 2 committed lines alone need 12 crew hours of 10.",
      "B1: the 2 committed lines alone add a load of 2 to an electrical service with room for 1.",
    ]);
  });

  test("an emission cap below the cleanest choices is said in kilograms", async () => {
    const result = await plan(twoHeaters({ emissionCapKg: 10_000 }));
    expect(result.status).toBe("infeasible");
    expect(result.infeasibility[0]).toContain("leaves 10,800 kg; the cap is 10,000 kg");
  });

  test("an emission cap that the budgets do not allow names what they allow", async () => {
    const result = await plan(
      twoHeaters({
        budgets: { "2027": { cents: 520_000 }, "2028": { cents: 0 } },
        emissionCapKg: 20_000,
      }),
    );
    expect(result.status).toBe("infeasible");
    expect(result.infeasibility[0]).toMatch(
      /no plan emits less than [\d,.]+ kg; the cap is 20,000 kg/,
    );
  });

  test("a negative budget is infeasible, a budget of zero leaves everything", async () => {
    const negative = await plan(twoHeaters({ budgets: { "2028": { cents: -100 } } }));
    expect(negative.status).toBe("infeasible");
    expect(negative.infeasibility).toEqual([
      "2028: the budget is -$1; even a year without swaps needs $0.",
    ]);
    const zero = await plan(
      twoHeaters({ budgets: { "2027": { cents: 0 }, "2028": { cents: 0 } } }),
    );
    expect(zero.status).toBe("optimal");
    expect(zero.objective).toBe(1_800_000);
  });
});

describe("sizes at the edge", () => {
  test("one period, and a building with nothing in it", async () => {
    const input = twoHeaters();
    const result = await plan({
      ...input,
      periods: [input.periods[0]],
      budgets: {},
      crewHours: {},
      buildings: [
        ...input.buildings,
        { id: "empty", headroom: null, upgrade: null, mobilisationCents: 0 },
      ],
      heaters: input.heaters.map((heater) => ({ ...heater, choices: [heater.choices[0]] })),
    });
    expect(result.status).toBe("optimal");
    expect(result.objective).toBe(1_200_000 + 100_000 + 40_000);
  });

  test("no heaters at all cost nothing", async () => {
    const result = await plan(twoHeaters({ heaters: [] }));
    expect(result).toMatchObject({ status: "optimal", objective: 0, lowerBound: 0, gap: 0 });
  });

  test("a heater without choices is left", async () => {
    const input = twoHeaters();
    const result = await plan({ ...input, heaters: [{ ...input.heaters[0], choices: [] }] });
    expect(result.assignments).toEqual([{ heater: "H1", never: true }]);
  });
});

describe("input that means nothing is refused with its place", () => {
  test("unknown keys are named", async () => {
    expect(await problemsOf(twoHeaters({ colour: 1 }))).toEqual(['colour: unknown key "colour"']);
    const input = twoHeaters();
    expect(
      await problemsOf({ ...input, heaters: [{ ...input.heaters[0], neverkg: 1 }] }),
    ).toContain('heaters[0].neverkg: unknown key "neverkg"');
  });

  test("names that point nowhere, doubles and impossible numbers are all reported at once", async () => {
    const input = twoHeaters();
    const [first, second] = input.heaters;
    const problems = await problemsOf({
      ...input,
      budgets: { "2035": { cents: 1 } },
      heaters: [
        { ...first, building: "B9" },
        { ...second, id: "H1", lock: { option: "gas", period: "2027" } },
      ],
    });
    expect(problems).toEqual([
      'budgets.2035: no period has budget year "2035"',
      'heaters[0].building: there is no building "B9"',
      'heaters[1].id: heater "H1" is listed twice',
      'heaters[1].lock: there is no choice "gas" in "2027" to lock',
    ]);
  });

  test.each([[null], [7], ["plan"], [[]], [{}]])("%j is not a plan", async (input) => {
    expect((await problemsOf(input)).length).toBeGreaterThan(0);
  });

  test("dollars with fractions of a cent, zero discounts and no periods are refused", async () => {
    expect(await problemsOf(twoHeaters({ budgets: { "2027": { cents: 1.5 } } }))).toEqual([
      "budgets.2027.cents: must be a whole number of cents",
    ]);
    expect(
      await problemsOf(twoHeaters({ periods: [{ id: "2027", budgetYear: "2027", discount: 0 }] })),
    ).toEqual(["periods[0].discount: must be above zero"]);
    expect(await problemsOf(twoHeaters({ periods: [] }))).toEqual([
      "periods: at least one period is needed",
    ]);
  });
});

test("an independent check finds the objective that the planner states", async () => {
  const input = planInputSchema.parse(twoHeaters());
  const result = await plan(twoHeaters());
  const check = checkPlan(problemFromInput(input), result);
  expect(check.violations).toEqual([]);
  expect(check.objectiveCents).toBe(result.objective);
  expect(check.spentCents).toEqual({ "2027": 520_000, "2028": 620_000 });
});
