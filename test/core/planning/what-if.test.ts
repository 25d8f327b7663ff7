import { describe, expect, test } from "vitest";
import { type LineChange, withChange } from "@/lib/core/planning/change-plan";
import { checkPlan } from "@/lib/core/planning/check-plan";
import type { SolveOptions } from "@/lib/core/planning/problem";
import { solveAutomatically } from "@/lib/core/planning/solvers/auto";
import { solveExactly } from "@/lib/core/planning/solvers/exact";
import { priceChangeAtOnce } from "@/lib/core/planning/what-if";
import { aPlanProblem } from "@/test/support/a-plan-problem";
import { THREE_HEATERS as three } from "@/test/support/three-heaters";

const options: SolveOptions = { gap: 0, seconds: 20, seed: 1, elapsedSeconds: () => 0 };

describe("the price of a change at once", () => {
  test("is what the others lose by it, worked by hand", async () => {
    const plan = await solveAutomatically(three, options);
    expect(plan.objectiveCents).toBe(43_000);
    // H3 now and, of the others, one next year and one left: 10,000 + 15,000 + 23,000 either way.
    const pinned = priceChangeAtOnce(three, plan, {
      heater: "H3",
      pin: { option: "hp", period: "P1" },
    });
    expect(pinned.costCents).toBe(5_000);
    expect(checkPlan(three, pinned.solution).violations).toEqual([]);
    // H1 now, H3 next year, H2 left: 10,000 + 11,000 + 23,000.
    const forbidden = priceChangeAtOnce(three, plan, {
      heater: "H2",
      forbid: { option: "hp", period: "P2" },
    });
    expect(forbidden.costCents).toBe(1_000);
    expect(forbidden.moved.map(({ heater }) => heater)).toEqual(["H2", "H3"]);
  });

  test("of what is there already is nothing", async () => {
    const plan = await solveAutomatically(three, options);
    const same = priceChangeAtOnce(three, plan, {
      heater: "H1",
      pin: { option: "hp", period: "P1" },
    });
    expect(same).toMatchObject({ costCents: 0, moved: [] });
  });

  test("of what no limit allows is a reason", async () => {
    const plan = await solveAutomatically(three, options);
    const lock = { option: "hp", period: "P1" };
    const committed = {
      ...three,
      heaters: three.heaters.map((each, n) => (n === 0 ? { ...each, lock } : each)),
    };
    const price = priceChangeAtOnce(committed, plan, { heater: "H2", pin: lock });
    expect(price.solution.status).toBe("infeasible");
    expect(price.costCents).toBeNull();
    expect(price.solution.infeasibility).toEqual([
      "Y1: the 2 committed lines alone need $20 of $10.",
    ]);
  });

  test("brackets the exact optimum of the changed problem, and keeps every rule", async () => {
    let compared = 0;
    let close = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const problem = aPlanProblem({
        seed,
        heaters: 14,
        periods: 4,
        heatersPerBuilding: 4,
        options: 2,
        tightness: 0.6,
        crews: seed % 2 === 0,
        cap: seed % 3 === 0 ? 0.3 : null,
        carryOver: 0.5 * (seed % 2),
        lockShare: 0.05,
      });
      const plan = await solveAutomatically(problem, options);
      if (plan.objectiveCents === null) continue;
      for (const n of [0, 5, 9]) {
        const { id, choices, lock } = problem.heaters[n];
        const { option, period } = choices[(seed + n) % choices.length];
        if (lock !== null) continue;
        const change: LineChange =
          n === 5 ? { heater: id, forbid: "never" } : { heater: id, pin: { option, period } };
        const price = priceChangeAtOnce(problem, plan, change);
        const changed = withChange(problem, change);
        const exact = await solveExactly(changed, options);
        const at = `seed ${seed}, heater ${id}`;
        if (price.solution.status === "infeasible") expect(exact.status, at).toBe("infeasible");
        if (price.costCents === null || exact.objectiveCents === null) continue;
        const truth = exact.objectiveCents - plan.objectiveCents;
        const forgiven = 1e-6 * Math.abs(exact.objectiveCents);
        expect(price.costCents, at).toBeGreaterThanOrEqual(truth - forgiven);
        expect(price.leastCents ?? 0, at).toBeLessThanOrEqual(truth + forgiven);
        expect(checkPlan(changed, price.solution).violations, at).toEqual([]);
        compared++;
        if (price.costCents - truth <= 0.005 * exact.objectiveCents) close++;
      }
    }
    expect(compared).toBeGreaterThan(15);
    expect(close / compared).toBeGreaterThan(0.6);
  });
});
