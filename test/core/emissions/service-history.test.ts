import { describe, expect, test } from "vitest";
import { type HeaterLife, serviceHistory } from "@/lib/core/emissions/service-history";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";

const WINDOW = { from: calendarDay("2020-01-01"), to: calendarDay("2025-12-31") };

function aLife(
  id: string,
  installed: string | readonly [string, string],
  {
    retired = null,
    after = null,
    unitId = "home",
    builtYear = null,
  }: {
    readonly retired?: string | readonly [string, string] | null;
    readonly after?: string | null;
    readonly unitId?: string | null;
    readonly builtYear?: number | null;
  } = {},
): HeaterLife {
  const bracket = (days: string | readonly [string, string]) => {
    const [earliest, latest] = typeof days === "string" ? [days, days] : days;
    return { earliest: calendarDay(earliest), latest: calendarDay(latest) };
  };
  return {
    heater: aHeater({
      id,
      unitId,
      install: { ...bracket(installed), evidence: "invoice" },
    }),
    predecessorId: after,
    retired: retired === null ? null : bracket(retired),
    builtYear,
  };
}

const told = (lives: readonly HeaterLife[]) =>
  serviceHistory(lives, WINDOW).services.map(
    ({ heater, period, share, isFilled }) =>
      `${heater.id} ${period.from} ${period.to} ${share}${isFilled ? " filled" : ""}`,
  );

describe("who served when", () => {
  test("a heater in service serves to the end of the window", () => {
    expect(told([aLife("old", "2015-06-01")])).toEqual(["old 2020-01-01 2025-12-31 1"]);
  });

  test("a successor serves from its first day, its predecessor to the day before", () => {
    const lives = [
      aLife("old", "2010-01-01", { retired: "2023-05-10" }),
      aLife("new", "2023-05-10", { after: "old" }),
    ];
    expect(told(lives)).toEqual(["old 2020-01-01 2023-05-09 1", "new 2023-05-10 2025-12-31 1"]);
  });

  test("brackets of both are taken where they meet, in the middle of what they share", () => {
    const lives = [
      aLife("old", "2010-01-01", { retired: ["2022-01-01", "2022-12-31"] }),
      aLife("new", ["2022-07-01", "2023-07-01"], { after: "old" }),
    ];
    // Shared: 1 July to 31 December 2022, 184 days; 91 days on is 30 September.
    expect(told(lives)).toEqual(["old 2020-01-01 2022-09-29 1", "new 2022-09-30 2025-12-31 1"]);
    expect(serviceHistory(lives, WINDOW).vagueSwaps).toBe(1);
  });

  test("a known gap between two heaters stays a gap", () => {
    const lives = [
      aLife("old", "2010-01-01", { retired: "2022-01-10" }),
      aLife("new", "2022-03-01", { after: "old" }),
    ];
    expect(told(lives)).toEqual(["old 2020-01-01 2022-01-09 1", "new 2022-03-01 2025-12-31 1"]);
  });

  test("two heaters of one home share its water while both serve", () => {
    const lives = [
      aLife("first", "2012-01-01", { retired: "2024-07-01" }),
      aLife("second", "2012-01-01", { retired: "2024-07-01" }),
      aLife("heat pump", "2024-07-01", { after: "first" }),
    ];
    expect(told(lives)).toEqual([
      "first 2020-01-01 2024-06-30 0.5",
      "second 2020-01-01 2024-06-30 0.5",
      "heat pump 2024-07-01 2025-12-31 1",
    ]);
  });

  test("before the first heater on record the home had one like it, unless the house was not built", () => {
    expect(told([aLife("first known", "2022-04-01")])).toEqual([
      "first known 2020-01-01 2022-03-31 1 filled",
      "first known 2022-04-01 2025-12-31 1",
    ]);
    expect(told([aLife("first known", "2022-04-01", { builtYear: 2022 })])).toEqual([
      "first known 2022-01-01 2022-03-31 1 filled",
      "first known 2022-04-01 2025-12-31 1",
    ]);
  });

  test("a shared heater and its successors are one place, two shared heaters are two", () => {
    const lives = [
      aLife("a1", "2010-01-01", { unitId: null, retired: "2023-01-01" }),
      aLife("a2", "2023-01-01", { unitId: null, after: "a1" }),
      aLife("b", "2010-01-01", { unitId: null }),
    ];
    const slots = new Map(
      serviceHistory(lives, WINDOW).services.map(({ heater, slot }) => [heater.id, slot]),
    );
    expect(slots.get("a2")).toBe(slots.get("a1"));
    expect(slots.get("b")).not.toBe(slots.get("a1"));
  });
});
