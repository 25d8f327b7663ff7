import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { kaplanMeier } from "@/lib/core/survival/kaplan-meier";
import { lifetimeColumns, type ObservedLifetime } from "@/lib/core/survival/lifetimes";
import { evaluateLikelihood } from "@/lib/core/survival/weibull-likelihood";

const lifetimes: fc.Arbitrary<ObservedLifetime> = fc
  .record({
    entry: fc.constantFrom(0, 0, 0.4, 3, 7),
    watched: fc.double({ min: 0.1, max: 20, noNaN: true }),
    bracket: fc.double({ min: 0.1, max: 5, noNaN: true }),
    outcome: fc.constantFrom("failed", "failed-within", "alive"),
    x: fc.tuple(fc.double({ min: -2, max: 2, noNaN: true }), fc.constantFrom(0, 1)),
  })
  .map(({ entry, watched, bracket, outcome, x }) => ({
    entry,
    lower: outcome === "failed-within" && bracket > 4 ? entry : entry + watched,
    upper: entry + watched + bracket,
    outcome: outcome as ObservedLifetime["outcome"],
    x,
  }));

const parameters = fc
  .tuple(
    fc.double({ min: 0.2, max: 1.3, noNaN: true }),
    fc.double({ min: 2, max: 3.2, noNaN: true }),
    fc.double({ min: -0.5, max: 0.5, noNaN: true }),
    fc.double({ min: -0.5, max: 0.5, noNaN: true }),
  )
  .map((values) => Float64Array.from(values));

const nudged = (point: Float64Array, i: number, by: number): Float64Array =>
  point.map((value, k) => (k === i ? value + by : value));

describe("the likelihood's derivatives", () => {
  test("equal finite differences: gradient of the value, curvature of the gradient", () => {
    fc.assert(
      fc.property(
        fc.array(lifetimes, { minLength: 1, maxLength: 8 }),
        parameters,
        (given, point) => {
          const columns = lifetimeColumns(["a", "b"], given);
          const at = (p: Float64Array) => evaluateLikelihood(columns, p);
          const { gradient, curvature } = at(point);
          const step = 1e-5;
          for (let i = 0; i < point.length; i++) {
            const up = at(nudged(point, i, step));
            const down = at(nudged(point, i, -step));
            const slope = (up.value - down.value) / (2 * step);
            const size = 1 + Math.abs(gradient[i]) + Math.abs(up.value);
            expect(Math.abs(slope - gradient[i]) / size).toBeLessThan(1e-6);
            for (let j = 0; j < point.length; j++) {
              const bend = -(up.gradient[j] - down.gradient[j]) / (2 * step);
              const entry = curvature.matrix[i * point.length + j];
              const scale = 1 + Math.abs(entry) + Math.abs(gradient[i]) + Math.abs(gradient[j]);
              expect(Math.abs(bend - entry) / scale).toBeLessThan(1e-5);
            }
          }
        },
      ),
      { numRuns: 300 },
    );
  });
});

describe("the Kaplan-Meier curve", () => {
  test("never rises, stays within 0 and 1 and does not depend on order", () => {
    const watched = fc.record({
      entry: fc.integer({ min: 0, max: 10 }),
      years: fc.integer({ min: 1, max: 20 }),
      failed: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(watched, { maxLength: 30 }), (given) => {
        const observed = given.map(({ entry, years, failed }) => ({
          entry,
          exit: entry + years,
          failed,
        }));
        const steps = kaplanMeier(observed);
        let before = 1;
        for (const { survival, atRisk, events } of steps) {
          expect(survival).toBeLessThanOrEqual(before);
          expect(survival).toBeGreaterThanOrEqual(0);
          expect(events).toBeLessThanOrEqual(atRisk);
          before = survival;
        }
        expect(kaplanMeier([...observed].reverse())).toEqual(steps);
      }),
    );
  });
});
