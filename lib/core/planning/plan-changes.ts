import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { PricedHeater } from "./costing";
import type { ScenarioPeriod } from "./scenario";

/** A line of a plan as two plans are compared; a heater that is left has neither option nor period. */
export type ComparedLine = {
  readonly heater: string;
  readonly option: string | null;
  readonly period: string | null;
  readonly capitalCents: number;
  /** A person gave it up. */
  readonly isDropped?: boolean;
  /** The day on which it was marked done; null when it was not. */
  readonly doneDay?: CalendarDay | null;
};

export type ComparedPlan = {
  readonly periods: readonly ScenarioPeriod[];
  readonly budgets: Readonly<Record<string, { readonly cents: number }>>;
  readonly lines: readonly ComparedLine[];
  /** Chance, 0 to 1, that a heater fails within its first year of the plan; null when not known. */
  readonly chanceWithinYear: (heater: string) => number | null;
};

/** How a heater's service ended. */
export type HeaterEnd = {
  /** The last on which it can have been. */
  readonly day: CalendarDay;
  readonly wasEmergency: boolean;
  /** The record has the heater that took its place. */
  readonly isReplaced: boolean;
};

export type ChangeReason =
  | ({ readonly kind: "out-of-service" } & HeaterEnd)
  | { readonly kind: "done"; readonly day: CalendarDay }
  | { readonly kind: "given-up" }
  | { readonly kind: "not-planned-for" }
  | { readonly kind: "new-heater" }
  | { readonly kind: "period-passed"; readonly period: string }
  /** `why` is what costing says of this heater; null when the scenario does not offer the option. */
  | { readonly kind: "option-not-allowed"; readonly option: string; readonly why: string | null }
  | { readonly kind: "not-possible-then"; readonly option: string; readonly period: string }
  /** Null cents: no limit. */
  | {
      readonly kind: "budget";
      readonly year: string;
      readonly beforeCents: number | null;
      readonly afterCents: number | null;
    }
  | { readonly kind: "chance"; readonly before: number; readonly after: number }
  /** Present value at this heater alone; what it costs more makes room elsewhere or keeps a limit. */
  | { readonly kind: "cheaper"; readonly savesCents: number }
  | { readonly kind: "makes-room"; readonly costsCents: number };

export type PlanLineChange = {
  readonly heater: string;
  readonly kind: "moved" | "option" | "moved-and-option" | "new" | "left" | "gone";
  readonly before: ComparedLine | null;
  readonly after: ComparedLine | null;
  readonly reasons: readonly ChangeReason[];
};

/** A change of a heater's chance of failing below this, in share, is no reason for anything. */
export const NOTABLE_CHANCE = 0.01;

/**
 * Lines that differ between two plans, with what changed in their inputs. A line is kept when its option
 * is the same and its two periods share a day: a year that is now planned by quarters moves nothing.
 * Reasons are changes that bear on the line; only where there is none, what the move itself costs.
 *
 * @param ends of heaters that are no longer in service
 * @param priced a heater's choices by the later plan's inputs; null when it is not among them
 * @throws {RangeError} when a line names a period that its plan does not have
 */
export function comparePlans(
  before: ComparedPlan,
  after: ComparedPlan,
  {
    ends,
    priced,
  }: {
    readonly ends: ReadonlyMap<string, HeaterEnd>;
    readonly priced: (heater: string) => PricedHeater | null;
  },
): readonly PlanLineChange[] {
  const old = new Map(before.lines.map((line) => [line.heater, line]));
  const now = new Map(after.lines.map((line) => [line.heater, line]));
  const heaters = [...new Set([...old.keys(), ...now.keys()])].sort();
  return heaters.flatMap((heater): PlanLineChange[] => {
    const was = old.get(heater) ?? null;
    const is = now.get(heater) ?? null;
    const kind = kindOf(was, is, before.periods, after.periods);
    if (kind === null) return [];
    const reasons = reasonsOf(heater, was, is, { before, after, ends, priced });
    return [{ heater, kind, before: was, after: is, reasons }];
  });
}

/** Sums of a comparison. Money is undiscounted cents of the lines that changed. */
export type ChangeTotals = {
  readonly changed: number;
  readonly byKind: Readonly<Record<PlanLineChange["kind"], number>>;
  readonly beforeCents: number;
  readonly afterCents: number;
};

export function totalChanges(changes: readonly PlanLineChange[]): ChangeTotals {
  const byKind = { moved: 0, option: 0, "moved-and-option": 0, new: 0, left: 0, gone: 0 };
  let beforeCents = 0;
  let afterCents = 0;
  for (const change of changes) {
    byKind[change.kind] += 1;
    beforeCents += change.before?.capitalCents ?? 0;
    afterCents += change.after?.capitalCents ?? 0;
  }
  return { changed: changes.length, byKind, beforeCents, afterCents };
}

