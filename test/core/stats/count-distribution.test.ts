import { describe, expect, test } from "vitest";
import { CountMoments, countCdf, countQuantile } from "@/lib/core/stats/count-distribution";

const momentsOf = (probabilities: readonly number[]): CountMoments => {
  const moments = new CountMoments();
  for (const probability of probabilities) moments.add(probability);
  return moments;
};

/** The distribution itself, outcome by outcome. */
function exactCdf(probabilities: readonly number[], count: number): number {
  let chances = [1];
  for (const p of probabilities) {
    chances = [...chances, 0].map(
      (chance, k) => chance * (1 - p) + (k > 0 ? chances[k - 1] * p : 0),
    );
  }
  return chances.slice(0, count + 1).reduce((sum, chance) => sum + chance, 0);
}

describe("countCdf", () => {
  test("is within one in a hundred of the exact distribution of unlike chances", () => {
    const few = Array.from({ length: 60 }, (_, i) => 0.02 + 0.001 * i);
    const many = Array.from({ length: 300 }, (_, i) => 0.01 + (0.6 * i) / 300);
    for (const probabilities of [few, many]) {
      const moments = momentsOf(probabilities);
      for (let count = 0; count <= 120; count += 3) {
        expect(Math.abs(countCdf(count, moments) - exactCdf(probabilities, count))).toBeLessThan(
          0.012,
        );
      }
    }
  });

  test("is zero below zero, and one for a count that cannot fall short", () => {
    expect(countCdf(-1, momentsOf([0.5]))).toBe(0);
    expect(countCdf(0, momentsOf([]))).toBe(1);
  });
});

describe("countQuantile", () => {
  // R: qbinom(c(0.05, 0.95), 400, 0.1258352) = 40 and 61.
  test("gives the binomial's quantiles", () => {
    const moments = momentsOf(Array.from({ length: 400 }, () => 0.1258352));
    expect(countQuantile([moments], 0.05)).toBe(40);
    expect(countQuantile([moments], 0.95)).toBe(61);
  });

  test("of two distributions lies between theirs", () => {
    const low = momentsOf(Array.from({ length: 400 }, () => 0.1));
    const high = momentsOf(Array.from({ length: 400 }, () => 0.2));
    expect(countQuantile([low, high], 0.95)).toBeGreaterThan(countQuantile([low], 0.95));
    expect(countQuantile([low, high], 0.95)).toBeLessThan(countQuantile([high], 0.95));
  });
});
