import { describe, expect, test } from "vitest";
import { createRandom, createRandomFromState } from "@/lib/core/stats/random";

describe("createRandomFromState", () => {
  // Outputs of the authors' reference C program xoshiro128starstar.c 1.1 from state {1, 2, 3, 4}.
  test("gives the reference sequence of xoshiro128**", () => {
    const random = createRandomFromState([1, 2, 3, 4]);
    const outputs = Array.from({ length: 10 }, () => random.nextUint32());
    expect(outputs).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597,
      4258142804,
    ]);
  });

  test("refuses a state of zeros, which would stay zero", () => {
    expect(() => createRandomFromState([0, 0, 0, 0])).toThrow(/state/);
  });
});

describe("createRandom", () => {
  test("gives the same numbers for the same seed and others for the next seed", () => {
    const draw = (seed: number) => {
      const random = createRandom(seed);
      return Array.from({ length: 5 }, () => random.nextUniform());
    };
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  test("refuses a seed that is not whole and names it", () => {
    expect(() => createRandom(1.5)).toThrow(/seed.*1\.5/);
  });

  // Tolerance: four standard errors of the mean and of the variance of 100,000 draws.
  test("draws uniforms with mean 1/2 and variance 1/12, all in [0, 1)", () => {
    const random = createRandom(1);
    const draws = Array.from({ length: 100_000 }, () => random.nextUniform());
    const mean = draws.reduce((sum, u) => sum + u, 0) / draws.length;
    const variance = draws.reduce((sum, u) => sum + (u - mean) ** 2, 0) / draws.length;
    expect(draws.every((u) => u >= 0 && u < 1)).toBe(true);
    expect(Math.abs(mean - 0.5)).toBeLessThan(4 * Math.sqrt(1 / 12 / draws.length));
    expect(Math.abs(variance - 1 / 12)).toBeLessThan(4 * Math.sqrt(1 / 180 / draws.length));
  });

  test("draws normals with mean 0, variance 1 and 5 % beyond 1.96", () => {
    const random = createRandom(2);
    const draws = Array.from({ length: 100_000 }, () => random.nextNormal());
    const mean = draws.reduce((sum, z) => sum + z, 0) / draws.length;
    const variance = draws.reduce((sum, z) => sum + (z - mean) ** 2, 0) / draws.length;
    const beyond = draws.filter((z) => Math.abs(z) > 1.959964).length / draws.length;
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(draws.length));
    expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / draws.length));
    expect(Math.abs(beyond - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / draws.length));
  });
});