function kindOf(
  was: ComparedLine | null,
  is: ComparedLine | null,
  oldPeriods: readonly ScenarioPeriod[],
  newPeriods: readonly ScenarioPeriod[],
): PlanLineChange["kind"] | null {
  const old = was?.period == null ? null : periodNamed(oldPeriods, was.period);
  const now = is?.period == null ? null : periodNamed(newPeriods, is.period);
  if (old === null) return now === null ? null : "new";
  if (now === null) return is === null ? "gone" : "left";
  const hasMoved = !sharesADay(old, now);
  const hasOther = was?.option !== is?.option;
  if (hasMoved) return hasOther ? "moved-and-option" : "moved";
  return hasOther ? "option" : null;
}

type Sides = {
  readonly before: ComparedPlan;
  readonly after: ComparedPlan;
  readonly ends: ReadonlyMap<string, HeaterEnd>;
  readonly priced: (heater: string) => PricedHeater | null;
};

function reasonsOf(
  heater: string,
  was: ComparedLine | null,
  is: ComparedLine | null,
  { before, after, ends, priced }: Sides,
): readonly ChangeReason[] {
  if (is === null) return [whyGone(was, ends.get(heater))];
  if (was === null) return [{ kind: "new-heater" }];
  const reasons: ChangeReason[] = [];
  if (was.isDropped) reasons.push({ kind: "given-up" });
  const old = was.period === null ? null : periodNamed(before.periods, was.period);
  const now = is.period === null ? null : periodNamed(after.periods, is.period);
  const choices = priced(heater);
  const same = old ? (after.periods.find((each) => sharesADay(each, old)) ?? null) : null;
  const [first] = after.periods;
  if (old && first && old.end <= first.start) {
    reasons.push({ kind: "period-passed", period: old.id });
  }
  if (was.option !== null && choices) {
    const offered = choices.choices.filter(({ option }) => option === was.option);
    if (offered.length === 0) {
      const why = choices.refused.find(({ option }) => option === was.option)?.reason ?? null;
      reasons.push({ kind: "option-not-allowed", option: was.option, why });
    } else if (same && !offered.some(({ period }) => period === same.id)) {
      reasons.push({ kind: "not-possible-then", option: was.option, period: same.id });
    }
  }
  if (old?.budgetYear !== now?.budgetYear) {
    // Money that went from the year it left, or came to the year it went to.
    if (old) reasons.push(...budgetReason(old.budgetYear, before, after, "less"));
    if (now) reasons.push(...budgetReason(now.budgetYear, before, after, "more"));
  }
  const chance = { before: before.chanceWithinYear(heater), after: after.chanceWithinYear(heater) };
  if (
    chance.before !== null &&
    chance.after !== null &&
    Math.abs(chance.after - chance.before) >= NOTABLE_CHANCE
  ) {
    reasons.push({ kind: "chance", before: chance.before, after: chance.after });
  }
  if (reasons.length > 0 || !choices) return reasons;
  const costOf = (option: string | null, period: string | null) =>
    option === null
      ? (choices.never?.costCents ?? null)
      : (choices.choices.find((each) => each.option === option && each.period === period)
          ?.costCents ?? null);
  const costBefore = costOf(was.option, same?.id ?? null);
  const costAfter = costOf(is.option, is.period);
  if (costBefore === null || costAfter === null) return reasons;
  return [
    costAfter < costBefore
      ? { kind: "cheaper", savesCents: costBefore - costAfter }
      : { kind: "makes-room", costsCents: costAfter - costBefore },
  ];
}

function whyGone(was: ComparedLine | null, end: HeaterEnd | undefined): ChangeReason {
  if (was?.doneDay) return { kind: "done", day: was.doneDay };
  if (!end) return { kind: "not-planned-for" };
  return { kind: "out-of-service", ...end };
}

function budgetReason(
  year: string,
  before: ComparedPlan,
  after: ComparedPlan,
  way: "less" | "more",
): readonly ChangeReason[] {
  const has = (plan: ComparedPlan) => plan.periods.some(({ budgetYear }) => budgetYear === year);
  if (!has(before) || !has(after)) return [];
  const beforeCents = before.budgets[year]?.cents ?? null;
  const afterCents = after.budgets[year]?.cents ?? null;
  const change =
    (afterCents ?? Number.POSITIVE_INFINITY) - (beforeCents ?? Number.POSITIVE_INFINITY);
  const counts = way === "less" ? change < 0 : change > 0;
  return counts ? [{ kind: "budget", year, beforeCents, afterCents }] : [];
}

function sharesADay(a: ScenarioPeriod, b: ScenarioPeriod): boolean {
  return a.start < b.end && b.start < a.end;
}

function periodNamed(periods: readonly ScenarioPeriod[], id: string): ScenarioPeriod {
  const found = periods.find((period) => period.id === id);
  if (!found) throw new RangeError(`the plan has no period "${id}"`);
  return found;
}
