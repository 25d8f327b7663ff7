import fc from "fast-check";
import { expect, test } from "vitest";
import type { Heater } from "@/lib/core/heaters/heater";
import { TASK_KINDS, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  addMonths,
  type CalendarDay,
  calendarDay,
  daysBetween,
  daysInMonth,
  isCalendarDay,
  monthOf,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import { forecastAnode } from "@/lib/core/upkeep/anode-forecast";
import { dueTasks, stateOf } from "@/lib/core/upkeep/due-tasks";
import { DEFAULT_UPKEEP_RULES, withIntervals } from "@/lib/core/upkeep/rules";
import { saturationIndex } from "@/lib/core/upkeep/saturation-index";
import { makeHeater } from "@/test/core/upkeep/make-heater";

const start = calendarDay("2000-01-01");
const days = fc.integer({ min: 0, max: 365 * 40 }).map((number) => addDays(start, number));
const answers = fc.constantFrom("yes", "no", "unknown" as const);

/** Leap days and month ends come up far more often than by chance. */
const awkwardDays = fc.oneof(
  days,
  fc.integer({ min: 2000, max: 2036 }).map((year) => addDays(calendarDay(`${year}-03-01`), -1)),
  fc
    .tuple(fc.integer({ min: 2000, max: 2036 }), fc.integer({ min: 1, max: 12 }))
    .map(([year, month]) =>
      calendarDay(`${year}-${String(month).padStart(2, "0")}-${daysInMonth(year, month)}`),
    ),
);

const heaters: fc.Arbitrary<Heater> = fc
  .record({
    technology: fc.constantFrom(...TECHNOLOGIES),
    installed: awkwardDays,
    bracketDays: fc.integer({ min: 0, max: 3000 }),
    hardness: fc.option(fc.integer({ min: 0, max: 500 })),
    softened: answers,
    expansionControl: answers,
    leakShutoff: answers,
    warrantyYears: fc.option(fc.constantFrom(6, 9, 12)),
    lastDone: fc.dictionary(fc.constantFrom(...TASK_KINDS), awkwardDays),
    spent: fc.boolean(),
  })
  .map(({ installed, bracketDays, hardness, softened, lastDone, spent, ...rest }) => {
    const done = lastDone as Heater["care"]["lastDone"];
    const inspected = done["anode-inspection"];
    return makeHeater({
      ...rest,
      install: {
        earliest: installed,
        latest: addDays(installed, bracketDays),
        evidence: "staff-estimate",
      },
      water: { ...makeHeater().water, hardnessMgPerLitre: hardness, softened },
      care: {
        flushDays: done.flush ? [done.flush] : [],
        anodeReplacementDays: done["anode-replacement"] ? [done["anode-replacement"]] : [],
        anodeInspection: inspected
          ? { day: inspected, state: spent ? "spent" : "protected" }
          : null,
        lastDone: done,
      },
    });
  });

test("a task done on any day, leap days and month ends included, comes back on the same day of the month or its last", () => {
  fc.assert(
    fc.property(awkwardDays, fc.integer({ min: 1, max: 60 }), (done, months) => {
      const rules = withIntervals(DEFAULT_UPKEEP_RULES, { "relief-valve-test": months });
      const heater = makeHeater();
      const due = dueTasks(
        { ...heater, care: { ...heater.care, lastDone: { "relief-valve-test": done } } },
        done,
        { rules },
      ).find((task) => task.task === "relief-valve-test");
      const dueOn = due?.dueOn as CalendarDay;

      expect(isCalendarDay(dueOn)).toBe(true);
      const monthsLater = yearOf(dueOn) * 12 + monthOf(dueOn) - (yearOf(done) * 12 + monthOf(done));
      expect(monthsLater).toBe(months);
      const lastOfMonth = daysInMonth(yearOf(dueOn), monthOf(dueOn));
      expect(Number(dueOn.slice(8))).toBe(Math.min(Number(done.slice(8)), lastOfMonth));
    }),
  );
});

test("every task of any heater has a day that exists, a state that fits it and an interval within bounds", () => {
  fc.assert(
    fc.property(heaters, awkwardDays, (heater, today) => {
      for (const due of dueTasks(heater, today)) {
        expect(isCalendarDay(due.dueOn)).toBe(true);
        if (due.state !== "leave-alone") expect(due.state).toBe(stateOf(due.dueOn, today));
        expect(due.intervalMonths).toBeGreaterThanOrEqual(0);
        expect(due.intervalMonths).toBeLessThanOrEqual(DEFAULT_UPKEEP_RULES.longestMonths);
        expect(due.neverDone).toBe(heater.care.lastDone[due.task] === undefined);
      }
    }),
  );
});

test("which day is today changes states, never due days", () => {
  fc.assert(
    fc.property(heaters, awkwardDays, awkwardDays, (heater, one, other) => {
      const dues = (today: CalendarDay) =>
        new Map(dueTasks(heater, today).map((due) => [due.task, due.dueOn]));
      expect(dues(one)).toEqual(dues(other));
    }),
  );
});

test("doing a flush again later never brings the next one forward", () => {
  fc.assert(
    fc.property(awkwardDays, fc.integer({ min: 0, max: 900 }), (done, later) => {
      const dueAfter = (day: CalendarDay) => {
        const heater = makeHeater();
        const care = { ...heater.care, flushDays: [day], lastDone: { flush: day } };
        return dueTasks({ ...heater, care }, day).find((due) => due.task === "flush")?.dueOn ?? "";
      };
      expect(dueAfter(addDays(done, later)) >= dueAfter(done)).toBe(true);
    }),
  );
});

test("harder water never makes flushes rarer", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 0, max: 500 }),
      fc.integer({ min: 0, max: 500 }),
      (hardness, more) => {
        const interval = (hardnessMgPerLitre: number) => {
          const heater = makeHeater();
          return dueTasks(
            { ...heater, water: { ...heater.water, hardnessMgPerLitre } },
            start,
          ).find((due) => due.task === "flush")?.intervalMonths as number;
        };
        expect(interval(hardness + more)).toBeLessThanOrEqual(interval(hardness));
      },
    ),
  );
});

