import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { computeSimulate } from "@/lib/core/planning/simulation/compute-simulate";
import {
  buildFailureTables,
  drawFirstFailures,
  type FailureTables,
} from "@/lib/core/planning/simulation/failure-tables";
import { randomWords } from "@/lib/core/planning/simulation/random-words";

const chance = fc.oneof(
  fc.constant(0),
  fc.constant(1),
  fc.double({ min: 0, max: 1, noNaN: true }),
  fc.double({ min: 0, max: 1e-9, noNaN: true }),
);
const chances = fc.array(chance, { minLength: 1, maxLength: 40 });

/** The law that a heater's table holds, by going through its cells. */
function lawOf({ bits, cells, periods }: FailureTables): Float64Array {
  const size = 2 ** bits;
  const room = 2 ** 32 / size;
  const law = new Float64Array(size);
  for (let k = 0; k < size; k++) {
    const threshold = cells[k] >>> bits;
    law[k] += threshold;
    law[cells[k] & (size - 1)] += room - threshold;
  }
  return law.map((weight) => weight / 2 ** 32).subarray(0, periods + 1);
}

describe("drawn failures", () => {
  test("a table holds the law of the first failure to 2^-32, and impossible periods not at all", () => {
    fc.assert(
      fc.property(chances, (conditional) => {
        const law = lawOf(buildFailureTables(conditional, conditional.length));
        let alive = 1;
        conditional.forEach((p, t) => {
          expect(Math.abs(law[t] - alive * p)).toBeLessThanOrEqual(2 ** -31);
          if (alive * p === 0) expect(law[t]).toBe(0);
          alive *= 1 - p;
        });
        expect(Math.abs(law[conditional.length] - alive)).toBeLessThanOrEqual(2 ** -31);
        expect(law.reduce((sum, p) => sum + p, 0)).toBe(1);
      }),
    );
  });

  test("a heater that cannot fail never does, one that must fails in the first period", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 255 }), fc.nat(), (periods, seed) => {
        const out = new Uint8Array(2 * 64);
        const conditional = new Float64Array(2 * periods);
        conditional[periods] = 1;
        const tables = buildFailureTables(conditional, periods);
        drawFirstFailures(tables, 64, randomWords(seed), out);
        for (let trial = 0; trial < 64; trial++) {
          expect(out[2 * trial]).toBe(periods);
          expect(out[2 * trial + 1]).toBe(0);
        }
      }),
      { numRuns: 40 },
    );
  });

  test("more trials narrow the error of the mean", () => {
    const heaters = Array.from({ length: 20 }, (_, i) => ({
      id: `H${i}`,
      conditional: [0.1, 0.2, 0.3],
    }));
    const exact = 20 * (1 - 0.9 * 0.8 * 0.7);
    const rootMeanSquare = (trials: number) => {
      let sum = 0;
      for (let seed = 0; seed < 60; seed++) {
        const outcome = computeSimulate({ heaters, plan: {}, emergencyCents: 1, trials, seed });
        if (!outcome.ok) throw new Error("not simulated");
        sum += (outcome.value.total.emergencies.mean - exact) ** 2;
      }
      return Math.sqrt(sum / 60);
    };
    const [few, many] = [rootMeanSquare(50), rootMeanSquare(5_000)];
    // A hundred times the trials: a tenth of the error, give or take the luck of 60 seeds.
    expect(many / few).toBeGreaterThan(0.06);
    expect(many / few).toBeLessThan(0.17);
  });

  test("replacing every heater later never brings fewer emergencies in any percentile", () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(chance, { minLength: 4, maxLength: 4 }), { minLength: 1, maxLength: 8 }),
        fc.integer({ min: 1, max: 3 }),
        (fleet, period) => {
          const totalOf = (at: number) => {
            const outcome = computeSimulate({
              heaters: fleet.map((conditional, i) => ({ id: `H${i}`, conditional })),
              plan: {
                assignments: fleet.map((_, i) => ({ heater: `H${i}`, option: "x", period: at })),
              },
              emergencyCents: 1,
              trials: 40,
              seed: 4,
            });
            if (!outcome.ok) throw new Error("not simulated");
            return outcome.value.total.emergencies;
          };
          const [early, late] = [totalOf(period), totalOf(period + 1)];
          for (const key of ["mean", "p10", "p50", "p90"] as const) {
            expect(late[key]).toBeGreaterThanOrEqual(early[key]);
          }
        },
      ),
      { numRuns: 50 },
    );
  });
});
