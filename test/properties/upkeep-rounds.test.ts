import fc from "fast-check";
import { expect, test } from "vitest";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { arrangeWeek, isoWeekday, type WeekStop } from "@/lib/core/upkeep/arrange-week";
import { writeCalendar } from "@/lib/core/upkeep/calendar";
import { orderStops, type Stop, timeStops } from "@/lib/core/upkeep/order-stops";
import { distanceTable, pathLowerBound } from "@/lib/core/upkeep/path-bound";
import { type Door, type TravelTerms, travelMinutes } from "@/lib/core/upkeep/travel";
import { dateOf, parseICalendar, textOf } from "@/test/support/parse-icalendar";

const SEED = 20_261_102;
const travelTerms: fc.Arbitrary<TravelTerms> = fc.record({
  doorToDoor: fc.double({ min: 0, max: 10, noNaN: true }),
  perFloor: fc.double({ min: 0, max: 5, noNaN: true }),
  betweenBuildings: fc.double({ min: 0, max: 30, noNaN: true }),
});
const doors: fc.Arbitrary<Door> = fc.record({
  buildingId: fc.constantFrom("a", "b", "c"),
  floor: fc.option(fc.integer({ min: -2, max: 12 })),
});
const windows = fc.option(
  fc
    .tuple(fc.integer({ min: 480, max: 780 }), fc.integer({ min: 60, max: 300 }))
    .map(([fromMinute, length]) => ({ fromMinute, toMinute: fromMinute + length })),
);
const stopsOf = (most: number): fc.Arbitrary<readonly Stop[]> =>
  fc
    .array(
      fc.record({ door: doors, workMinutes: fc.integer({ min: 0, max: 60 }), window: windows }),
      {
        minLength: 1,
        maxLength: most,
      },
    )
    .map((stops) => stops.map((stop, index) => ({ ...stop, id: `stop-${index}` })));

test("the way between two doors is the same both ways and never shortened by a third door", () => {
  fc.assert(
    fc.property(travelTerms, doors, doors, doors, (terms, a, b, c) => {
      const direct = travelMinutes(a, c, terms);
      expect(direct).toBe(travelMinutes(c, a, terms));
      expect(direct).toBeLessThanOrEqual(
        travelMinutes(a, b, terms) + travelMinutes(b, c, terms) + 1e-9,
      );
    }),
    { seed: SEED },
  );
});

/** Every order of the stops, for a handful of them. */
function* orders<T>(items: readonly T[]): Generator<readonly T[]> {
  if (items.length === 0) yield [];
  for (let i = 0; i < items.length; i++) {
    for (const rest of orders([...items.slice(0, i), ...items.slice(i + 1)])) {
      yield [items[i], ...rest];
    }
  }
}

test("no order of the stops travels less or ends earlier than the bounds say", () => {
  fc.assert(
    fc.property(travelTerms, stopsOf(5), (travel, stops) => {
      const terms = { travel, startMinute: 480 };
      const { bound } = orderStops(stops, terms);
      const table = distanceTable(stops, (a, b) => travelMinutes(a.door, b.door, travel));
      const pathBound = pathLowerBound(table);
      let leastTravel = Number.POSITIVE_INFINITY;
      let leastFinish = Number.POSITIVE_INFINITY;
      for (const order of orders(stops)) {
        const timed = timeStops(order, terms);
        leastTravel = Math.min(leastTravel, timed.travelMinutes);
        leastFinish = Math.min(leastFinish, timed.finishMinutes);
      }
      expect(pathBound).toBeLessThanOrEqual(leastTravel + 1e-6);
      expect(bound.travelMinutes).toBeLessThanOrEqual(leastTravel + 1e-6);
      expect(bound.finishMinutes).toBeLessThanOrEqual(leastFinish + 1e-6);
    }),
    { seed: SEED, numRuns: 150 },
  );
});

test("the bound holds on any table of distances, also where a detour is shorter", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 2, max: 6 }).chain((count) =>
        fc.tuple(
          fc.constant(count),
          fc.array(fc.double({ min: 0, max: 100, noNaN: true }), {
            minLength: count * count,
            maxLength: count * count,
          }),
        ),
      ),
      ([count, values]) => {
        const points = Array.from({ length: count }, (_, index) => index);
        const table = distanceTable(points, (a, b) => values[a * count + b]);
        let least = Number.POSITIVE_INFINITY;
        for (const order of orders(points)) {
          let length = 0;
          for (let i = 1; i < count; i++)
            length += table.distances[order[i - 1] * count + order[i]];
          least = Math.min(least, length);
        }
        expect(pathLowerBound(table)).toBeLessThanOrEqual(least + 1e-6);
      },
    ),
    { seed: SEED, numRuns: 150 },
  );
});

