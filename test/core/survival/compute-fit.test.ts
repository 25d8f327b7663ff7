import { describe, expect, test } from "vitest";
import { createRandom } from "@/lib/core/stats/random";
import { computeSurvivalFit } from "@/lib/core/survival/compute-fit";

import { documentedExamples, expectDocumented } from "@/test/support/documented-examples";

type Observation = Record<string, unknown>;

const fitted = (observations: readonly Observation[], prior: "flat" | "published" = "flat") => {
  const outcome = computeSurvivalFit({ observations, prior });
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
};
const problemsOf = (observations: readonly Observation[], prior: "flat" | "published" = "flat") => {
  const outcome = computeSurvivalFit({ observations, prior });
  return outcome.ok ? [] : outcome.problems;
};
const three = [
  { exit: 7.2, event: true },
  { exit: 9.1, event: true },
  { exit: 12.4, event: false },
];

/** Lifetimes drawn from a known law, half of them watched from a later age, some to a bracket. */
function simulate(count: number): readonly Observation[] {
  const random = createRandom(11);
  const observations: Observation[] = [];
  while (observations.length < count) {
    const hardness = random.nextUniform() * 3;
    const rate = Math.exp(0.2 * hardness);
    const life = (14 * (-Math.log(1 - random.nextUniform())) ** (1 / 2.5)) / rate;
    const entry = random.nextUniform() < 0.5 ? 0 : 8 * random.nextUniform();
    const end = entry + 12 * random.nextUniform();
    if (life <= entry) continue;
    const x = { hardness };
    if (life > end) observations.push({ entry, exit: end, event: false, x });
    else if (observations.length % 3 > 0) observations.push({ entry, exit: life, event: true, x });
    else
      observations.push({
        entry,
        exitRange: [Math.max(entry, life - 1), life + 1],
        event: true,
        x,
      });
  }
  return observations;
}

describe("computeSurvivalFit", () => {
  // Tolerance: four of the fit's own standard errors, at a fixed seed.
  test("recovers a known law from lifetimes that enter late, leave early or fail in a bracket", () => {
    const { shape, scale, coefficients, standardErrors } = fitted(simulate(4_000));
    expect(Math.abs(Math.log(shape / 2.5))).toBeLessThan(4 * standardErrors.logShape);
    expect(Math.abs(Math.log(scale / 14))).toBeLessThan(4 * standardErrors.logScale);
    expect(Math.abs(coefficients.hardness - 0.2)).toBeLessThan(
      4 * standardErrors.coefficients.hardness,
    );
    expect(standardErrors.logShape).toBeLessThan(0.05);
  });

  test("ignoring late entry would flatter: the fit without it gives a longer life", () => {
    const observations = simulate(4_000);
    const careless = fitted(observations.map(({ entry, ...rest }) => rest));
    expect(careless.scale).toBeGreaterThan(fitted(observations).scale);
  });

  test("does not depend on the order of the observations or the unit of a covariate", () => {
    const observations = simulate(300);
    const forward = fitted(observations);
    const backward = fitted([...observations].reverse());
    expect(backward.shape).toBeCloseTo(forward.shape, 10);
    const scaled = fitted(
      observations.map((o) => ({
        ...o,
        x: { hardness: (o.x as { hardness: number }).hardness * 1000 },
      })),
    );
    expect(scaled.coefficients.hardness * 1000).toBeCloseTo(forward.coefficients.hardness, 9);
    expect(scaled.logLikelihood).toBeCloseTo(forward.logLikelihood, 8);
  });

  test("the published prior answers where nothing has failed yet, and says so by its spread", () => {
    const alive = Array.from({ length: 40 }, (_, i) => ({ exit: 5 + i / 4, event: false }));
    const { scale, standardErrors, converged, kaplanMeier } = fitted(alive, "published");
    expect(converged).toBe(true);
    expect(kaplanMeier).toEqual([]);
    expect(scale).toBeGreaterThan(14.65); // 40 that lived pull the prior's scale up
    expect(standardErrors.logScale).toBeGreaterThan(0.05);
  });

  test("with much data the prior no longer matters", () => {
    const observations = simulate(4_000);
    const flat = fitted(observations);
    const prior = fitted(observations, "published");
    expect(prior.scale / flat.scale).toBeCloseTo(1, 1.5);
    expect(prior.logLikelihood).toBeLessThanOrEqual(flat.logLikelihood);
  });

  test("one alive from its first day adds nothing", () => {
    const more = fitted([...three, { entry: 0, exit: 0, event: false }]);
    expect(more.shape).toBeCloseTo(fitted(three).shape, 9);
  });
});

