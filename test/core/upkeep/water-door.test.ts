import { describe, expect, test } from "vitest";
import { computeWater, type WaterReport } from "@/lib/core/upkeep/water-door";
import { documentedExamples, expectDocumented } from "@/test/support/documented-examples";

const [example, answer] = documentedExamples("water");

function report(input: unknown): WaterReport {
  const outcome = computeWater(input);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}

test("the documented example gives the documented answer", () => {
  expectDocumented(answer, report(example));
  // The worked example of the index at 140 °F, computed from the formula.
  expect(report(example).saturation?.index).toBeCloseTo(-0.0985, 4);
});

test("hardness means the same in each unit", () => {
  // 10 gpg = 171.18 mg/L; 171.18 / 17.848 = 9.591 °dH.
  const grains = report({ hardness: { value: 10, unit: "gpg" } }).hardness;
  const german = report({ hardness: { value: 9.591, unit: "dH" } }).hardness;
  expect(grains?.mgPerLitre).toBeCloseTo(171.18, 2);
  expect(german?.mgPerLitre).toBeCloseTo(171.18, 1);
  expect(grains?.usgsClass).toBe("hard");
});

test("an analysis with gaps gives what it can and names what is missing", () => {
  const partial = report({ hardness: { value: 200, unit: "mg/L" }, ph: 7.4 });
  expect(partial.hardness?.usgsClass).toBe("very hard");
  expect(partial.saturation).toBeNull();
  expect(partial.missing).toEqual(["alkalinityMgPerLitre", "dissolvedSolidsMgPerLitre"]);
  expect(report({}).hardness).toBeNull();
});

test("water changes intervals: hard water halves flushes, a softener halves anodes", () => {
  expect(report({ hardness: { value: 200, unit: "mg/L" } }).intervalMonths.flush).toBe(6);
  expect(report({ softened: "yes" }).intervalMonths).toMatchObject({
    flush: 18,
    anodeInspection: 12,
    anodeMedianLife: 30,
  });
});

test("calcium, where it was measured, takes the place of hardness in the index", () => {
  const water = {
    hardness: { value: 150, unit: "mg/L" },
    ph: 7.5,
    alkalinityMgPerLitre: 34,
    dissolvedSolidsMgPerLitre: 320,
  };
  const assumed = report(water).saturation;
  const measured = report({ ...water, calciumMgPerLitre: 75 }).saturation;
  expect(assumed?.isCalciumAssumed).toBe(true);
  expect(measured?.isCalciumAssumed).toBe(false);
  // Half the calcium lowers the index by log10(2).
  expect((assumed?.index ?? 0) - (measured?.index ?? 0)).toBeCloseTo(Math.log10(2), 10);
});

describe("bad input is refused with where and what", () => {
  test.each([
    [{ hardnes: 1 }, "hardnes"],
    [{ hardness: { value: -1, unit: "mg/L" } }, "hardness.value"],
    [{ hardness: { value: 1, unit: "ppm" } }, "hardness.unit"],
    [{ ph: 15 }, "ph"],
    [{ alkalinityMgPerLitre: 0 }, "alkalinityMgPerLitre"],
    [{ tankTemperatureF: 300 }, "tankTemperatureF"],
    [{ softened: "maybe" }, "softened"],
    ["text", ""],
  ])("%j", (input, path) => {
    const outcome = computeWater(input);
    expect(outcome.ok ? [] : outcome.problems.map((problem) => problem.path)).toContain(path);
  });
});
