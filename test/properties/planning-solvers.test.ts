import { describe, expect, test } from "vitest";
import { checkPlan } from "@/lib/core/planning/check-plan";
import type { PlanProblem, PlanSolution, SolveOptions } from "@/lib/core/planning/problem";
import { solveAutomatically } from "@/lib/core/planning/solvers/auto";
import { solveByDecomposition } from "@/lib/core/planning/solvers/by-decomposition";
import { solveExactly } from "@/lib/core/planning/solvers/exact";
import { aLargePlan, problemOfArrays } from "@/test/support/a-large-plan";
import { aPlanProblem } from "@/test/support/a-plan-problem";

const options: SolveOptions = { gap: 0, seconds: 30, seed: 1, elapsedSeconds: () => 0 };

/** Headroom, upgrades, visits, crews, caps, carry-over and locks in turn. */
function mixedProblem(seed: number): PlanProblem {
  return aPlanProblem({
    seed,
    heaters: 5 + ((seed * 7) % 16),
    periods: 3 + (seed % 4),
    heatersPerBuilding: 3 + (seed % 8),
    options: 2 + (seed % 2),
    tightness: 0.4 + (seed % 5) * 0.15,
    crews: seed % 3 !== 0,
    cap: seed % 2 === 0 ? null : 0.25 + (seed % 3) * 0.15,
    carryOver: (seed % 3) * 0.5,
    lockShare: seed % 4 === 0 ? 0.05 : 0,
  });
}

/** The plan keeps every rule, costs what it says, and its bound is no higher than the optimum. */
function expectBracket(problem: PlanProblem, solution: PlanSolution, optimum: number, at: string) {
  const forgiven = 1e-6 * Math.abs(optimum);
  expect(solution.lowerBoundCents ?? 0, at).toBeLessThanOrEqual(optimum + forgiven);
  if (solution.objectiveCents === null) return;
  expect(solution.objectiveCents, at).toBeGreaterThanOrEqual(optimum - forgiven);
  const check = checkPlan(problem, solution);
  expect(check.violations, at).toEqual([]);
  expect(check.objectiveCents, at).toBe(solution.objectiveCents);
}

describe("every solver against the exact optimum", () => {
  test("lower bound ≤ optimum ≤ plan, by decomposition and by choice of both", async () => {
    let compared = 0;
    let found = 0;
    for (let seed = 1; seed <= 14; seed++) {
      const problem = mixedProblem(seed);
      const exact = await solveExactly(problem, options);
      const decomposed = await solveByDecomposition(problem, options);
      const chosen = await solveAutomatically(problem, options);
      if (exact.status === "infeasible") {
        expect(["infeasible", "not-found"], `seed ${seed}`).toContain(decomposed.status);
        expect(chosen.status, `seed ${seed}`).toBe("infeasible");
        continue;
      }
      expect(exact.status, `seed ${seed}`).toBe("optimal");
      const optimum = exact.objectiveCents ?? Number.NaN;
      expect(decomposed.status, `seed ${seed}`).not.toBe("infeasible");
      expectBracket(problem, decomposed, optimum, `decomposition, seed ${seed}`);
      expectBracket(problem, chosen, optimum, `auto, seed ${seed}`);
      expect(chosen.objectiveCents ?? 0, `seed ${seed}`).toBeLessThanOrEqual(optimum * (1 + 1e-6));
      compared++;
      if (decomposed.objectiveCents !== null) found++;
    }
    expect(compared).toBeGreaterThan(9);
    expect(found).toBeGreaterThan(0.8 * compared);
  });
});

