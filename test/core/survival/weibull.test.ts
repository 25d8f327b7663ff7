import { describe, expect, test } from "vitest";
import {
  cumulativeHazard,
  failureProbability,
  lifetimeOfMean,
  meanLife,
  medianRemaining,
  survival,
} from "@/lib/core/survival/weibull";

describe("survival", () => {
  // Form of FUNCTION SVRTE, US EIA NEMS residential module (source/resd.f): S(y) = 1 before the
  // delay of 1 year, exp(−((y − 1)/13)²) after it. Values computed from the formula.
  test.each([
    [1, 1],
    [5, 0.90967],
    [10, 0.61922],
    [15, 0.31356],
    [20, 0.11812],
  ])("has the federal energy model's share in year %i", (year, expected) => {
    expect(survival({ shape: 2, scaleYears: 13 }, year - 1)).toBeCloseTo(expected, 5);
  });

  test("is e^-1 at the scale whatever the shape", () => {
    for (const shape of [0.5, 1, 2.5, 8]) {
      expect(survival({ shape, scaleYears: 14 }, 14)).toBeCloseTo(Math.exp(-1), 14);
    }
  });
});

// Computed from the formulas: scale = mean / Γ(1 + 1/shape), hazard = shape/scale · (12/scale)^(shape−1).
describe.each([
  [13, 2.5, 14.6518, 12.6538, 0.6806, 0.3463, 0.1258, 0.12647],
  [13, 3.0, 14.558, 12.8838, 0.7232, 0.3349, 0.141, 0.14002],
  [14.5, 2.5, 16.3424, 14.1138, 0.7461, 0.4461, 0.0973, 0.09626],
  [15, 2.5, 16.9059, 14.6005, 0.7641, 0.4764, 0.0898, 0.08843],
])(
  "a mean life of %f years and a shape of %f",
  (mean, shape, scale, median, s10, s15, p13, h12) => {
    const lifetime = lifetimeOfMean({ shape, meanYears: mean });

    test("has the computed scale, and the mean comes back", () => {
      expect(lifetime.scaleYears).toBeCloseTo(scale, 4);
      expect(meanLife(lifetime)).toBeCloseTo(mean, 12);
    });

    test("has the computed median and survival", () => {
      expect(medianRemaining(lifetime, 0)).toBeCloseTo(median, 4);
      expect(survival(lifetime, 10)).toBeCloseTo(s10, 4);
      expect(survival(lifetime, 15)).toBeCloseTo(s15, 4);
    });

    test("has the computed chance of failing in year 13 and hazard at 12", () => {
      const p = failureProbability(lifetime, { exposureYears: 12, addedYears: 1 });
      expect(p).toBeCloseTo(p13, 4);
      const slope =
        (cumulativeHazard(lifetime, 12.001) - cumulativeHazard(lifetime, 11.999)) / 0.002;
      expect(slope).toBeCloseTo(h12, 5);
    });
  },
);

describe("failureProbability", () => {
  // Closed form: 1 − exp(−(11³ − 10³) / 14³) = 0.1136353.
  test("matches the closed form for a 10-year-old heater over one year", () => {
    const lifetime = { shape: 3, scaleYears: 14 };
    expect(failureProbability(lifetime, { exposureYears: 10, addedYears: 1 })).toBeCloseTo(
      0.1136353,
      7,
    );
  });

  test("does not depend on age when the shape is 1", () => {
    const lifetime = { shape: 1, scaleYears: 13 };
    for (const exposureYears of [0, 5, 60]) {
      expect(failureProbability(lifetime, { exposureYears, addedYears: 1 })).toBeCloseTo(
        -Math.expm1(-1 / 13),
        13,
      );
    }
  });

  test("stays finite far beyond any recorded age", () => {
    const lifetime = { shape: 6, scaleYears: 10 };
    expect(failureProbability(lifetime, { exposureYears: 60, addedYears: 1 })).toBe(1);
    expect(survival(lifetime, 60)).toBe(0);
  });

  test("rejects a negative age and a shape of zero, and names them", () => {
    expect(() =>
      failureProbability({ shape: 3, scaleYears: 14 }, { exposureYears: -1, addedYears: 1 }),
    ).toThrow(/exposureYears.*-1/);
    expect(() =>
      failureProbability({ shape: 0, scaleYears: 14 }, { exposureYears: 1, addedYears: 1 }),
    ).toThrow(/shape.*0/);
  });
});

describe("medianRemaining", () => {
  test("is the time after which half of those alive have failed, at any age", () => {
    const lifetime = { shape: 2.5, scaleYears: 14.65 };
    for (const exposureYears of [0, 3, 12, 60]) {
      const addedYears = medianRemaining(lifetime, exposureYears);
      expect(failureProbability(lifetime, { exposureYears, addedYears })).toBeCloseTo(0.5, 12);
    }
  });
});
