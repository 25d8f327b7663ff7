import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  chanceAllMet,
  planSpares,
  poissonCdf,
  shareMetFromStock,
  sparesNeeded,
} from "@/lib/core/heaters/spares";

describe("the Poisson count of failures", () => {
  // A published table of the cumulative Poisson distribution (scribd.com document 96601458, its own
  // example: P(X ≤ 3) at a mean of 2 is 0.8571), as read there.
  test.each([
    [0, 0.5, 0.6065],
    [1, 0.5, 0.9098],
    [3, 1, 0.981],
    [3, 1.5, 0.9344],
    [3, 2, 0.8571],
    [4, 2, 0.9473],
    [6, 3, 0.9665],
    [8, 4.5, 0.9597],
    [5, 5, 0.616],
    [9, 5, 0.9682],
  ])("is at most %d with the table's probability at a mean of %f", (count, mean, probability) => {
    expect(poissonCdf(count, mean)).toBeCloseTo(probability, 4);
  });

  test("is nothing below zero and certain at a mean of zero", () => {
    expect(poissonCdf(-1, 2)).toBe(0);
    expect(poissonCdf(0, 0)).toBe(1);
  });

  test("stays a probability at a mean that underflows", () => {
    expect(poissonCdf(900, 900)).toBeGreaterThan(0.49);
    expect(poissonCdf(900, 900)).toBeLessThan(0.53);
  });
});

describe("the stock for a chance", () => {
  // Read off the same table: the first count that reaches the chance.
  test.each([
    [0.5, 0.9, 1],
    [1, 0.95, 3],
    [2, 0.95, 5],
    [2, 0.9, 4],
    [5, 0.95, 9],
    [5, 0.99, 11],
    [0, 0.99, 0],
  ])("at %f failures expected and a chance of %f is %d", (mean, level, stock) => {
    expect(sparesNeeded([mean], level)).toBe(stock);
  });

  test("grows when the model is in doubt, for the same mean", () => {
    expect(sparesNeeded([1, 3], 0.95)).toBeGreaterThanOrEqual(sparesNeeded([2], 0.95));
    expect(chanceAllMet(5, [1, 3])).toBeLessThan(chanceAllMet(5, [2]));
  });

  test("is the least that reaches the chance, never falls with the mean or the chance", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 40, noNaN: true }), { minLength: 1, maxLength: 5 }),
        fc.double({ min: 0, max: 0.999, noNaN: true }),
        (means, level) => {
          const stock = sparesNeeded(means, level);
          expect(chanceAllMet(stock, means)).toBeGreaterThanOrEqual(level);
          if (stock > 0) expect(chanceAllMet(stock - 1, means)).toBeLessThan(level);
          expect(
            sparesNeeded(
              means.map((mean) => mean + 1),
              level,
            ),
          ).toBeGreaterThanOrEqual(stock);
        },
      ),
    );
  });
});

describe("the share of failures met from stock", () => {
  // (S − 1, S) policy: P(D ≤ S − 1). At a mean of 2 and four in stock: 0.8571 of the same table.
  test("is the chance that fewer than the stock are on their way", () => {
    expect(shareMetFromStock(4, [2])).toBeCloseTo(0.8571, 4);
    expect(shareMetFromStock(0, [2])).toBe(0);
    expect(shareMetFromStock(0, [0])).toBe(1);
  });

  // Seeded runs of the policy itself: one ordered for each one used, a lead time of 1, failures as a
  // Poisson stream of rate 2, 200,000 failures; standard error of the share below 0.002.
  test("is what the policy gives when it is played through", () => {
    let state = 12_345;
    const uniform = () => {
      state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
      return (state + 0.5) / 4_294_967_296;
    };
    const stock = 4;
    let now = 0;
    let met = 0;
    const pending: number[] = [];
    const failures = 200_000;
    for (let n = 0; n < failures; n++) {
      now -= Math.log(uniform()) / 2;
      while ((pending[0] ?? Number.POSITIVE_INFINITY) <= now) pending.shift();
      if (pending.length < stock) met += 1;
      pending.push(now + 1);
    }
    expect(met / failures).toBeCloseTo(shareMetFromStock(stock, [2]), 2);
  });
});

describe("the stock by kind", () => {
  const many = (kind: string, count: number, failureProbability: number) =>
    Array.from({ length: count }, () => ({ kind, failureProbability }));

  test("adds the chances of each kind and lists the most expected first", () => {
    const spares = planSpares([...many("small", 10, 0.01), ...many("large", 100, 0.02)], {
      serviceLevel: 0.95,
      doubt: [1],
    });
    expect(spares.map(({ kind, heaters }) => [kind, heaters])).toEqual([
      ["large", 100],
      ["small", 10],
    ]);
    expect(spares[0]?.expected).toBeCloseTo(2, 10);
    expect(spares[0]?.stock).toBe(5);
    expect(spares[1]?.stock).toBe(1);
  });

  test("keeps nothing of what nobody would get", () => {
    expect(planSpares([], { serviceLevel: 0.95, doubt: [1] })).toEqual([]);
  });
});

describe("arguments outside their range are refused by name", () => {
  test.each([
    [() => poissonCdf(1, -1), /mean/],
    [() => sparesNeeded([1], 1), /serviceLevel/],
    [() => sparesNeeded([], 0.9), /means/],
    [
      () => planSpares([{ kind: "a", failureProbability: 2 }], { serviceLevel: 0.9, doubt: [1] }),
      /failureProbability/,
    ],
  ])("%#", (call, message) => {
    expect(call).toThrow(message);
  });
});
