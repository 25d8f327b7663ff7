import { describe, expect, test } from "vitest";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { addDays, calendarDay } from "@/lib/core/shared/calendar-day";
import { arrangeWeek, type WeekStop } from "@/lib/core/upkeep/arrange-week";
import type { DueState, DueTask } from "@/lib/core/upkeep/due-tasks";
import { groupStops, type HeaterWork } from "@/lib/core/upkeep/group-stops";
import { orderStops, type Stop } from "@/lib/core/upkeep/order-stops";
import { forestLowerBound, pathLowerBound } from "@/lib/core/upkeep/path-bound";
import { travelMinutes } from "@/lib/core/upkeep/travel";
import { readOwnWorkTerms, resolveWorkTerms } from "@/lib/core/upkeep/work-terms";
import { makeHeater } from "./make-heater";

const travel = { doorToDoor: 1, perFloor: 0.5, betweenBuildings: 4 };
const terms = { travel, startMinute: 480 };
const stop = (id: string, floor: number | null, changes: Partial<Stop> = {}): Stop => ({
  id,
  door: { buildingId: "a", floor },
  workMinutes: 30,
  window: null,
  ...changes,
});

describe("the way between doors", () => {
  const door = (buildingId: string, floor: number | null) => ({ buildingId, floor });

  test("within a building it is the next door and the floors between", () => {
    expect(travelMinutes(door("a", 1), door("a", 1), travel)).toBe(1);
    expect(travelMinutes(door("a", 1), door("a", 4), travel)).toBe(2.5);
  });

  test("to another building it is down, across and up", () => {
    expect(travelMinutes(door("a", 3), door("b", 2), travel)).toBe(1 + 4 + 0.5 * (2 + 1));
  });

  test("a floor that is not known counts as the ground floor", () => {
    expect(travelMinutes(door("a", null), door("a", 3), travel)).toBe(2);
  });
});

describe("bounds", () => {
  // A star by hand: the middle is 1 from each of three ends, the ends 2 from each other. The cheapest
  // tree has length 3; the shortest path is end, middle, end, end: 1 + 1 + 2 = 4.
  const star = {
    count: 4,
    distances: Float64Array.from([0, 1, 1, 1, 1, 0, 2, 2, 1, 2, 0, 2, 1, 2, 2, 0]),
  };

  test("prices lift the bound from the cheapest tree to the shortest path of a star", () => {
    expect(pathLowerBound(star)).toBeGreaterThan(3.9);
    expect(pathLowerBound(star)).toBeLessThanOrEqual(4);
  });

  test("two paths together are at least the tree without its longest edge", () => {
    expect(forestLowerBound(star, 1)).toBe(3);
    expect(forestLowerBound(star, 2)).toBe(2);
    expect(forestLowerBound(star, 4)).toBe(0);
  });
});

describe("the order of stops", () => {
  test("floors are walked one after the other and the bound proves it", () => {
    const order = orderStops(
      [stop("four", 4), stop("one", 1), stop("three", 3), stop("two", 2)],
      terms,
    );
    const ids = order.stops.map(({ id }) => id);
    expect([ids, ids.toReversed()]).toContainEqual(["one", "two", "three", "four"]);
    expect(order.travelMinutes).toBe(3 + 1.5);
    expect(order.bound.travelMinutes).toBeCloseTo(4.5, 2);
    expect(order.finishMinutes).toBe(4 * 30 + 4.5);
  });

  test("a home that opens late is left for late, and the wait is told apart", () => {
    const late = stop("late", 1, { window: { fromMinute: 600, toMinute: 720 } });
    const order = orderStops([late, stop("any", 1)], terms);
    expect(order.stops.map(({ id, beginMinute }) => [id, beginMinute])).toEqual([
      ["any", 480],
      ["late", 600],
    ]);
    expect(order.waitMinutes).toBe(600 - 480 - 30 - 1);
    expect(order.bound.finishMinutes).toBe(150);
    expect(order.finishMinutes).toBe(150);
  });

  test("a home that closes early comes first although it is farther", () => {
    const early = stop("early", 9, { window: { fromMinute: 480, toMinute: 515 } });
    const order = orderStops([stop("any", 1), early], terms);
    expect(order.stops[0].id).toBe("early");
    expect(order.lateCount).toBe(0);
  });

  test("what cannot be in time is told, not hidden", () => {
    const order = orderStops(
      [stop("short", 1, { window: { fromMinute: 480, toMinute: 500 } })],
      terms,
    );
    expect(order.stops[0].lateMinutes).toBe(10);
    expect(order.lateCount).toBe(1);
  });

  test("no stops are an empty round, one stop is its own bound", () => {
    expect(orderStops([], terms)).toMatchObject({ stops: [], finishMinutes: 0, travelMinutes: 0 });
    expect(orderStops([stop("only", 2)], terms)).toMatchObject({
      finishMinutes: 30,
      bound: { finishMinutes: 30, travelMinutes: 0 },
    });
  });
});