describe("laws of a plan", () => {
  test("a bigger budget never makes the best plan worse", async () => {
    for (const seed of [3, 8, 11]) {
      const problem = { ...mixedProblem(seed), emissionCap: null };
      let before = Number.POSITIVE_INFINITY;
      for (const factor of [0.5, 1, 2]) {
        const budgets = Object.fromEntries(
          Object.entries(problem.budgets).map(([year, { cents, carryOver }]) => [
            year,
            { cents: Math.round(cents * factor), carryOver },
          ]),
        );
        const unlocked = problem.heaters.map((heater) => ({ ...heater, lock: null }));
        const plan = await solveExactly({ ...problem, heaters: unlocked, budgets }, options);
        expect(plan.status).toBe("optimal");
        expect(plan.objectiveCents ?? 0).toBeLessThanOrEqual(before * (1 + 1e-6));
        before = plan.objectiveCents ?? 0;
      }
    }
  });

  test("other names for heaters, buildings and options change nothing else", async () => {
    const problem = mixedProblem(9);
    const renamed: PlanProblem = {
      ...problem,
      buildings: problem.buildings.map((each) => ({ ...each, id: `${each.id}*` })),
      heaters: problem.heaters.map((heater) => ({
        ...heater,
        id: `zz-${heater.id}`,
        building: `${heater.building}*`,
        choices: heater.choices.map((each) => ({ ...each, option: `new ${each.option}` })),
      })),
    };
    const before = await solveByDecomposition(problem, options);
    const after = await solveByDecomposition(renamed, options);
    expect(after.objectiveCents).toBe(before.objectiveCents);
    expect(after.lowerBoundCents).toBe(before.lowerBoundCents);
    expect(
      after.assignments.map((line) =>
        "never" in line
          ? { heater: line.heater.slice(3), never: true }
          : { heater: line.heater.slice(3), option: line.option.slice(4), period: line.period },
      ),
    ).toEqual(before.assignments);
  });

  test("the same seed gives the same plan to the bit", async () => {
    const problem = problemOfArrays(aLargePlan({ heaters: 300, cap: 0.85 }));
    const first = await solveByDecomposition(problem, { ...options, seed: 5 });
    const second = await solveByDecomposition(problem, { ...options, seed: 5 });
    expect(second).toEqual(first);
  });
});

describe("the decomposition at larger sizes", () => {
  test.each([null, 0.85])(
    "1,500 heaters, cap %j: a plan that keeps every rule, proven near",
    async (cap) => {
      const problem = problemOfArrays(aLargePlan({ heaters: 1_500, cap }));
      const plan = await solveByDecomposition(problem, options);
      expect(plan.status).toBe("feasible");
      expect(checkPlan(problem, plan).violations).toEqual([]);
      expect(plan.gap ?? 1).toBeLessThan(0.003);
      expect(plan.prices.budget.Y0).toBeGreaterThan(0);
      if (cap !== null) expect(plan.prices.emission ?? 0).toBeGreaterThan(0);
    },
  );

  test("stopped at any time it returns a plan that keeps every rule", async () => {
    const problem = problemOfArrays(aLargePlan({ heaters: 400 }));
    for (const calls of [0, 3, 30, 300]) {
      let asked = 0;
      const plan = await solveByDecomposition(problem, {
        ...options,
        shouldStop: () => asked++ >= calls,
      });
      expect(plan.objectiveCents, `${calls}`).not.toBeNull();
      expect(checkPlan(problem, plan).violations).toEqual([]);
    }
  });

  test("a plan to start from is never made worse, and lines that are gone are ignored", async () => {
    const problem = problemOfArrays(aLargePlan({ heaters: 200 }));
    const best = await solveByDecomposition(problem, options);
    const again = await solveByDecomposition(problem, {
      ...options,
      start: [...best.assignments, { heater: "gone", option: "O0", period: "P0" }],
      shouldStop: () => true,
    });
    expect(again.objectiveCents).toBe(best.objectiveCents);
  });

  test("a cap that the budgets do not allow is proven and said in kilograms", async () => {
    const problem = problemOfArrays(aLargePlan({ heaters: 400, cap: 0.55 }));
    for (const solve of [solveByDecomposition, solveAutomatically]) {
      const plan = await solve(problem, options);
      expect(plan.status).toBe("infeasible");
      expect(plan.infeasibility.join()).toMatch(/no plan emits less than [\d,.]+ kg/);
    }
  });
});
