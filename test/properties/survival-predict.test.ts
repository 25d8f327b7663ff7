import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Heater } from "@/lib/core/heaters/heater";
import { ANSWERS, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  type CalendarDay,
  calendarDay,
  maxDay,
  minDay,
} from "@/lib/core/shared/calendar-day";
import { PRIOR_MODEL } from "@/lib/core/survival/model";
import { conditionalFailures, forecastFailure } from "@/lib/core/survival/predict";
import { explainRisk } from "@/lib/core/survival/reasons";
import { aHeater } from "@/test/support/a-heater";

const today = calendarDay("2026-06-01");
const daysAgo = fc.integer({ min: 0, max: 25_000 }).map((days) => addDays(today, -days));
const answer = fc.constantFrom(...ANSWERS);
const careDays = fc.array(daysAgo, { maxLength: 4 }).map((days) => days.sort());

const heaters: fc.Arbitrary<Heater> = fc
  .record({
    technology: fc.constantFrom(...TECHNOLOGIES),
    days: fc.tuple(daysAgo, daysAgo),
    setpointF: fc.option(fc.integer({ min: 90, max: 170 })),
    closedSystem: answer,
    expansionControl: answer,
    hardnessMgPerLitre: fc.option(fc.integer({ min: 0, max: 900 })),
    softened: answer,
    occupants: fc.option(fc.integer({ min: 0, max: 12 })),
    bedrooms: fc.option(fc.integer({ min: 0, max: 5 })),
    flushDays: careDays,
    anodeReplacementDays: careDays,
    inspection: fc.option(
      fc.record({ day: daysAgo, state: fc.constantFrom("unknown", "protected", "spent") }),
    ),
  })
  .map((given) => {
    const [a, b] = given.days;
    const plain = aHeater();
    return aHeater({
      technology: given.technology,
      install: { earliest: minDay(a, b), latest: maxDay(a, b), evidence: "none" },
      setpointF: given.setpointF,
      closedSystem: given.closedSystem,
      expansionControl: given.expansionControl,
      water: {
        ...plain.water,
        hardnessMgPerLitre: given.hardnessMgPerLitre,
        softened: given.softened,
      },
      home: { ...plain.home, occupants: given.occupants, bedrooms: given.bedrooms },
      care: {
        ...plain.care,
        flushDays: given.flushDays,
        anodeReplacementDays: given.anodeReplacementDays,
        anodeInspection: given.inspection as Heater["care"]["anodeInspection"],
      },
    });
  });
const years = fc.double({ min: 0, max: 40, noNaN: true });

const failureBy = (heater: Heater, horizon: number, day: CalendarDay = today): number =>
  forecastFailure(PRIOR_MODEL, heater, { today: day, horizonsYears: [horizon] })
    .failureProbabilities[0];

describe("a failure forecast", () => {
  test("never falls when the horizon grows, and stays between 0 and 1", () => {
    fc.assert(
      fc.property(heaters, years, years, (heater, near, more) => {
        const first = failureBy(heater, near);
        const second = failureBy(heater, near + more);
        expect(first).toBeGreaterThanOrEqual(0);
        expect(second).toBeLessThanOrEqual(1);
        expect(second).toBeGreaterThanOrEqual(first - 1e-14);
      }),
    );
  });

  test("never falls when the water is harder", () => {
    fc.assert(
      fc.property(heaters, fc.integer({ min: 0, max: 600 }), (heater, more) => {
        const known = heater.water.hardnessMgPerLitre ?? 100;
        // An exact install day: with a bracket, surviving harder water is itself news about age.
        const install = { ...heater.install, latest: heater.install.earliest };
        const at = (hardnessMgPerLitre: number) => ({
          ...heater,
          install,
          water: { ...heater.water, hardnessMgPerLitre },
        });
        expect(failureBy(at(known + more), 1)).toBeGreaterThanOrEqual(
          failureBy(at(known), 1) - 1e-14,
        );
      }),
    );
  });

  test("is the same whatever the heater is called", () => {
    fc.assert(
      fc.property(heaters, fc.string(), (heater, id) => {
        expect(failureBy({ ...heater, id, tag: id }, 1)).toBe(failureBy(heater, 1));
      }),
    );
  });

  test("survival through the periods is survival to the end", () => {
    fc.assert(
      fc.property(heaters, (heater) => {
        const ends = [1, 2, 5, 6, 10];
        const conditional = conditionalFailures(PRIOR_MODEL, heater, today, ends);
        const survived = conditional.reduce((product, p) => product * (1 - p), 1);
        expect(survived).toBeCloseTo(1 - failureBy(heater, 10), 11);
      }),
    );
  });

  test("reasons add up to the difference from an ordinary heater", () => {
    fc.assert(
      fc.property(heaters, (heater) => {
        const { baselineProbability, probability, factors } = explainRisk(
          PRIOR_MODEL,
          heater,
          today,
        );
        const sum = factors.reduce((total, { change }) => total + change, 0);
        expect(baselineProbability + sum).toBeCloseTo(probability, 12);
        expect(probability).toBeCloseTo(failureBy(heater, 1), 12);
        for (const { sentence } of factors) expect(sentence).not.toMatch(/NaN|undefined|null/);
      }),
    );
  });
});
