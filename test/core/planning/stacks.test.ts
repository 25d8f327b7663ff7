import { describe, expect, test } from "vitest";
import { checkPlan } from "@/lib/core/planning/check-plan";
import {
  findProblemFaults,
  type PlanHeater,
  type PlanProblem,
  type SolveOptions,
} from "@/lib/core/planning/problem";
import { SOLVER_NAMES, solverNamed } from "@/lib/core/planning/solvers/choose-solver";
import { priceChangeAtOnce } from "@/lib/core/planning/what-if";
import { aPlanProblem } from "@/test/support/a-plan-problem";
import { planByBruteForce } from "@/test/support/brute-force-planner";

const options: SolveOptions = { gap: 0, seconds: 20, seed: 1, elapsedSeconds: () => 0 };

/** Costs by period of one option each; the two heaters name their heat pumps differently. */
function heater(id: string, option: string, costs: readonly number[]): PlanHeater {
  return {
    id,
    building: "B",
    never: { costCents: 900, kg: 9 },
    choices: costs.map((costCents, t) => ({
      option,
      family: "heat pump",
      period: `P${t + 1}`,
      costCents,
      capitalCents: 100,
      hours: 1,
      circuit: 1,
      kg: 1,
    })),
    lock: null,
  };
}

/** H1 is best in P1 (100), H2 in P2 (100); in the other period each costs 400 and 300. */
const riser: PlanProblem = {
  periods: [
    { id: "P1", budgetYear: "Y1", discount: 1 },
    { id: "P2", budgetYear: "Y2", discount: 1 },
  ],
  budgets: {},
  crewHours: {},
  buildings: [{ id: "B", headroom: null, upgrade: null, mobilisationCents: 0 }],
  heaters: [heater("H1", "hp50", [100, 400]), heater("H2", "hp80", [300, 100])],
  emissionCap: null,
  stacks: [{ id: "riser 1", heaters: ["H1", "H2"] }],
};

describe.each(SOLVER_NAMES)("a stack goes together (%s)", (name) => {
  const solve = solverNamed(name);

  test("in the period that is cheapest for all of it, not for each", async () => {
    const apart = await solve({ ...riser, stacks: [] }, options);
    expect(apart.objectiveCents).toBe(200);
    // Together: 100 + 300 in P1, 400 + 100 in P2, 1,800 when left.
    const together = await solve(riser, options);
    expect(together.objectiveCents).toBe(400);
    expect(together.assignments).toEqual([
      { heater: "H1", option: "hp50", period: "P1" },
      { heater: "H2", option: "hp80", period: "P1" },
    ]);
    expect(together.lowerBoundCents ?? 999).toBeLessThanOrEqual(400);
    expect(checkPlan(riser, together).violations).toEqual([]);
  });

  test("or is left whole where the money does not pay all of it", async () => {
    const budgets = { Y1: { cents: 150, carryOver: 0 }, Y2: { cents: 150, carryOver: 0 } };
    const plan = await solve({ ...riser, budgets }, options);
    expect(plan.objectiveCents).toBe(1_800);
    expect(plan.assignments.every((line) => "never" in line)).toBe(true);
  });

  test("a commitment of one heater binds the others", async () => {
    const [first, second] = riser.heaters;
    const lock = { option: "hp80", period: "P2" };
    const plan = await solve({ ...riser, heaters: [first, { ...second, lock }] }, options);
    expect(plan.objectiveCents).toBe(500);
    expect(plan.assignments[0]).toEqual({ heater: "H1", option: "hp50", period: "P2" });
  });

  test("commitments that do not go together are said", async () => {
    const [first, second] = riser.heaters;
    const plan = await solve(
      {
        ...riser,
        heaters: [
          { ...first, lock: "never" },
          { ...second, lock: { option: "hp80", period: "P2" } },
        ],
      },
      options,
    );
    expect(plan.status).toBe("infeasible");
    expect(plan.infeasibility).toEqual([
      "Stack riser 1: its heaters must go together, which these commitments do not allow: " +
        "H1 to stay, H2 to hp80 in P2.",
    ]);
  });

  test("a stack without an option in common, of which one may not be left, is said", async () => {
    const [first, second] = riser.heaters;
    const other = second.choices.map((choice) => ({ ...choice, family: "gas" }));
    const plan = await solve(
      {
        ...riser,
        heaters: [
          { ...first, never: null },
          { ...second, choices: other },
        ],
      },
      options,
    );
    expect(plan.status).toBe("infeasible");
    expect(plan.infeasibility[0]).toMatch(/^Stack riser 1: a heater of it may not be left/);
  });

  test("an earlier plan to start from is read by heater", async () => {
    const start = await solve(riser, options);
    const again = await solve(riser, { ...options, start: start.assignments });
    expect(again.objectiveCents).toBe(400);
  });
});

