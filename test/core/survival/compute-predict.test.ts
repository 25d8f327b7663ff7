import { describe, expect, test } from "vitest";
import { computeSurvivalPredict } from "@/lib/core/survival/compute-predict";
import { documentedExamples, expectDocumented } from "@/test/support/documented-examples";

const input = {
  shape: 2.5,
  scale: 14.6518,
  coefficients: { hardness: 0.1 },
  heaters: [{ id: "a", ageYears: 12, x: { hardness: 0 } }],
  horizonYears: [1, 3],
};
const problemsOf = (changed: unknown) => {
  const outcome = computeSurvivalPredict(changed);
  return outcome.ok ? [] : outcome.problems;
};
const predictionOf = (given: unknown) => {
  const outcome = computeSurvivalPredict(given);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
};

describe("computeSurvivalPredict", () => {
  test("the documented example gives the documented answer", () => {
    const [example, answer] = documentedExamples("survival-predict");
    expectDocumented(answer, predictionOf(example));
  });

  // Computed from the formula: mean 13, shape 2.5 (scale 14.6518), alive at 12: 0.1258.
  test("gives the tabulated chance of failing in year 13", () => {
    const [heater] = predictionOf(input).heaters;
    expect(heater.failureProbability[0]).toBeCloseTo(0.1258, 4);
    expect(heater.failureProbability[1]).toBeGreaterThan(heater.failureProbability[0]);
  });

  test("a covariate multiplies the rate of wear: 12 years at e^0.1 are 13.26 years", () => {
    const [worn] = predictionOf({
      ...input,
      heaters: [{ id: "a", ageYears: 12, x: { hardness: 1 } }],
    }).heaters;
    const rate = Math.exp(0.1);
    const hazard = (years: number) => (years / 14.6518) ** 2.5;
    expect(worn.failureProbability[0]).toBeCloseTo(
      1 - Math.exp(hazard(12 * rate) - hazard(13 * rate)),
      12,
    );
  });

  test("an age range lies between its ends, and one of no width is an age", () => {
    const { heaters } = predictionOf({
      ...input,
      coefficients: {},
      heaters: [
        { id: "young", ageYears: 5 },
        { id: "range", ageRange: [5, 15] },
        { id: "old", ageYears: 15 },
        { id: "point", ageRange: [5, 5], x: {} },
      ],
    });
    const [young, range, old, point] = heaters;
    expect(range.failureProbability[0]).toBeGreaterThan(young.failureProbability[0]);
    expect(range.failureProbability[0]).toBeLessThan(old.failureProbability[0]);
    expect(range.medianRemainingYears).toBeLessThan(young.medianRemainingYears);
    expect(point.failureProbability).toEqual(young.failureProbability);
    expect(point.medianRemainingYears).toBe(young.medianRemainingYears);
  });

  test("a range from 0 to 60 years stays finite", () => {
    const [heater] = predictionOf({
      ...input,
      shape: 12,
      coefficients: {},
      heaters: [{ id: "a", ageRange: [30, 90] }],
    }).heaters;
    expect(Number.isFinite(heater.medianRemainingYears)).toBe(true);
    expect(heater.failureProbability[0]).toBeLessThanOrEqual(1);
  });

  test("unknown keys are an error that names them and where they are", () => {
    expect(problemsOf({ ...input, colour: "red" })).toEqual([
      { path: "colour", message: 'unknown key "colour"' },
    ]);
    expect(problemsOf({ ...input, heaters: [{ ...input.heaters[0], age: 3 }] })[0].path).toBe(
      "heaters[0].age",
    );
  });

  test("a negative age is named by its path", () => {
    const heaters = [...Array(3).fill(input.heaters[0]), { id: "d", ageYears: -1, x: {} }];
    expect(problemsOf({ ...input, heaters })[0].path).toBe("heaters[3].ageYears");
  });

  test("an age must be given once", () => {
    expect(problemsOf({ ...input, heaters: [{ id: "a", x: { hardness: 0 } }] })[0].message).toMatch(
      /either ageYears or ageRange/,
    );
    const both = { id: "a", ageYears: 3, ageRange: [1, 2], x: { hardness: 0 } };
    expect(problemsOf({ ...input, heaters: [both] })[0].message).toMatch(/either/);
    const falling = { id: "a", ageRange: [3, 2], x: { hardness: 0 } };
    expect(problemsOf({ ...input, heaters: [falling] })[0].message).toMatch(/must rise/);
  });

  test("covariates must match the coefficients on both sides", () => {
    expect(
      problemsOf({ ...input, heaters: [{ id: "a", ageYears: 3, x: { height: 1 } }] }).map(
        ({ path }) => path,
      ),
    ).toEqual(["heaters[0].x.height", "heaters[0].x.hardness"]);
  });
});