test("every stop is in the order once, and the order found is no worse than the one given", () => {
  fc.assert(
    fc.property(travelTerms, stopsOf(14), (travel, stops) => {
      const terms = { travel, startMinute: 480 };
      const found = orderStops(stops, terms);
      expect(found.stops.map(({ id }) => id).sort()).toEqual(stops.map(({ id }) => id).sort());
      const late = (order: typeof found) =>
        order.stops.reduce((sum, { lateMinutes }) => sum + lateMinutes, 0);
      expect(late(found)).toBeLessThanOrEqual(late(timeStops(stops, terms)) + 1e-6);
    }),
    { seed: SEED, numRuns: 60 },
  );
});

const monday = calendarDay("2027-03-01");
const weekStops: fc.Arbitrary<readonly WeekStop[]> = fc
  .tuple(
    stopsOf(25),
    fc.array(fc.tuple(fc.subarray([1, 2, 3, 4, 5, 6, 7]), fc.integer({ min: 0, max: 5 })), {
      minLength: 25,
      maxLength: 25,
    }),
  )
  .map(([stops, more]) =>
    stops.map((stop, index) => ({
      ...stop,
      weekdays: more[index][0],
      priority: more[index][1],
    })),
  );

test("a week enters every home once or says why not, on days and at times at which it is open", () => {
  fc.assert(
    fc.property(weekStops, fc.integer({ min: 60, max: 480 }), (stops, dayMinutes) => {
      const week = arrangeWeek(stops, {
        travel: { doorToDoor: 1, perFloor: 0.5, betweenBuildings: 4 },
        startMinute: 480,
        dayMinutes,
        days: [0, 1, 2, 3, 4].map((day) => addDays(monday, day)),
      });
      const entered = week.rounds.flatMap(({ order }) => order.stops.map(({ id }) => id));
      const all = [...entered, ...week.leftOver.map(({ id }) => id)];
      expect(all.sort()).toEqual(stops.map(({ id }) => id).sort());
      expect(week.leastRounds).toBeLessThanOrEqual(week.rounds.length);
      for (const { day, order } of week.rounds) {
        expect(order.finishMinutes).toBeLessThanOrEqual(dayMinutes + 1e-6);
        expect(order.lateCount).toBe(0);
        for (const { id, beginMinute } of order.stops) {
          const stop = stops.find((one) => one.id === id);
          if (stop?.weekdays.length) expect(stop.weekdays).toContain(isoWeekday(day));
          if (stop?.window) {
            expect(beginMinute).toBeGreaterThanOrEqual(stop.window.fromMinute);
            expect(beginMinute + stop.workMinutes).toBeLessThanOrEqual(stop.window.toMinute + 1e-6);
          }
        }
      }
    }),
    { seed: SEED, numRuns: 80 },
  );
});

test("the day of the week is the one of ISO 8601 on any day", () => {
  fc.assert(
    fc.property(fc.integer({ min: -40_000, max: 40_000 }), (number) => {
      const day = addDays(monday, number);
      const byDate = new Date(`${day}T00:00:00Z`).getUTCDay();
      expect(isoWeekday(day)).toBe(byDate === 0 ? 7 : byDate);
    }),
    { seed: SEED },
  );
});

test("whatever stands in an event, an independent reader of the standard gets it back", () => {
  const words = fc.string({ unit: "grapheme", maxLength: 120 });
  fc.assert(
    fc.property(
      fc.array(
        fc.record({
          summary: words,
          description: words,
          location: fc.option(words),
          dayNumber: fc.integer({ min: 0, max: 20_000 }),
          sequence: fc.nat(1000),
        }),
        { maxLength: 6 },
      ),
      words,
      (events, name) => {
        const written = writeCalendar({
          name,
          events: events.map(({ dayNumber, ...rest }, index) => ({
            ...rest,
            uid: `uid-${index}`,
            day: addDays(calendarDay("1990-01-01"), dayNumber),
            status: "confirmed",
            changedAt: "2026-11-02T10:00:00Z",
            isBusy: index % 2 === 0,
          })),
        });
        const calendar = parseICalendar(new TextEncoder().encode(written));
        expect(calendar.components).toHaveLength(events.length);
        calendar.components.forEach((component, index) => {
          const { summary, dayNumber } = events[index];
          expect(textOf(component, "SUMMARY")).toBe(withoutControls(summary));
          expect(dateOf(component, "DTSTART")).toBe(addDays(calendarDay("1990-01-01"), dayNumber));
        });
      },
    ),
    { seed: SEED },
  );
});

/** What the standard has no way to write is left out, and every line end is one. */
function withoutControls(text: string): string {
  return (
    text
      .replace(/\r\n?/g, "\n")
      // biome-ignore lint/suspicious/noControlCharactersInRegex: the controls are the point
      .replace(/[\u0000-\u0008\u000b-\u001f\u007f]/g, "")
  );
}
