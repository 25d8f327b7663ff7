import { describe, expect, test } from "vitest";
import {
  explainMove,
  movedLines,
  priceChange,
  replan,
  withChange,
} from "@/lib/core/planning/change-plan";
import { checkPlan } from "@/lib/core/planning/check-plan";
import { budgetFrontier } from "@/lib/core/planning/frontier";
import { describePrices } from "@/lib/core/planning/prices-in-words";
import type { SolveOptions } from "@/lib/core/planning/problem";
import { solveAutomatically } from "@/lib/core/planning/solvers/auto";
import { THREE_HEATERS as problem } from "@/test/support/three-heaters";

const options: SolveOptions = { gap: 0, seconds: 20, seed: 1, elapsedSeconds: () => 0 };

describe("the price of a change before it is made", () => {
  test("pinning the heater that waits best into the first year costs what the others lose by it", async () => {
    const plan = await solveAutomatically(problem, options);
    // H1 now, H2 next year, H3 left: 10,000 + 13,000 + 20,000 cents.
    expect(plan.objectiveCents).toBe(43_000);
    const price = await priceChange(
      problem,
      plan,
      { heater: "H3", pin: { option: "hp", period: "P1" } },
      solveAutomatically,
      options,
    );
    // H3 now and, of the others, one next year and one left: 10,000 + 15,000 + 23,000 either way.
    expect(price.costCents).toBe(5_000);
    expect(price.moved.map(({ heater }) => heater)).toContain("H3");
    expect(price.leastCents ?? 1).toBeLessThanOrEqual(price.costCents ?? 0);
  });

  test("forbidding the best line costs the next best", async () => {
    const plan = await solveAutomatically(problem, options);
    const price = await priceChange(
      problem,
      plan,
      { heater: "H2", forbid: { option: "hp", period: "P2" } },
      solveAutomatically,
      options,
    );
    // H1 now, H3 next year, H2 left: 10,000 + 11,000 + 23,000.
    expect(price.solution.objectiveCents).toBe(44_000);
    expect(price.costCents).toBe(1_000);
  });

  test("a line that does not exist cannot be pinned", () => {
    expect(() => withChange(problem, { heater: "H9", pin: "never" })).toThrow(/H9/);
    expect(() =>
      withChange(problem, { heater: "H1", pin: { option: "gas", period: "P1" } }),
    ).toThrow(/gas/);
  });
});

describe("replanning around an earlier plan", () => {
  const earlier = [
    { heater: "H1", option: "hp", period: "P2" },
    { heater: "H2", option: "hp", period: "P1" },
    { heater: "H3", never: true as const },
    { heater: "gone", option: "hp", period: "P1" },
  ];

  test("without a penalty it takes the best plan, with a large one it keeps every line", async () => {
    const free = await replan(problem, earlier, 0, solveAutomatically, options);
    const best = await solveAutomatically(problem, options);
    expect(free.solution.objectiveCents).toBe(best.objectiveCents);
    const kept = await replan(problem, earlier, 1_000_000, solveAutomatically, options);
    expect(kept.moved).toEqual([{ heater: "gone", before: earlier[3], after: null }]);
    expect(kept.penaltyCents).toBe(0);
    expect(kept.solution.assignments).toEqual(earlier.slice(0, 3));
  });

  test("the penalties in the objective are told apart from real money", async () => {
    const result = await replan(problem, earlier, 100, solveAutomatically, options);
    const check = checkPlan(problem, result.solution);
    expect((result.solution.objectiveCents ?? 0) - result.penaltyCents).toBeCloseTo(
      check.objectiveCents,
      6,
    );
  });

  test("each move is explained", () => {
    const [toNow] = movedLines(
      [{ heater: "H1", option: "hp", period: "P2" }],
      [{ heater: "H1", option: "hp", period: "P1" }],
    );
    expect(explainMove(problem, toNow)).toBe(
      "H1 moved from hp in P2 to hp in P1: it saves $50 at this heater.",
    );
    expect(explainMove(problem, { heater: "gone", before: earlier[3], after: null })).toMatch(
      /no longer there/,
    );
    const past = { heater: "H1", option: "hp", period: "P0" };
    expect(explainMove(problem, { ...toNow, before: past })).toMatch(/no longer possible/);
  });
});

describe("the budget frontier", () => {
  test("more money never costs more, and every point keeps its own budget", async () => {
    const points = await budgetFrontier(problem, [2, 0, 1], solveAutomatically, options);
    expect(points.map(({ factor }) => factor)).toEqual([0, 1, 2]);
    const costs = points.map(({ solution }) => solution.objectiveCents ?? Number.NaN);
    expect(costs).toEqual([68_000, 43_000, 31_000]);
    expect(points.map(({ spentCents }) => spentCents)).toEqual([0, 2_000, 3_000]);
  });

  test("a negative factor is refused", async () => {
    await expect(budgetFrontier(problem, [-1], solveAutomatically, options)).rejects.toThrow(/-1/);
  });
});

describe("prices in words", () => {
  test("name what binds, dearest first, and leave out what is worth nothing", () => {
    expect(
      describePrices({
        budget: { "2027": 0.3, "2028": 1.25, "2029": 0 },
        crew: { "2027-Q1": 4_200, "2027-Q2": 0.2 },
        emission: 12,
      }),
    ).toEqual([
      "One more dollar in the budget of 2028 would save $1.25 in present value, its own cost already counted.",
      "One more dollar in the budget of 2027 would save $0.30 in present value, its own cost already counted.",
      "One more crew hour in 2027-Q1 would save $42.00 in present value.",
      "One more tonne under the emission cap would save $120.00 in present value: that is what the last tonne avoided costs.",
    ]);
  });

  test("say so when nothing binds", () => {
    expect(describePrices({ budget: { "2027": 0 }, crew: {}, emission: null })).toEqual([
      "No limit binds: more money or more crew hours would not make the plan cheaper.",
    ]);
  });
});
