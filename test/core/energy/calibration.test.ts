import { describe, expect, test } from "vitest";
import { calibrate } from "@/lib/core/energy/calibration";
import { createRandom } from "@/lib/core/stats/random";

describe("calibration to meters", () => {
  test("is the ratio of all that was metered to all that was modelled", () => {
    const periods = [
      { meteredUnits: 110, modelledUnits: 100 },
      { meteredUnits: 330, modelledUnits: 300 },
    ];
    expect(calibrate(periods).factor).toBeCloseTo(1.1, 12);
    expect(calibrate(periods).band90).toEqual([1.1, 1.1].map((x) => expect.closeTo(x, 9)));
  });

  // By hand: factor 1, residuals ±10, error sqrt(200 / (2 · 1)) / 100 = 0.1, Student's t 6.314 at one degree.
  test("has the ratio estimator's band", () => {
    const { factor, band90 } = calibrate([
      { meteredUnits: 110, modelledUnits: 100 },
      { meteredUnits: 90, modelledUnits: 100 },
    ]);
    expect(factor).toBe(1);
    expect(band90?.[0]).toBeCloseTo(1 - 0.6314, 9);
    expect(band90?.[1]).toBeCloseTo(1 + 0.6314, 9);
  });

  test("of one period has a factor and no band", () => {
    expect(calibrate([{ meteredUnits: 90, modelledUnits: 100 }])).toEqual({
      factor: 0.9,
      band90: null,
      periods: 1,
    });
  });

  // 2,000 properties of a known factor 1.2 and 20 % spread; the binomial error of 90 % is 0.7 %.
  test.each([4, 12, 40])("holds the true factor in nine of ten bands with %i periods", (count) => {
    const random = createRandom(7);
    let held = 0;
    for (let property = 0; property < 2000; property++) {
      const periods = Array.from({ length: count }, () => {
        const modelledUnits = 50 + 100 * random.nextUniform();
        const spread = 1 + 0.2 * random.nextNormal();
        return { modelledUnits, meteredUnits: Math.max(0, 1.2 * modelledUnits * spread) };
      });
      const band = calibrate(periods).band90 as readonly [number, number];
      if (band[0] <= 1.2 && 1.2 <= band[1]) held++;
    }
    expect(held / 2000).toBeGreaterThan(0.87);
    expect(held / 2000).toBeLessThan(0.93);
  });

  test("needs periods and a model that says something", () => {
    expect(() => calibrate([])).toThrow(/periods/);
    expect(() => calibrate([{ meteredUnits: 1, modelledUnits: 0 }])).toThrow(/modelledUnits/);
    expect(() => calibrate([{ meteredUnits: -1, modelledUnits: 1 }])).toThrow(/meteredUnits.*-1/);
  });
});
