import { describe, expect, test } from "vitest";
import {
  computeSimulate,
  type SimulateOutput,
} from "@/lib/core/planning/simulation/compute-simulate";
import { createRandom } from "@/lib/core/stats/random";
import {
  documentedExamples,
  expectDocumented,
  withValueAt,
} from "@/test/support/documented-examples";

function simulate(input: unknown): SimulateOutput {
  const outcome = computeSimulate(input);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

/** Invented heaters with rising chances, every third of them replaced in a period of its own. */
function aFleet(heaters: number, periods: number, seed: number) {
  const random = createRandom(seed);
  const fleet = Array.from({ length: heaters }, (_, i) => ({
    id: `H${i}`,
    conditional: Array.from({ length: periods }, (_, t) =>
      Math.min(1, random.nextUniform() * 0.2 * (1 + t / 4)),
    ),
  }));
  const assignments = fleet
    .filter((_, i) => i % 3 === 0)
    .map(({ id }, k) => ({ heater: id, option: "hp240", period: 1 + (k % periods) }));
  return { fleet, assignments };
}

describe("simulate", () => {
  test("the documented example gives the documented answer", () => {
    const [example, answer] = documentedExamples("simulate");
    expectDocumented(answer, simulate(example));
  });

  test("mean emergencies of every period lie within 4 standard errors of the exact expectation", () => {
    const periods = 9;
    const { fleet, assignments } = aFleet(300, periods, 5);
    const trials = 10_000;
    const { periods: rows, total } = simulate({
      heaters: fleet,
      plan: { assignments },
      emergencyCents: 100,
      trials,
      seed: 3,
    });
    // Exact: a sum of independent yes-or-no outcomes has mean Σ f and variance Σ f (1 − f).
    const end = new Map(assignments.map(({ heater, period }) => [heater, period - 1]));
    let totalMean = 0;
    let totalVariance = 0;
    const mean = new Float64Array(periods);
    const variance = new Float64Array(periods);
    for (const { id, conditional } of fleet) {
      let alive = 1;
      for (let t = 0; t < (end.get(id) ?? periods); t++) {
        const fails = alive * conditional[t];
        alive -= fails;
        mean[t] += fails;
        variance[t] += fails * (1 - fails);
      }
      totalMean += 1 - alive;
      totalVariance += alive * (1 - alive);
    }
    for (let t = 0; t < periods; t++) {
      const error = Math.sqrt(variance[t] / trials);
      expect(Math.abs(rows[t].emergencies.mean - mean[t]), rows[t].period).toBeLessThan(4 * error);
      expect(rows[t].spendCents.mean).toBeCloseTo(100 * rows[t].emergencies.mean, 9);
    }
    expect(Math.abs(total.emergencies.mean - totalMean)).toBeLessThan(
      4 * Math.sqrt(totalVariance / trials),
    );
    // Normal approximation of a sum of 300: the 90th percentile is 1.2816 standard deviations up.
    expect(total.emergencies.p90).toBeCloseTo(totalMean + 1.2816 * Math.sqrt(totalVariance), -0.5);
  });

  test("one heater at even odds: the binomial law by hand", () => {
    // One period, two heaters that fail with chance 1/2: none, one, two in 1/4, 1/2, 1/4 of the trials.
    const { periods } = simulate({
      heaters: [
        { id: "A", conditional: [0.5] },
        { id: "B", conditional: [0.5] },
      ],
      plan: {},
      emergencyCents: 300_000,
    });
    const [{ emergencies, spendCents }] = periods;
    expect(emergencies).toMatchObject({ p10: 0, p50: 1, p90: 2 });
    expect(Math.abs(emergencies.mean - 1)).toBeLessThan(4 * Math.sqrt(0.5 / 10_000));
    expect(spendCents).toMatchObject({ p10: 0, p50: 300_000, p90: 600_000 });
  });

  test("the same seed gives the same bits, another seed others", () => {
    const { fleet, assignments } = aFleet(50, 6, 1);
    const input = { heaters: fleet, plan: { assignments }, emergencyCents: 1, trials: 500 };
    expect(simulate({ ...input, seed: 8 })).toEqual(simulate({ ...input, seed: 8 }));
    expect(simulate({ ...input, seed: 9 }).periods).not.toEqual(
      simulate({ ...input, seed: 8 }).periods,
    );
  });

  test("periods may be named, and the answer of plan may be put in whole", () => {
    const heaters = [{ id: "A", conditional: [1, 0] }];
    const plan = {
      status: "optimal",
      objective: 1,
      lowerBound: 1,
      gap: 0,
      seconds: 0.1,
      solver: "exact",
      assignments: [{ heater: "A", option: "hp240", period: "2028" }],
      upgrades: [],
      mobilisations: [],
      prices: {},
      infeasibility: [],
    };
    const input = { periods: ["2027", "2028"], heaters, plan, emergencyCents: 5, trials: 10 };
    const answer = simulate(input);
    expect(answer.periods.map(({ period }) => period)).toEqual(["2027", "2028"]);
    expect(answer.total.emergencies.mean).toBe(1);
    const atOnce = withValueAt(input, "plan.assignments.0.period", "2027");
    expect(simulate(atOnce).total.emergencies.mean).toBe(0);
  });

  test("what is wrong is named by its path", () => {
    const good = {
      periods: ["2027", "2028"],
      heaters: [{ id: "A", conditional: [0.1, 0.2] }],
      plan: { assignments: [{ heater: "A", option: "hp240", period: "2028" }] },
      emergencyCents: 100,
      trials: 10,
    };
    const pathOf = (path: string, value: unknown) => {
      const outcome = computeSimulate(withValueAt(good, path, value));
      return outcome.ok ? null : outcome.problems[0]?.path;
    };
    expect(computeSimulate(good).ok).toBe(true);
    expect(pathOf("heaters.0.conditional.1", 1.5)).toBe("heaters[0].conditional[1]");
    expect(pathOf("heaters.0.conditional.1", -0.1)).toBe("heaters[0].conditional[1]");
    expect(pathOf("heaters.0.conditional", [0.1])).toBe("heaters[0].conditional");
    expect(pathOf("heaters.0.age", 3)).toBe("heaters[0].age");
    expect(pathOf("plan.assignments.0.heater", "B")).toBe("plan.assignments[0].heater");
    expect(pathOf("plan.assignments.0.period", "2031")).toBe("plan.assignments[0].period");
    expect(pathOf("plan.assignments.0.period", 3)).toBe("plan.assignments[0].period");
    expect(pathOf("plan", undefined)).toBe("plan");
    expect(pathOf("emergencyCents", undefined)).toBe("emergencyCents");
    expect(pathOf("emergencyCents", -1)).toBe("emergencyCents");
    expect(pathOf("trials", 0)).toBe("trials");
    expect(pathOf("seed", 1.5)).toBe("seed");
    expect(pathOf("periods", ["2027", "2027"])).toBe("periods");
    expect(computeSimulate(null).ok).toBe(false);
    expect(computeSimulate([]).ok).toBe(false);
  });

  test("no heaters is a fleet without emergencies", () => {
    const answer = simulate({ periods: ["2027"], heaters: [], plan: {}, emergencyCents: 100 });
    expect(answer.periods[0].emergencies).toEqual({ mean: 0, p10: 0, p50: 0, p90: 0 });
  });
});