describe("a week of rounds", () => {
  const monday = calendarDay("2026-11-02");
  const weekStop = (id: string, changes: Partial<WeekStop> = {}): WeekStop => ({
    ...stop(id, 1),
    weekdays: [],
    priority: 0,
    ...changes,
  });
  const week = { ...terms, dayMinutes: 70, days: [monday, addDays(monday, 1)] };

  test("homes that are open on one day only go on that day", () => {
    const { rounds } = arrangeWeek(
      [weekStop("any-1"), weekStop("any-2"), weekStop("tuesday", { weekdays: [2] })],
      week,
    );
    expect(rounds[1].order.stops.map(({ id }) => id)).toContain("tuesday");
  });

  test("a home that is never open in the week, or needs more than a day, is left over and says so", () => {
    const { leftOver, rounds } = arrangeWeek(
      [weekStop("sunday", { weekdays: [7] }), weekStop("long", { workMinutes: 71 })],
      week,
    );
    expect(rounds).toEqual([]);
    expect(leftOver).toEqual([
      { id: "sunday", reason: "not-on-these-days" },
      { id: "long", reason: "longer-than-a-day" },
    ]);
  });

  test("where not all fit, what matters most goes", () => {
    const stops = ["a", "b", "c", "d", "e", "f"].map((id, index) =>
      weekStop(id, { priority: index }),
    );
    const { rounds, leftOver, leastRounds } = arrangeWeek(stops, week);
    expect(rounds.flatMap(({ order }) => order.stops.map(({ id }) => id)).sort()).toEqual([
      "c",
      "d",
      "e",
      "f",
    ]);
    expect(leftOver).toEqual([
      { id: "a", reason: "no-room" },
      { id: "b", reason: "no-room" },
    ]);
    expect(leastRounds).toBe(2);
  });
});

describe("grouping by home", () => {
  const work = resolveWorkTerms(readOwnWorkTerms({}));
  const due = (task: DueTask["task"], state: DueState = "due", intervalMonths = 12): DueTask => ({
    task,
    state,
    dueOn: calendarDay("2026-11-02"),
    intervalMonths,
    why: "",
    neverDone: false,
    caution: null,
  });
  const group = (items: readonly HeaterWork[]) =>
    groupStops(items, {
      tasks: new Set(TASK_KINDS),
      states: new Set<DueState>(["overdue", "due"]),
      work,
    });

  test("all tasks of all heaters of a home are one stop, knocked at once", () => {
    const stops = group([
      {
        heater: makeHeater({ id: "h1", unitId: "u1" }),
        due: [due("flush", "overdue"), due("relief-valve-test")],
      },
      { heater: makeHeater({ id: "h2", unitId: "u1" }), due: [due("strap-check")] },
      { heater: makeHeater({ id: "h3", unitId: "u2" }), due: [due("flush", "later")] },
    ]);
    expect(stops).toHaveLength(1);
    expect(stops[0].tasks.map(({ heaterId, task }) => [heaterId, task])).toEqual([
      ["h1", "flush"],
      ["h1", "relief-valve-test"],
      ["h2", "strap-check"],
    ]);
    expect(stops[0].workMinutes).toBe(5 + 25 + 5 + 5);
    expect(stops[0].tasks.map(({ state }) => state)).toEqual(["overdue", "due", "due"]);
  });

  test("heaters without a home stand together by building and place", () => {
    const stops = group([
      {
        heater: makeHeater({ id: "h1", unitId: null, place: "mechanical-room" }),
        due: [due("flush")],
      },
      {
        heater: makeHeater({ id: "h2", unitId: null, place: "mechanical-room" }),
        due: [due("flush")],
      },
      { heater: makeHeater({ id: "h3", unitId: null, place: "roof" }), due: [due("flush")] },
    ]);
    expect(stops.map(({ label, tasks }) => [label, tasks.length])).toEqual([
      ["Mechanical room", 2],
      ["Roof", 1],
    ]);
  });

  test("an anode is inspected before it is replaced, unless it was found spent", () => {
    const heater = makeHeater();
    const tasksOf = (items: readonly DueTask[]) =>
      group([{ heater, due: items }])[0].tasks.map(({ task }) => task);
    expect(tasksOf([due("anode-inspection"), due("anode-replacement")])).toEqual([
      "anode-inspection",
    ]);
    expect(tasksOf([due("anode-inspection"), due("anode-replacement", "overdue", 0)])).toEqual([
      "anode-replacement",
    ]);
    expect(tasksOf([due("anode-inspection", "later"), due("anode-replacement")])).toEqual([
      "anode-replacement",
    ]);
  });

  test("a tank that is to be left alone is not put on a round", () => {
    expect(
      groupStops([{ heater: makeHeater(), due: [due("flush", "leave-alone")] }], {
        tasks: new Set(TASK_KINDS),
        states: new Set<DueState>(["leave-alone", "overdue"]),
        work,
      }),
    ).toEqual([]);
  });
});

describe("how the organisation works", () => {
  test("what is entered replaces what is assumed, value by value", () => {
    const work = resolveWorkTerms(
      readOwnWorkTerms({ taskMinutes: { flush: 40 }, entryMinutes: 0 }),
    );
    expect(work.taskMinutes.flush).toMatchObject({ value: 40, evidence: "entered" });
    expect(work.entryMinutes).toMatchObject({ value: 0, evidence: "entered" });
    expect(work.taskMinutes["relief-valve-test"].evidence).toBe("assumed");
  });

  test("what is stored and cannot be read counts as not entered", () => {
    expect(readOwnWorkTerms({ taskMinutes: { flush: -1 } })).toEqual(readOwnWorkTerms(null));
    expect(readOwnWorkTerms("nonsense")).toEqual({ taskMinutes: {}, taskPartsCents: {} });
  });
});
