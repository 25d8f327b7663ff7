import { describe, expect, test } from "vitest";
import type { Heater } from "@/lib/core/heaters/heater";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import { addMonths, type CalendarDay, calendarDay } from "@/lib/core/shared/calendar-day";
import { type DueTask, type DueTerms, dueTasks, stateOf } from "@/lib/core/upkeep/due-tasks";
import { DEFAULT_UPKEEP_RULES, withIntervals } from "@/lib/core/upkeep/rules";
import { makeHeater } from "./make-heater";

const today = calendarDay("2026-11-20");

function taskOf(heater: Heater, task: TaskKind, terms?: DueTerms): DueTask {
  const found = dueTasks(heater, today, terms).find((due) => due.task === task);
  if (!found) throw new Error(`${task} is not among the tasks`);
  return found;
}

function withCare(care: Partial<Heater["care"]>, changes: Partial<Heater> = {}): Heater {
  const heater = makeHeater(changes);
  return { ...heater, care: { ...heater.care, ...care } };
}

const flushedOn = (day: CalendarDay) => ({ flushDays: [day], lastDone: { flush: day } });
const water = (changes: Partial<Heater["water"]>) => ({
  water: { ...makeHeater().water, ...changes },
});

describe("which tasks a heater has", () => {
  const tasks = (heater: Heater) => dueTasks(heater, today).map((due) => due.task);

  test("a gas tank has its anode, burner and vent looked at, and no air filter", () => {
    expect(tasks(makeHeater())).toEqual(
      expect.arrayContaining(["flush", "anode-inspection", "burner-vent-check"]),
    );
    expect(tasks(makeHeater())).not.toContain("filter-condensate");
  });

  test("a heat pump has its filter cleaned and no burner", () => {
    const heatPump = makeHeater({ technology: "heat-pump-storage", fuel: "electricity" });
    expect(tasks(heatPump)).toContain("filter-condensate");
    expect(tasks(heatPump)).not.toContain("burner-vent-check");
  });

  test("a tankless heater has no anode, no straps and no tank's relief valve", () => {
    const tankless = tasks(makeHeater({ technology: "gas-instantaneous" }));
    expect(tankless).not.toContain("anode-inspection");
    expect(tankless).not.toContain("strap-check");
    expect(tankless).toContain("flush");
  });

  test("an expansion tank or a leak sensor is checked only where there is one", () => {
    expect(tasks(makeHeater())).not.toContain("expansion-tank-pressure");
    expect(tasks(makeHeater({ expansionControl: "yes" }))).toContain("expansion-tank-pressure");
    expect(tasks(makeHeater({ leakShutoff: "yes" }))).toContain("leak-sensor-test");
  });
});

describe("when a flush falls due", () => {
  const done = calendarDay("2026-06-30");

  // Yearly: IBHS guidance, as quoted by jwdavis.ca.
  test("a year after the last one in moderately hard water", () => {
    expect(taskOf(withCare(flushedOn(done)), "flush")).toMatchObject({
      dueOn: "2027-06-30",
      intervalMonths: 12,
      neverDone: false,
      state: "later",
    });
  });

  // Twice a year above 10 grains per gallon: common practice, no source. 10 gpg = 171.18 mg/L.
  test.each([
    [171, 12],
    [172, 6],
  ])("at %i mg/L every %i months", (hardnessMgPerLitre, months) => {
    const heater = withCare(flushedOn(done), water({ hardnessMgPerLitre }));
    expect(taskOf(heater, "flush").intervalMonths).toBe(months);
  });

  test("less often in soft or softened water, however hard the mains are", () => {
    const soft = withCare(flushedOn(done), water({ hardnessMgPerLitre: 40 }));
    const softened = withCare(flushedOn(done), water({ hardnessMgPerLitre: 300, softened: "yes" }));
    expect(taskOf(soft, "flush").intervalMonths).toBe(18);
    expect(taskOf(softened, "flush").intervalMonths).toBe(18);
  });

  test("sooner after heavy sediment, later after a clear flush", () => {
    const heater = withCare(flushedOn(done));
    const monthsAfter = (finding: "heavy-sediment" | "clear") =>
      taskOf(heater, "flush", { lastFindings: { flush: finding } }).intervalMonths;
    expect(monthsAfter("heavy-sediment")).toBe(6);
    expect(monthsAfter("clear")).toBe(18);
  });

  test("by the property's own interval where it has one", () => {
    const rules = withIntervals(DEFAULT_UPKEEP_RULES, { flush: 9 });
    expect(taskOf(withCare(flushedOn(done)), "flush", { rules }).dueOn).toBe("2027-03-30");
    expect(rules.intervalMonths.flush.evidence).toBe("entered");
  });

  test("from the middle of the install bracket when it was never done", () => {
    const heater = makeHeater({
      install: {
        earliest: calendarDay("2025-01-01"),
        latest: calendarDay("2025-12-31"),
        evidence: "staff-estimate",
      },
    });
    expect(taskOf(heater, "flush")).toMatchObject({ dueOn: "2026-07-02", neverDone: true });
    expect(taskOf(heater, "flush").why).toContain("between 2025-01-01 and 2025-12-31");
  });
});

