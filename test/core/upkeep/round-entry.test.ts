import { describe, expect, test } from "vitest";
import { HAZARDOUS_ACTS } from "@/lib/core/heaters/cautions";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import {
  clockTime,
  DEFAULT_NOTICE_WORDING,
  fillNotice,
  noticeSpan,
  noticeWordingSchema,
} from "@/lib/core/upkeep/entry-notice";
import { roundEntrySchema } from "@/lib/core/upkeep/round-entry";
import {
  URGENT_CAUTIONS,
  URGENT_FIRST,
  URGENT_KINDS,
  urgentMattersOf,
} from "@/lib/core/upkeep/urgent-matters";

describe("urgent matters", () => {
  const none = { named: [], tasks: [], tapF: null };

  test.each([
    ["relief-valve-test", "stuck", "relief-valve"],
    ["relief-valve-test", "weeps", "relief-valve"],
    ["burner-vent-check", "spillage", "flue-gas"],
    ["combustion-safety", "fail", "flue-gas"],
    ["setpoint-mixing-check", "scald-risk", "scald"],
  ] as const)("%s found %s raises %s by itself", (task, finding, kind) => {
    expect(urgentMattersOf({ ...none, tasks: [{ task, finding }] })).toEqual([kind]);
  });

  test("a sensor that fails, a dirty burner or a good valve raises nothing", () => {
    expect(
      urgentMattersOf({
        ...none,
        tasks: [
          { task: "leak-sensor-test", finding: "fails" },
          { task: "burner-vent-check", finding: "dirty" },
          { task: "relief-valve-test", finding: "works" },
        ],
      }),
    ).toEqual([]);
  });

  // 120 °F: scald limit recommended by the CPSC, as quoted.
  test("a tap scalds above 120 °F, not at it", () => {
    expect(urgentMattersOf({ ...none, tapF: 120 })).toEqual([]);
    expect(urgentMattersOf({ ...none, tapF: 120.5 })).toEqual(["scald"]);
  });

  test("each is raised once, gas first", () => {
    expect(
      urgentMattersOf({
        named: ["leak", "scald", "gas-smell"],
        tasks: [{ task: "setpoint-mixing-check", finding: "scald-risk" }],
        tapF: 140,
      }),
    ).toEqual(["gas-smell", "leak", "scald"]);
  });

  test("each has what to do first and a caution", () => {
    for (const kind of URGENT_KINDS) {
      expect(URGENT_FIRST[kind].length).toBeGreaterThan(20);
      expect(URGENT_CAUTIONS[kind].length).toBeGreaterThan(0);
      for (const act of URGENT_CAUTIONS[kind]) expect(HAZARDOUS_ACTS).toContain(act);
    }
  });
});

describe("an entry from a phone", () => {
  const schema = roundEntrySchema(calendarDay("2026-11-03"));
  const id = (digit: number) => `018f0000-0000-7000-8000-00000000000${digit}`;
  const entry = {
    key: id(1),
    roundId: id(2),
    stopId: id(3),
    outcome: "done",
    doneOn: "2026-11-03",
    heaters: [
      {
        heaterId: id(4),
        tasks: [{ task: "flush", finding: "clear" }],
        minutes: 25,
        tapF: 118,
        parts: [{ name: " Washer ", quantity: 2, costCents: 150 }],
        costCents: null,
        urgent: [],
        photos: 1,
        note: "  ",
      },
    ],
    note: null,
    keepBoth: false,
  };
  const problemsOf = (changes: object) => {
    const result = schema.safeParse({ ...entry, ...changes });
    return result.success ? [] : result.error.issues.map((issue) => issue.path.join("."));
  };

  test("a good one is read, with names trimmed and an empty note as none", () => {
    const parsed = schema.parse(entry);
    expect(parsed.heaters[0].parts[0].name).toBe("Washer");
    expect(parsed.heaters[0].note).toBeNull();
  });

  test("a finding of another task, a day too late, a key that is none and unknown keys are refused", () => {
    expect(problemsOf({ doneOn: "2026-11-04" })).toEqual(["doneOn"]);
    expect(problemsOf({ doneOn: "2026-02-30" })).toContain("doneOn");
    expect(problemsOf({ key: "1" })).toEqual(["key"]);
    expect(problemsOf({ extra: 1 })).toEqual([""]);
    const heater = { ...entry.heaters[0], tasks: [{ task: "flush", finding: "spent" }] };
    expect(problemsOf({ heaters: [heater] })).toEqual(["heaters.0.tasks.0.finding"]);
  });
});

describe("entry notices", () => {
  const values = {
    organization: "Owner",
    property: "Place",
    building: "Building 1",
    home: "4B",
    day: "November 3, 2026",
    from: "9:00 am",
    to: "11:00 am",
    tasks: "flush sediment",
    minutes: "30",
    person: "Lee",
  };

  test("every word of the wording is filled in", () => {
    const notice = fillNotice(DEFAULT_NOTICE_WORDING, values);
    expect(notice).toContain("home 4B, Building 1, Place");
    expect(notice).not.toMatch(/[{}]/);
  });

  test("braces in a value are left as they are, not filled in again", () => {
    expect(fillNotice("{home}", { ...values, home: "{day}" })).toBe("{day}");
  });

  test("a wording must name the home and the day, and no word that cannot be filled in", () => {
    expect(noticeWordingSchema.safeParse("Home {home}, {day}").success).toBe(true);
    const bad = noticeWordingSchema.safeParse("Dear {resident}, on {day}");
    expect(bad.success ? [] : bad.error.issues.map(({ message }) => message)).toEqual([
      expect.stringContaining("{resident}"),
      expect.stringContaining("{home}"),
    ]);
  });

  test("the times are an hour either side to the half hour, within the home's own window", () => {
    expect(noticeSpan(9 * 60 + 40, null)).toEqual({ fromMinute: 510, toMinute: 660 });
    expect(noticeSpan(600, { fromMinute: 590, toMinute: 640 })).toEqual({
      fromMinute: 590,
      toMinute: 640,
    });
  });

  test("times of the day read as people say them", () => {
    expect([0, 510, 719, 720, 780].map(clockTime)).toEqual([
      "12:00 am",
      "8:30 am",
      "11:59 am",
      "12:00 pm",
      "1:00 pm",
    ]);
  });
});
