import { describe, expect, test } from "vitest";
import { computePlan } from "@/lib/core/planning/compute-plan";

/**
 * Knapsack problems are replacement plans without buildings' limits: an item is a heater, taking it is
 * a swap that saves its value, its weight is capital, the sack is the budget.
 */
type Item = { readonly value: number; readonly weight: number; readonly second?: number };

function sackInput({
  items,
  sacks,
  second,
  solver = "exact",
}: {
  readonly items: readonly Item[];
  readonly sacks: readonly number[];
  /** Limit of the second weight, as crew hours of the one period. */
  readonly second?: number;
  readonly solver?: string;
}) {
  return {
    periods: sacks.map((_, k) => ({ id: `sack${k}`, budgetYear: `sack${k}`, discount: 1 })),
    budgets: Object.fromEntries(sacks.map((cents, k) => [`sack${k}`, { cents }])),
    ...(second === undefined ? {} : { crewHours: { sack0: second } }),
    buildings: [{ id: "B", headroom: null, upgrade: null, mobilisationCents: 0 }],
    heaters: items.map((item, i) => ({
      id: `item${i + 1}`,
      building: "B",
      neverCost: 0,
      neverKg: 0,
      choices: sacks.map((_, k) => ({
        option: "take",
        period: `sack${k}`,
        cost: -item.value,
        capitalCents: item.weight,
        hours: item.second ?? 0,
        circuit: 0,
        kg: 0,
      })),
    })),
    solver,
    gap: 0,
    seconds: 30,
  };
}

async function bestValue(input: unknown): Promise<number> {
  const outcome = await computePlan(input);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  expect(outcome.value.status).toBe("optimal");
  return -(outcome.value.objective ?? 0);
}

// Sample data of ACM Algorithm 632 (Martello and Toth, TOMS 1985), from netlib's toms/632. The optima
// are computed: GLPK 5.0, CBC 2.10.8 and exhaustive search or dynamic programming agree on them.
const PROFITS = [92, 57, 49, 68, 60, 43, 67, 84, 87, 72];
const WEIGHTS = [23, 31, 29, 44, 53, 38, 63, 85, 89, 82];
const ACM_632 = PROFITS.map((value, i) => ({ value, weight: WEIGHTS[i] }));

describe.each(["exact", "auto"])("published knapsacks through the planner (%s)", (solver) => {
  test("the sample of Algorithm 632 with one sack of 165 is worth 309", async () => {
    const outcome = await computePlan(sackInput({ items: ACM_632, sacks: [165], solver }));
    if (!outcome.ok) throw new Error("refused");
    expect(outcome.value.objective).toBe(-309);
    const taken = outcome.value.assignments.flatMap((line) =>
      "never" in line ? [] : [line.heater],
    );
    expect(taken).toEqual(["item1", "item2", "item3", "item4", "item6"]);
  });

  test.each([
    [[70, 127], 333],
    [[50, 81, 120], 376],
    [[31, 37, 48, 152], 396],
  ])("the same items in sacks of %j are worth %d", async (sacks, optimum) => {
    expect(await bestValue(sackInput({ items: ACM_632, sacks, solver }))).toBe(optimum);
  });

  // Data of the multidimensional knapsack example of PySCIPOpt; the optimum is worked by hand.
  test("two limits at once: 7 of the first weight and 10,000 of the second are worth 42", async () => {
    const items = [
      { value: 16, weight: 3_000, second: 2 },
      { value: 19, weight: 3_500, second: 3 },
      { value: 23, weight: 5_100, second: 4 },
      { value: 28, weight: 7_200, second: 5 },
    ];
    expect(await bestValue(sackInput({ items, sacks: [10_000], second: 7, solver }))).toBe(42);
  });

  // Invented data; the optima are computed: exhaustive search, GLPK 5.0 and CBC 2.10.8 agree.
  test.each([
    [5_000, 66],
    [9_000, 104],
    [12_000, 124],
  ])("one option per unit within a budget of %d is worth %d", async (budget, optimum) => {
    const units = [
      [
        [900, 14],
        [4_200, 33],
      ],
      [
        [1_100, 20],
        [3_600, 35],
      ],
      [
        [800, 9],
        [5_200, 47],
      ],
      [
        [1_000, 17],
        [3_900, 30],
      ],
      [
        [700, 6],
        [3_300, 26],
      ],
    ];
    const base = sackInput({ items: [], sacks: [budget], solver });
    const heaters = units.map((options, i) => ({
      id: `H${i + 1}`,
      building: "B",
      neverCost: 0,
      neverKg: 0,
      choices: options.map(([capitalCents, value], o) => ({
        option: `O${o + 1}`,
        period: "sack0",
        cost: -value,
        capitalCents,
        hours: 0,
        circuit: 0,
        kg: 0,
      })),
    }));
    expect(await bestValue({ ...base, heaters })).toBe(optimum);
  });
});