describe("a tank that was never serviced", () => {
  const old = {
    install: {
      earliest: calendarDay("2016-01-10"),
      latest: calendarDay("2016-01-10"),
      evidence: "invoice",
    },
  } as const;

  // Common practice, no source: from 8 to 10 years on it is not flushed but replaced.
  test("is left alone when old, and the task says to replace it", () => {
    for (const task of ["flush", "anode-inspection", "anode-replacement"] as const) {
      const due = taskOf(makeHeater(old), task);
      expect(due.state).toBe("leave-alone");
      expect(due.why).toMatch(/[Pp]lan its replacement/);
    }
  });

  test("still has its other tasks, and those come first", () => {
    const tasks = dueTasks(makeHeater(old), today);
    expect(tasks.find((due) => due.task === "relief-valve-test")?.state).toBe("overdue");
    expect(tasks.slice(-3).every((due) => due.state === "leave-alone")).toBe(true);
  });

  test("is flushed as usual when it is young or was flushed before", () => {
    expect(taskOf(makeHeater(), "flush").state).toBe("overdue");
    expect(taskOf(withCare(flushedOn(calendarDay("2020-01-01")), old), "flush").state).toBe(
      "overdue",
    );
  });

  test("without a tank there is nothing to leave alone", () => {
    const tankless = makeHeater({ ...old, technology: "gas-instantaneous" });
    expect(taskOf(tankless, "flush").state).toBe("overdue");
  });
});

describe("the anode", () => {
  const inspected = (day: CalendarDay, state: "protected" | "spent"): Partial<Heater["care"]> => ({
    anodeInspection: { day, state },
    lastDone: { "anode-inspection": day },
  });

  // Every 2 years, yearly once the warranty has expired: IBHS guidance as reprinted by insurers.
  test("is looked at within two years, and within one when the warranty is over", () => {
    const day = calendarDay("2025-10-01");
    const longLife = withIntervals(DEFAULT_UPKEEP_RULES, { "anode-replacement": 120 });
    const during = withCare(inspected(day, "protected"), { warrantyYears: 12 });
    const after = withCare(inspected(day, "protected"), { warrantyYears: 3 });
    expect(taskOf(during, "anode-inspection", { rules: longLife }).dueOn).toBe("2027-10-01");
    expect(taskOf(after, "anode-inspection", { rules: longLife }).dueOn).toBe("2026-10-01");
  });

  test("is looked at on the day the warranty ends when the last look is more than a year old", () => {
    const longLife = withIntervals(DEFAULT_UPKEEP_RULES, { "anode-replacement": 120 });
    const heater = withCare(inspected(calendarDay("2026-09-01"), "protected"), {
      install: {
        earliest: calendarDay("2022-01-15"),
        latest: calendarDay("2022-01-15"),
        evidence: "invoice",
      },
      warrantyYears: 6,
    });
    expect(taskOf(heater, "anode-inspection", { rules: longLife }).dueOn).toBe("2028-01-15");
  });

  test("is looked at twice as often in softened water", () => {
    const day = calendarDay("2026-10-01");
    const heater = withCare(inspected(day, "protected"), water({ softened: "yes" }));
    expect(taskOf(heater, "anode-inspection").intervalMonths).toBe(12);
  });

  test("found spent is replaced at once, until a new one is on record", () => {
    const day = calendarDay("2026-08-01");
    const spent = withCare(inspected(day, "spent"));
    expect(taskOf(spent, "anode-replacement")).toMatchObject({ dueOn: day, state: "overdue" });

    const replaced = withCare({
      ...inspected(day, "spent"),
      anodeReplacementDays: [day],
      lastDone: { "anode-inspection": day, "anode-replacement": day },
    });
    expect(taskOf(replaced, "anode-replacement").dueOn > "2031-01-01").toBe(true);
    expect(taskOf(replaced, "anode-inspection").dueOn).toBe("2028-08-01");
  });
});

describe("findings that cannot wait", () => {
  test.each([
    ["relief-valve-test", "stuck"],
    ["burner-vent-check", "spillage"],
    ["combustion-safety", "fail"],
    ["setpoint-mixing-check", "scald-risk"],
    ["strap-check", "missing"],
  ] as const)("%s found %s is due from that day on and comes first", (task, finding) => {
    const day = calendarDay("2026-11-02");
    const due = taskOf(withCare({ lastDone: { [task]: day } }), task, {
      lastFindings: { [task]: finding },
    });
    expect(due).toMatchObject({ dueOn: day, intervalMonths: 0, state: "overdue" });
    expect(due.why).toMatch(/at once/);
    const [first] = dueTasks(withCare({ lastDone: { [task]: day } }), today, {
      lastFindings: { [task]: finding },
    });
    expect(first?.task).toBe(task);
  });
});

test("a day is overdue after it has passed, due in the 30 days before it, soon in the 90", () => {
  const state = (dueOn: string) => stateOf(calendarDay(dueOn), today);
  expect(state("2026-11-19")).toBe("overdue");
  expect(state("2026-11-20")).toBe("due");
  expect(state("2026-12-20")).toBe("due");
  expect(state("2026-12-21")).toBe("soon");
  expect(state("2027-02-18")).toBe("soon");
  expect(state("2027-02-19")).toBe("later");
});

test("tasks come soonest first and each says why", () => {
  const tasks = dueTasks(makeHeater(), today);
  expect(tasks.map((due) => due.dueOn)).toEqual(tasks.map((due) => due.dueOn).sort());
  for (const due of tasks) expect(due.why.length).toBeGreaterThan(20);
  expect(tasks[0]?.dueOn).toBe(addMonths(calendarDay("2022-03-15"), 12));
});

test.each([0, 1.5, 121, -3])("an own interval of %d months is refused", (months) => {
  expect(() => withIntervals(DEFAULT_UPKEEP_RULES, { flush: months })).toThrow(/flush.*months/);
});
