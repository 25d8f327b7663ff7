import { describe, expect, test } from "vitest";
import type { PricedHeater } from "@/lib/core/planning/costing";
import { changeInWords, reasonInWords } from "@/lib/core/planning/plan-change-words";
import {
  type ComparedLine,
  type ComparedPlan,
  comparePlans,
  type HeaterEnd,
  totalChanges,
} from "@/lib/core/planning/plan-changes";
import type { ScenarioPeriod } from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const period = (id: string, start: string, end: string): ScenarioPeriod => ({
  id,
  budgetYear: id.slice(0, 4),
  start: calendarDay(start),
  end: calendarDay(end),
});
const Q1 = period("2027-Q1", "2027-01-01", "2027-04-01");
const Q2 = period("2027-Q2", "2027-04-01", "2027-07-01");
const NEXT_YEAR = period("2028", "2028-01-01", "2029-01-01");
const NEXT_Q1 = period("2028-Q1", "2028-01-01", "2028-04-01");
const NEXT_Q2 = period("2028-Q2", "2028-04-01", "2028-07-01");

const line = (
  option: string | null,
  of: ScenarioPeriod | null,
  changes: Partial<ComparedLine> = {},
): ComparedLine => ({
  heater: "h",
  option,
  period: of?.id ?? null,
  capitalCents: option === null ? 0 : 400_000,
  ...changes,
});

const plan = (
  lines: readonly ComparedLine[],
  { chance = 0.1, ...changes }: Partial<ComparedPlan> & { readonly chance?: number } = {},
): ComparedPlan => ({
  periods: [Q1, Q2, NEXT_YEAR],
  budgets: { "2027": { cents: 1_000_000 }, "2028": { cents: 1_000_000 } },
  chanceWithinYear: () => chance,
  lines,
  ...changes,
});

const NAMES = { hp: "Heat pump", gas: "Gas tank" };

/** Present-value cents by option and period. */
function aPrice(
  costs: readonly (readonly [option: string, period: string, cents: number])[],
  refused: PricedHeater["refused"] = [],
): PricedHeater {
  const parts = {} as PricedHeater["left"]["parts"];
  return {
    id: "h",
    building: "b",
    lock: null,
    never: { costCents: 900_000, kg: 0 },
    left: { costCents: 900_000, kg: 0, parts },
    refused,
    choices: costs.map(([option, id, costCents]) => ({
      option,
      period: id,
      costCents,
      capitalCents: 0,
      hours: 0,
      circuit: 0,
      kg: 0,
      parts,
      failsBefore: 0,
      unknownReadiness: [],
    })),
  };
}

const EVERYWHERE = aPrice(
  ["hp", "gas"].flatMap((option, index) =>
    [Q1, Q2, NEXT_YEAR, NEXT_Q1, NEXT_Q2].map(
      ({ id }) => [option, id, 500_000 - 100_000 * index] as const,
    ),
  ),
);

function told(
  before: ComparedPlan,
  after: ComparedPlan,
  {
    end,
    priced = EVERYWHERE,
  }: { readonly end?: HeaterEnd; readonly priced?: PricedHeater | null } = {},
): readonly string[] {
  return comparePlans(before, after, {
    ends: new Map(end ? [["h", end]] : []),
    priced: () => priced,
  }).map(
    (change) =>
      `${changeInWords(change, NAMES)} because ${change.reasons.map((each) => reasonInWords(each, NAMES)).join(" and ")}`,
  );
}

describe("which lines changed", () => {
  test("a line with the same option in the same days is kept, whatever its period is called now", () => {
    const later = plan([line("hp", NEXT_Q2)], { periods: [Q1, Q2, NEXT_Q1, NEXT_Q2] });

    expect(told(plan([line("hp", Q1)]), plan([line("hp", Q1)]))).toEqual([]);
    expect(told(plan([line("hp", NEXT_YEAR)]), later)).toEqual([]);
    expect(told(plan([line(null, null)]), plan([]))).toEqual([]);
  });

  test("a heater that is planned for the first time is a new line", () => {
    expect(told(plan([]), plan([line("hp", Q2)]))).toEqual([
      "new line: Heat pump in 2027 Q2 because the heater was not in the earlier plan",
    ]);
  });

  test("sums count each kind and the planned money before and after", () => {
    const changes = comparePlans(
      plan([
        line("hp", Q1, { heater: "a" }),
        line("hp", Q1, { heater: "b", capitalCents: 300_000 }),
      ]),
      plan([line("hp", Q2, { heater: "a", capitalCents: 410_000 })]),
      { ends: new Map(), priced: () => null },
    );

    expect(totalChanges(changes)).toEqual({
      changed: 2,
      byKind: { moved: 1, option: 0, "moved-and-option": 0, new: 0, left: 0, gone: 1 },
      beforeCents: 700_000,
      afterCents: 410_000,
    });
  });

  test("a line in a period that its plan does not have is refused", () => {
    expect(() => told(plan([line("hp", NEXT_Q2)]), plan([line("hp", Q1)]))).toThrow(/2028-Q2/);
  });
});