test("the checker names a stack that does not go together", () => {
  const check = checkPlan(riser, {
    assignments: [
      { heater: "H1", option: "hp50", period: "P1" },
      { heater: "H2", option: "hp80", period: "P2" },
    ],
    upgrades: [],
    mobilisations: [],
  });
  expect(check.violations).toEqual([
    "The heaters of stack riser 1 do not go together: heat pump in P1, heat pump in P2",
  ]);
});

test("a stack that means nothing is refused with its place", () => {
  const [first, second] = riser.heaters;
  const faults = findProblemFaults({
    ...riser,
    buildings: [...riser.buildings, { ...riser.buildings[0], id: "C" }],
    heaters: [
      { ...first, choices: [...first.choices, { ...first.choices[0], option: "hp65" }] },
      { ...second, building: "C" },
    ],
    stacks: [
      { id: "H1", heaters: ["H1", "H2", "H9"] },
      { id: "two", heaters: ["H2"] },
      { id: "two", heaters: [] },
    ],
  });
  expect(faults.map(({ path, message }) => `${path}: ${message}`)).toEqual([
    'stacks[0].id: "H1" is also the id of a heater',
    'stacks[0].heaters[0]: heater "H1" has several options of family "heat pump" in "P1"; a stack needs to know which',
    'stacks[0].heaters[2]: there is no heater "H9"',
    "stacks[0].heaters: a stack is in one building, got B, C",
    'stacks[1].heaters[0]: heater "H2" is already in stack "H1"',
    'stacks[2].id: stack "two" is listed twice',
    "stacks[2].heaters: at least one heater is needed",
  ]);
});

test("with stacks every solver agrees with trying every combination", async () => {
  let compared = 0;
  for (let seed = 1; seed <= 24; seed++) {
    const problem = withStacks(
      aPlanProblem({
        seed,
        heaters: 4,
        periods: 2,
        heatersPerBuilding: 3,
        options: 2,
        tightness: 0.5 + (seed % 4) * 0.25,
        crews: seed % 3 !== 0,
        cap: seed % 2 === 0 ? null : 0.2,
        carryOver: (seed % 3) * 0.5,
        lockShare: seed % 5 === 0 ? 0.3 : 0,
      }),
    );
    if (problem.stacks?.length === 0) continue;
    const judge = planByBruteForce(problem);
    const exact = await solverNamed("exact")(problem, options);
    const auto = await solverNamed("auto")(problem, options);
    const decomposed = await solverNamed("decomposition")(problem, options);
    if (judge === null) {
      expect(exact.status, `seed ${seed}`).toBe("infeasible");
      expect(decomposed.objectiveCents, `seed ${seed}`).toBeNull();
      continue;
    }
    const optimum = judge.check.objectiveCents;
    for (const solution of [exact, auto]) {
      expect(Math.abs((solution.objectiveCents ?? 0) - optimum), `seed ${seed}`).toBeLessThan(
        1e-6 * Math.abs(optimum),
      );
    }
    expect(decomposed.lowerBoundCents ?? 0).toBeLessThanOrEqual(optimum * (1 + 1e-6));
    expect(decomposed.objectiveCents ?? optimum).toBeGreaterThanOrEqual(optimum * (1 - 1e-6));
    compared++;
  }
  expect(compared).toBeGreaterThan(10);
});

test("what-if moves the whole stack with the line that is pinned", async () => {
  const plan = await solverNamed("auto")(riser, options);
  const change = { heater: "H2", pin: { option: "hp80", period: "P2" } };
  const price = priceChangeAtOnce(riser, plan, change);
  expect(price.costCents).toBe(100);
  expect(price.moved.map(({ heater: id }) => id)).toEqual(["H1", "H2"]);
});

/** The first two heaters of each building that has two. */
function withStacks(problem: PlanProblem): PlanProblem {
  const stacks = problem.buildings.flatMap(({ id }) => {
    const here = problem.heaters.filter(({ building }) => building === id).slice(0, 2);
    return here.length < 2 ? [] : [{ id: `${id} riser`, heaters: here.map((each) => each.id) }];
  });
  return { ...problem, stacks };
}
