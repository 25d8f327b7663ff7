import { expect, test } from "vitest";
import { decompose } from "@/lib/core/planning/solvers/decomposition";
import { inSharedMemory, threadTeam } from "@/lib/jobs/thread-team";
import { aLargePlan } from "@/test/support/a-large-plan";

test("a plan is the same to the bit for any number of threads", async () => {
  const arrays = aLargePlan({ heaters: 6_000, years: 8, cap: 0.85 });
  const shared = inSharedMemory(arrays);
  const results = [];
  for (const [threads, problem] of [
    [1, arrays],
    [2, shared],
    [3, arrays],
  ] as const) {
    results.push(
      await decompose(problem, {
        gap: 1e-3,
        seed: 3,
        shouldStop: () => false,
        teamFor: threadTeam(threads),
      }),
    );
  }
  const [alone, ...others] = results;
  expect(alone.chosen).not.toBeNull();
  for (const other of others) {
    expect(other.objectiveCents).toBe(alone.objectiveCents);
    expect(other.lowerBoundCents).toBe(alone.lowerBoundCents);
    expect(other.multipliers).toEqual(alone.multipliers);
    expect(other.chosen).toEqual(alone.chosen);
  }
});

test("a team has at least one member", () => {
  expect(() => threadTeam(0)).toThrow(/threads/);
  expect(() => threadTeam(1.5)).toThrow(/1.5/);
});

test("memory that is shared already is not copied again", () => {
  const shared = inSharedMemory(aLargePlan({ heaters: 50 }));
  expect(inSharedMemory(shared).cost).toBe(shared.cost);
});