test("an anode's chance of being spent grows with time, and its days come in order", () => {
  fc.assert(
    fc.property(
      awkwardDays,
      fc.integer({ min: 0, max: 4000 }),
      fc.double({ min: 1, max: 10, noNaN: true }),
      fc.integer({ min: 1, max: 4000 }),
      (fitted, bracketDays, medianYears, days) => {
        const terms = {
          fitted: { earliest: fitted, latest: addDays(fitted, bracketDays) },
          medianYears,
          logSpread: 0.45,
          inspections: [
            { day: addDays(fitted, 700), state: "protected", remainingFraction: null } as const,
          ],
        };
        const now = forecastAnode(terms, addMonths(fitted, 30));
        const then = forecastAnode(terms, addDays(addMonths(fitted, 30), days));
        expect(then.chanceSpentToday).toBeGreaterThanOrEqual(now.chanceSpentToday);
        expect(now.chanceSpentToday).toBeGreaterThanOrEqual(0);
        expect(then.chanceSpentToday).toBeLessThanOrEqual(1);
        expect(now.dueOn <= now.likelySpentOn).toBe(true);
        expect(daysBetween(fitted, now.dueOn)).toBeGreaterThanOrEqual(0);
        expect(then.dueOn).toBe(now.dueOn);
      },
    ),
    { numRuns: 60 },
  );
});

test("the saturation index rises with temperature, pH, calcium and alkalinity and falls with dissolved solids", () => {
  const water = fc.record({
    ph: fc.double({ min: 6, max: 9, noNaN: true }),
    dissolvedSolidsMgPerLitre: fc.double({ min: 10, max: 2000, noNaN: true }),
    calciumMgPerLitre: fc.double({ min: 1, max: 1000, noNaN: true }),
    alkalinityMgPerLitre: fc.double({ min: 1, max: 1000, noNaN: true }),
    temperatureF: fc.double({ min: 40, max: 180, noNaN: true }),
  });
  fc.assert(
    fc.property(water, (sample) => {
      const index = saturationIndex(sample).index;
      const with10 = (key: keyof typeof sample) =>
        saturationIndex({ ...sample, [key]: sample[key] * 1.1 }).index;
      expect(with10("temperatureF")).toBeGreaterThan(index);
      expect(with10("ph")).toBeGreaterThan(index);
      expect(with10("calciumMgPerLitre")).toBeGreaterThan(index);
      expect(with10("alkalinityMgPerLitre")).toBeGreaterThan(index);
      expect(with10("dissolvedSolidsMgPerLitre")).toBeLessThan(index);
    }),
  );
});
