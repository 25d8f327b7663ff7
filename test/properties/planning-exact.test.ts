import { describe, expect, test } from "vitest";
import { checkPlan } from "@/lib/core/planning/check-plan";
import type { PlanProblem } from "@/lib/core/planning/problem";
import { solveExactly } from "@/lib/core/planning/solvers/exact";
import { aPlanProblem } from "@/test/support/a-plan-problem";
import { planByBruteForce } from "@/test/support/brute-force-planner";

const options = { gap: 0, seconds: 30, seed: 1, elapsedSeconds: () => 0 };

/** Small enough for every combination to be tried. */
function smallProblem(seed: number): PlanProblem {
  return aPlanProblem({
    seed,
    heaters: 4 - (seed % 2),
    periods: 2 + (seed % 2),
    heatersPerBuilding: 2 + (seed % 2),
    options: 2,
    tightness: 0.5 + (seed % 5) * 0.2,
    crews: seed % 3 !== 0,
    cap: seed % 2 === 0 ? null : 0.3 + (seed % 3) * 0.2,
    carryOver: (seed % 3) * 0.5,
    lockShare: seed % 5 === 0 ? 0.3 : 0,
  });
}

describe("the exact solver", () => {
  test("finds the plan that trying every combination finds, or proves with it that there is none", async () => {
    const statuses = { optimal: 0, infeasible: 0 };
    for (let seed = 1; seed <= 40; seed++) {
      const problem = smallProblem(seed);
      const judge = planByBruteForce(problem);
      const solution = await solveExactly(problem, options);
      if (judge === null) {
        expect(solution.status, `seed ${seed}`).toBe("infeasible");
        expect(solution.infeasibility.length).toBeGreaterThan(0);
        statuses.infeasible++;
        continue;
      }
      expect(solution.status, `seed ${seed}`).toBe("optimal");
      const optimum = judge.check.objectiveCents;
      expect(Math.abs((solution.objectiveCents ?? 0) - optimum), `seed ${seed}`).toBeLessThan(
        1e-6 * Math.abs(optimum),
      );
      expect(solution.lowerBoundCents ?? 0).toBeLessThanOrEqual(optimum * (1 + 1e-9));
      const check = checkPlan(problem, solution);
      expect(check.violations).toEqual([]);
      expect(check.objectiveCents).toBe(solution.objectiveCents);
      statuses.optimal++;
    }
    expect(statuses.optimal).toBeGreaterThan(20);
    expect(statuses.infeasible).toBeGreaterThan(0);
  });
});
