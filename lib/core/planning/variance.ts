import { type CalendarDay, daysBetween } from "@/lib/core/shared/calendar-day";
import type { LineLife } from "./plan-life";

/** A planned swap with what became of it. */
export type VarianceLine = {
  readonly heaterId: string;
  readonly buildingId: string;
  readonly budgetYear: string;
  /** First and last day of the planned period. */
  readonly start: CalendarDay;
  readonly end: CalendarDay;
  readonly plannedCents: number;
  readonly life: LineLife;
  readonly actualDay: CalendarDay | null;
  readonly actualCents: number | null;
};

/** Actual less planned of one line; null where it is not done or not known. */
export type LineVariance = {
  /** Below zero: days before the period began; above: days after it ended; zero within it. */
  readonly days: number | null;
  readonly cents: number | null;
};

/** Lines taken together. Money is compared over the same lines: those done with a known cost. */
export type VarianceTotal = {
  readonly lines: number;
  readonly plannedCents: number;
  readonly done: number;
  readonly committed: number;
  readonly dropped: number;
  /** Planned cents of the lines that were given up: neither spent nor still to be spent. */
  readonly droppedCents: number;
  /** Done lines whose cost is not known; they are in neither of the two sums below. */
  readonly costUnknown: number;
  readonly plannedOfKnownCents: number;
  readonly actualCents: number;
  readonly early: number;
  readonly onTime: number;
  readonly late: number;
};

/** Day and cost of one line against its plan. A day within the planned period is no difference. */
export function lineVariance(line: VarianceLine): LineVariance {
  if (line.life !== "done") return { days: null, cents: null };
  return {
    days: line.actualDay === null ? null : daysOutside(line.actualDay, line),
    cents: line.actualCents === null ? null : line.actualCents - line.plannedCents,
  };
}

function daysOutside(
  day: CalendarDay,
  { start, end }: Pick<VarianceLine, "start" | "end">,
): number {
  if (day < start) return -daysBetween(day, start);
  return day > end ? daysBetween(end, day) : 0;
}

/** Sums of lines, which may be none. */
export function totalVariance(lines: readonly VarianceLine[]): VarianceTotal {
  const done = lines.filter(({ life }) => life === "done");
  const known = done.filter(({ actualCents }) => actualCents !== null);
  const dropped = lines.filter(({ life }) => life === "dropped");
  const days = done.map((line) => lineVariance(line).days).filter((value) => value !== null);
  return {
    lines: lines.length,
    plannedCents: sum(lines, ({ plannedCents }) => plannedCents),
    done: done.length,
    committed: lines.filter(({ life }) => life === "committed").length,
    dropped: dropped.length,
    droppedCents: sum(dropped, ({ plannedCents }) => plannedCents),
    costUnknown: done.length - known.length,
    plannedOfKnownCents: sum(known, ({ plannedCents }) => plannedCents),
    actualCents: sum(known, ({ actualCents }) => actualCents ?? 0),
    early: days.filter((value) => value < 0).length,
    onTime: days.filter((value) => value === 0).length,
    late: days.filter((value) => value > 0).length,
  };
}

/** Sums by a key, keys in the order in which they first occur. */
export function varianceBy(
  lines: readonly VarianceLine[],
  keyOf: (line: VarianceLine) => string,
): ReadonlyMap<string, VarianceTotal> {
  const groups = new Map<string, VarianceLine[]>();
  for (const line of lines) {
    const key = keyOf(line);
    const group = groups.get(key);
    if (group) group.push(line);
    else groups.set(key, [line]);
  }
  return new Map([...groups].map(([key, group]) => [key, totalVariance(group)]));
}

function sum<T>(items: readonly T[], of: (item: T) => number): number {
  return items.reduce((total, item) => total + of(item), 0);
}