describe("why a line changed", () => {
  const before = plan([line("hp", Q1)]);

  test("its heater failed and was replaced, or went otherwise", () => {
    const end = { day: calendarDay("2026-12-20"), wasEmergency: true, isReplaced: true };

    expect(told(before, plan([]), { end })).toEqual([
      "dropped; was 2027 Q1 because it failed and was replaced on 2026-12-20",
    ]);
    expect(
      told(before, plan([]), { end: { ...end, wasEmergency: false, isReplaced: false } }),
    ).toEqual(["dropped; was 2027 Q1 because it was taken out of service on 2026-12-20"]);
  });

  test("it was done, or given up by a person", () => {
    const doneDay = calendarDay("2027-01-09");

    expect(told(plan([line("hp", Q1, { doneDay })]), plan([]))).toEqual([
      "dropped; was 2027 Q1 because it was done on 2027-01-09",
    ]);
    expect(told(plan([line("hp", Q1, { isDropped: true })]), plan([line(null, null)]))).toEqual([
      "no longer replaced within the horizon; was 2027 Q1 because the line had been dropped by a person",
    ]);
  });

  test("the budget of the year it left is lower", () => {
    const after = plan([line("hp", NEXT_YEAR)], {
      budgets: { "2027": { cents: 600_000 }, "2028": { cents: 1_000_000 } },
    });

    expect(told(before, after)).toEqual([
      "moved from 2027 Q1 to 2028 because the budget of 2027 is lower: $6,000 instead of $10,000",
    ]);
  });

  test("a limit where there was none is a lower budget; a budget it did not leave is no reason", () => {
    const free = plan([line("hp", Q1)], { budgets: {} });

    expect(told(free, plan([line("hp", NEXT_YEAR)]))).toEqual([
      "moved from 2027 Q1 to 2028 because the budget of 2027 is lower: $10,000 instead of no limit",
    ]);
    expect(told(free, plan([line("hp", Q2)]))).toEqual([
      "moved from 2027 Q1 to 2027 Q2 because it costs no more at this heater and makes room for what saves more elsewhere, or keeps a limit",
    ]);
  });

  test("its option is refused at this heater, or no longer offered at all", () => {
    const after = plan([line("gas", Q1)]);
    const costs = [["gas", "2027-Q1", 1]] as const;

    expect(
      told(before, after, { priced: aPrice(costs, [{ option: "hp", reason: "no drain" }]) }),
    ).toEqual([
      "option changed from Heat pump to Gas tank, 2027 Q1 because Heat pump is no longer allowed here: no drain",
    ]);
    expect(told(before, after, { priced: aPrice(costs) })).toEqual([
      "option changed from Heat pump to Gas tank, 2027 Q1 because Heat pump is no longer allowed here",
    ]);
  });

  test("its option is still offered, but not in that period", () => {
    const priced = aPrice([["hp", "2027-Q2", 1]]);

    expect(told(before, plan([line("hp", Q2)]), { priced })).toEqual([
      "moved from 2027 Q1 to 2027 Q2 because Heat pump is not possible in 2027 Q1 any more",
    ]);
  });

  test("its chance of failing rose", () => {
    const late = plan([line("hp", NEXT_YEAR)], { chance: 0.051 });

    expect(told(late, plan([line("hp", Q1)], { chance: 0.204 }))).toEqual([
      "moved from 2028 to 2027 Q1 because its chance of failing within a year rose from 5.1 % to 20.4 %",
    ]);
  });

  test("its period has passed", () => {
    expect(told(before, plan([line("hp", Q2)], { periods: [Q2, NEXT_YEAR] }))).toEqual([
      "moved from 2027 Q1 to 2027 Q2 because 2027 Q1 has passed",
    ]);
  });

  test("where no input changed, the money at this heater says what the move does", () => {
    const priced = aPrice([
      ["hp", "2027-Q1", 500_000],
      ["gas", "2027-Q2", 350_000],
    ]);

    expect(told(before, plan([line("gas", Q2)]), { priced })).toEqual([
      "moved from 2027 Q1 to 2027 Q2, and from Heat pump to Gas tank because it saves $1,500 in present value at this heater",
    ]);
  });
});
