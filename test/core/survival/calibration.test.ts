import { describe, expect, test } from "vitest";
import { createRandom } from "@/lib/core/stats/random";
import {
  calibrate,
  compareBrier,
  type Prediction,
  scorePredictions,
} from "@/lib/core/survival/calibration";

/** Outcomes drawn from chances, stated as `state` would. */
function draw(count: number, seed: number, state = (p: number) => p): readonly Prediction[] {
  const random = createRandom(seed);
  return Array.from({ length: count }, () => {
    const truth = 0.4 * random.nextUniform() ** 2;
    return { probability: state(truth), happened: random.nextUniform() < truth };
  });
}
/** Odds to the power `by`: above 1 bolder, below 1 more timid. */
const stretch = (by: number) => (p: number) => {
  const odds = (p / (1 - p)) ** by * (0.1 / 0.9) ** (1 - by);
  return odds / (1 + odds);
};

describe("scores", () => {
  // Worked by hand: (0.2² + 0.7²)/2 = 0.265 and −(ln 0.8 + ln 0.3)/2 = 0.713558.
  test("match an example worked by hand", () => {
    const scores = scorePredictions([
      { probability: 0.2, happened: false },
      { probability: 0.3, happened: true },
    ]);
    expect(scores.brier).toBeCloseTo(0.265, 12);
    expect(scores.logarithmic).toBeCloseTo(0.713558, 6);
  });

  test("a chance of 0 for what happened costs much, but not infinitely", () => {
    expect(scorePredictions([{ probability: 0, happened: true }]).logarithmic).toBeCloseTo(13.8, 1);
  });

  test("the true chances beat bolder and more timid ones", () => {
    const truth = draw(4_000, 1);
    for (const by of [0.3, 2.5]) {
      const other = draw(4_000, 1, stretch(by));
      expect(compareBrier(truth, other).difference).toBeLessThan(0);
    }
  });

  test("predictions must pair up to be compared", () => {
    expect(() => compareBrier(draw(3, 1), draw(2, 1))).toThrow(/pair up/);
  });
});

describe("calibrate", () => {
  test("true chances: the total fits, most groups agree, the slope is one", () => {
    const { expected, observed, expectedBand, groups, slope } = calibrate(draw(4_000, 2));
    expect(observed).toBeGreaterThanOrEqual(expectedBand.lower);
    expect(observed).toBeLessThanOrEqual(expectedBand.upper);
    expect(groups).toHaveLength(10);
    expect(groups.reduce((sum, group) => sum + group.expected, 0)).toBeCloseTo(expected, 9);
    expect(groups.reduce((sum, group) => sum + group.observed, 0)).toBe(observed);
    expect(groups.filter(({ agrees }) => agrees).length).toBeGreaterThanOrEqual(8);
    expect(Math.abs((slope?.value ?? 0) - 1)).toBeLessThan(3 * (slope?.standardError ?? 0));
  });

  test("bold chances have a slope below one, timid ones above", () => {
    const bold = calibrate(draw(4_000, 2, stretch(2))).slope;
    const timid = calibrate(draw(4_000, 2, stretch(0.5))).slope;
    expect(bold?.value).toBeCloseTo(0.5, 1);
    expect(timid?.value).toBeCloseTo(2, 0);
  });

  test("the highest tenth holds more than a tenth of the failures", () => {
    const { topTenthShare } = calibrate(draw(4_000, 2));
    expect(topTenthShare).toBeGreaterThan(0.2);
  });

  test("order does not matter", () => {
    const predictions = draw(500, 3);
    const { groups } = calibrate([...predictions].reverse());
    expect(groups).toEqual(calibrate(predictions).groups);
  });

  test("few heaters and no failures are taken", () => {
    const { groups, slope, topTenthShare } = calibrate([
      { probability: 0.1, happened: false },
      { probability: 0.2, happened: false },
    ]);
    expect(groups).toHaveLength(2);
    expect(slope).toBeNull();
    expect(topTenthShare).toBeNull();
  });

  test("no predictions are refused", () => {
    expect(() => calibrate([])).toThrow(/empty/);
  });
});