test("the documented example gives the documented answer", () => {
  const [input, answer] = documentedExamples("survival-fit");
  const outcome = computeSurvivalFit(input);
  expect(outcome.ok).toBe(true);
  if (outcome.ok) expectDocumented(answer, outcome.value);
});

describe("input that cannot be", () => {
  test.each([
    ["a negative age", { exit: -1, event: true }, "observations[1].exit", /zero or more, got -1/],
    [
      "an exit before the entry",
      { entry: 5, exit: 4, event: true },
      "observations[1].exit",
      /after the entry/,
    ],
    [
      "a failure on the day of entry",
      { entry: 5, exit: 5, event: true },
      "observations[1].exit",
      /after the entry/,
    ],
    ["no exit", { event: true }, "observations[1].exit", /either exit or exitRange/],
    ["both exits", { exit: 3, exitRange: [2, 4], event: true }, "observations[1].exit", /either/],
    [
      "a falling bracket",
      { exitRange: [4, 2], event: true },
      "observations[1].exitRange",
      /must rise/,
    ],
    [
      "a bracket for one alive",
      { exitRange: [2, 4], event: false },
      "observations[1].exitRange",
      /for a failure/,
    ],
    [
      "a failure at age 0",
      { exitRange: [0, 0], event: true },
      "observations[1].exitRange",
      /after the entry/,
    ],
    [
      "an unknown key",
      { exit: 3, event: true, weight: 2 },
      "observations[1].weight",
      /unknown key/,
    ],
    [
      "a covariate of one only",
      { exit: 3, event: true, x: { a: 1 } },
      "observations[1].x.a",
      /everywhere or nowhere/,
    ],
  ])("%s is named by its path", (_, observation, path, message) => {
    const problems = problemsOf([three[0], observation, three[1], three[2]]);
    expect(problems[0].path).toBe(path);
    expect(problems[0].message).toMatch(message);
  });

  test("every problem is reported, not only the first", () => {
    const problems = problemsOf([
      { entry: 5, exit: 4, event: true },
      { exit: 3, event: true },
      { entry: 9, exit: 1, event: true },
    ]);
    expect(problems.map(({ path }) => path)).toEqual([
      "observations[0].exit",
      "observations[2].exit",
    ]);
  });
});

describe("observations that cannot settle a parameter", () => {
  test("all still alive: named, with the way out", () => {
    const [problem] = problemsOf([three[2], three[2]]);
    expect(problem.message).toMatch(/none of the 2 lifetimes ended in a failure.*published prior/);
  });

  test("no observations", () => {
    expect(problemsOf([])[0].message).toMatch(/no observations/);
  });

  test("one failure: named, with the way out, and the published prior takes it", () => {
    const one = [three[0], three[2]];
    expect(problemsOf(one)[0].message).toMatch(/1 failure cannot tell.*published prior/);
    expect(problemsOf(one, "published")).toEqual([]);
  });

  test("failures at one age only", () => {
    const same = Array.from({ length: 5 }, () => ({ exit: 9, event: true }));
    expect(problemsOf(same)[0].message).toMatch(/same age/);
  });

  test("a covariate that never changes is named", () => {
    const observations = simulate(50).map((o) => ({ ...o, x: { hardness: 2 } }));
    expect(problemsOf(observations)[0]).toEqual({
      path: "x.hardness",
      message: expect.stringMatching(/"hardness" has the same value/),
    });
  });

  test("a covariate made of two others is named with both", () => {
    const random = createRandom(3);
    const observations = simulate(50).map(({ x, ...o }) => {
      const a = random.nextUniform();
      const b = random.nextUniform();
      return { ...o, x: { a, b, total: 3 * a - b + 1 } };
    });
    expect(problemsOf(observations)[0]).toEqual({
      path: "x.total",
      message: expect.stringMatching(/"total" can be worked out from "a" and "b"/),
    });
  });

  test("a covariate with all failures on one side is named", () => {
    const observations = simulate(200).map(({ x, ...o }, i) => ({
      ...o,
      x: { soft: o.event ? 0 : i % 2 },
    }));
    expect(problemsOf(observations)[0]).toEqual({
      path: "x.soft",
      message: expect.stringMatching(/no failures were seen on one side/),
    });
  });
});
