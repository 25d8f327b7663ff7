import { describe, expect, test } from "vitest";
import {
  brokenCommitments,
  LINE_ACTS,
  LINE_LIVES,
  type LivingLine,
  lockOfCommitment,
  stepLine,
} from "@/lib/core/planning/plan-life";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const today = calendarDay("2027-05-10");
const line = (changes: Partial<LivingLine> = {}): LivingLine => ({
  heaterId: "h1",
  tag: "A-101",
  optionCode: "hp240-50",
  life: "planned",
  version: 3,
  ...changes,
});
const step = (
  changes: Partial<LivingLine>,
  act: (typeof LINE_ACTS)[number],
  {
    day = "2027-05-09" as string | null,
    cents = 480_000 as number | null,
    readVersion = 3,
    standing = "in-force" as "draft" | "in-force" | "withdrawn",
  } = {},
) =>
  stepLine(standing, line(changes), act, {
    readVersion,
    actual: { day: day === null ? null : calendarDay(day), cents },
    today,
  });

describe("stepLine", () => {
  test("allows exactly the steps of a line's life", () => {
    const allowed = LINE_LIVES.flatMap((life) =>
      LINE_ACTS.flatMap((act) => {
        const stepped = step({ life }, act);
        return stepped.ok ? [`${life} ${act} ${stepped.value.life}`] : [];
      }),
    );

    expect(allowed).toEqual([
      "planned commit committed",
      "planned finish done",
      "planned drop dropped",
      "committed finish done",
      "committed drop dropped",
      "committed take-back planned",
      "done take-back planned",
      "dropped take-back planned",
    ]);
  });

  test("keeps day and cost of a finished line and clears them when it is taken back", () => {
    expect(step({}, "finish")).toEqual({
      ok: true,
      value: { life: "done", actualDay: "2027-05-09", actualCents: 480_000 },
    });
    expect(step({ life: "done" }, "take-back")).toEqual({
      ok: true,
      value: { life: "planned", actualDay: null, actualCents: null },
    });
  });

  test("takes a finished line whose bill has not come", () => {
    expect(step({}, "finish", { cents: null }).ok).toBe(true);
  });

  test("asks for the day, and refuses one to come and a cost below zero together", () => {
    expect(step({}, "finish", { day: null })).toMatchObject({
      problems: [{ path: "day", message: expect.stringContaining("A-101") }],
    });
    expect(step({}, "finish", { day: "2027-05-10" }).ok).toBe(true);
    expect(step({}, "finish", { day: "2027-05-11", cents: -1 })).toMatchObject({
      problems: [{ path: "day" }, { path: "cost" }],
    });
  });

  test("refuses a draft, a withdrawn plan, a heater that stays and a line changed meanwhile", () => {
    expect(step({}, "commit", { standing: "draft" }).ok).toBe(false);
    expect(step({}, "commit", { standing: "withdrawn" }).ok).toBe(false);
    expect(step({ optionCode: null }, "commit").ok).toBe(false);
    expect(step({}, "commit", { readVersion: 2 })).toMatchObject({
      problems: [{ message: expect.stringContaining("meanwhile") }],
    });
  });
});

describe("lockOfCommitment", () => {
  const periods = [
    { id: "2027-Q3", start: "2027-07-01", end: "2027-10-01" },
    { id: "2027-Q4", start: "2027-10-01", end: "2028-01-01" },
    { id: "2028", start: "2028-01-01", end: "2029-01-01" },
  ];
  const promised = (start: string) =>
    lockOfCommitment({ heaterId: "h1", optionCode: "hp240-50", start: calendarDay(start) }, periods)
      ?.period;

  test("finds the period that holds the promised day, whatever it is called now", () => {
    expect(promised("2027-10-01")).toBe("2027-Q4");
    expect(promised("2028-04-01")).toBe("2028");
  });

  test("puts an overdue one into the first period and lets one beyond the horizon be", () => {
    expect(promised("2027-01-01")).toBe("2027-Q3");
    expect(promised("2029-01-01")).toBeUndefined();
  });

  test("rejects a run without periods", () => {
    const commitment = { heaterId: "h1", optionCode: "x", start: today };
    expect(() => lockOfCommitment(commitment, [])).toThrow(/periods/);
  });
});

describe("brokenCommitments", () => {
  test("are those with another option, left, or without a line", () => {
    const commitments = ["a", "b", "c", "d"].map((heaterId) => ({ heaterId, optionCode: "hp" }));
    const lines = [
      { heaterId: "a", optionCode: "hp" },
      { heaterId: "b", optionCode: "tank" },
      { heaterId: "c", optionCode: null },
    ];

    expect(brokenCommitments(commitments, lines).map(({ heaterId }) => heaterId)).toEqual([
      "b",
      "c",
      "d",
    ]);
  });
});
