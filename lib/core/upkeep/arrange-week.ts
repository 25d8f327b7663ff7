import { type CalendarDay, dayNumber } from "@/lib/core/shared/calendar-day";
import {
  compareDoors,
  type OrderedStops,
  orderStops,
  type RoundTerms,
  type Stop,
} from "./order-stops";
import { distanceTable, forestLowerBound } from "./path-bound";
import { travelMinutes } from "./travel";

/** A stop with the days on which it may be entered and how much it matters. */
export type WeekStop = Stop & {
  /** 1 Monday to 7 Sunday (ISO 8601); empty is any day. */
  readonly weekdays: readonly number[];
  /** Where the days do not hold all, higher numbers go first. */
  readonly priority: number;
};

export type WeekTerms = RoundTerms & {
  /** The days on which somebody goes round, rising. */
  readonly days: readonly CalendarDay[];
  /** Longest round from the first door to the end, minutes. */
  readonly dayMinutes: number;
};

export type DayRound = { readonly day: CalendarDay; readonly order: OrderedStops };

export type LeftOver = {
  readonly id: string;
  readonly reason: "not-on-these-days" | "longer-than-a-day" | "no-room";
};

export type ArrangedWeek = {
  /** Days without a stop are left out. */
  readonly rounds: readonly DayRound[];
  readonly leftOver: readonly LeftOver[];
  /** What no arrangement of the stops that were placed can undercut. */
  readonly leastRounds: number;
};

/** Monday 1 to Sunday 7, ISO 8601. */
export function isoWeekday(day: CalendarDay): number {
  // 1970-01-01 was a Thursday.
  return ((((dayNumber(day) + 3) % 7) + 7) % 7) + 1;
}

/**
 * Spreads stops over the days of a week, each stop once, and orders every day.
 *
 * Days are filled one after the other in a sweep by building and floor, so that neighbours fall on one
 * day. A stop whose last open day it is goes first, then the sweep; a stop is taken where it can be put
 * in without anything coming late or the day growing too long. What matters most is placed before the
 * rest where not all can be.
 *
 * @throws {RangeError} when `dayMinutes` is not above zero.
 */
export function arrangeWeek(stops: readonly WeekStop[], terms: WeekTerms): ArrangedWeek {
  if (!(terms.dayMinutes > 0)) {
    throw new RangeError(`dayMinutes must be above zero, got ${terms.dayMinutes}`);
  }
  const leftOver: LeftOver[] = [];
  const waiting = new Map<string, WeekStop>();
  for (const stop of stops) {
    const reason = whyNever(stop, terms);
    if (reason === null) waiting.set(stop.id, stop);
    else leftOver.push({ id: stop.id, reason });
  }
  const rounds: DayRound[] = [];
  const firstChoice = mostUrgent([...waiting.values()], terms);
  for (const [index, day] of terms.days.entries()) {
    const later = terms.days.slice(index + 1);
    const today = [...waiting.values()].filter((stop) => opensOn(stop, day));
    const isLastChance = (stop: WeekStop) => !later.some((other) => opensOn(stop, other));
    const rank = (stop: WeekStop) =>
      (firstChoice.has(stop.id) ? 0 : 2) + (isLastChance(stop) && stop.weekdays.length > 0 ? 0 : 1);
    today.sort((a, b) => rank(a) - rank(b) || compareDoors(a, b));
    const taken = fillDay(today, terms);
    for (const stop of taken) waiting.delete(stop.id);
    if (taken.length > 0) rounds.push({ day, order: orderStops(taken, terms) });
  }
  for (const id of waiting.keys()) leftOver.push({ id, reason: "no-room" });
  const placed = new Set(rounds.flatMap(({ order }) => order.stops.map(({ id }) => id)));
  return {
    rounds,
    leftOver,
    leastRounds: leastRounds(
      stops.filter(({ id }) => placed.has(id)),
      terms,
    ),
  };
}

function opensOn({ weekdays }: WeekStop, day: CalendarDay): boolean {
  return weekdays.length === 0 || weekdays.includes(isoWeekday(day));
}

function whyNever(stop: WeekStop, terms: WeekTerms): LeftOver["reason"] | null {
  if (!terms.days.some((day) => opensOn(stop, day))) return "not-on-these-days";
  return fits([stop], terms) ? null : "longer-than-a-day";
}

/** Stops in the order of what they matter, as far as the days are sure to hold them. */
function mostUrgent(stops: readonly WeekStop[], terms: WeekTerms): ReadonlySet<string> {
  const room = terms.days.length * terms.dayMinutes;
  const chosen = new Set<string>();
  let used = 0;
  for (const stop of [...stops].sort(
    (a, b) => b.priority - a.priority || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0),
  )) {
    used += stop.workMinutes + terms.travel.doorToDoor;
    if (used > room) break;
    chosen.add(stop.id);
  }
  return chosen;
}

/** Candidates in their order, each where it lengthens the day least, as long as it stays a good day. */
function fillDay(candidates: readonly WeekStop[], terms: WeekTerms): readonly WeekStop[] {
  let day: readonly WeekStop[] = [];
  for (const stop of candidates) {
    let best: readonly WeekStop[] | null = null;
    let bestFinish = Number.POSITIVE_INFINITY;
    for (let at = day.length; at >= 0; at--) {
      const trial = [...day.slice(0, at), stop, ...day.slice(at)];
      const finish = finishOf(trial, terms);
      if (finish !== null && finish < bestFinish) {
        best = trial;
        bestFinish = finish;
      }
    }
    if (best !== null) day = best;
  }
  return day;
}

function fits(order: readonly Stop[], terms: WeekTerms): boolean {
  return finishOf(order, terms) !== null;
}

/** Minutes from the start to the end of an order; null when something comes late or it is too long. */
function finishOf(order: readonly Stop[], terms: WeekTerms): number | null {
  const end = terms.startMinute + terms.dayMinutes;
  let clock = terms.startMinute;
  let before: Stop | null = null;
  for (const stop of order) {
    if (before !== null) clock += travelMinutes(before.door, stop.door, terms.travel);
    if (stop.window !== null) clock = Math.max(clock, stop.window.fromMinute);
    clock += stop.workMinutes;
    if (clock > end || (stop.window !== null && clock > stop.window.toMinute)) return null;
    before = stop;
  }
  return clock - terms.startMinute;
}

/** Fewest rounds of a day's length that can hold the work and the shortest way through it. */
function leastRounds(stops: readonly Stop[], terms: WeekTerms): number {
  if (stops.length === 0) return 0;
  const work = stops.reduce((sum, stop) => sum + stop.workMinutes, 0);
  const table = distanceTable(stops, (a, b) => travelMinutes(a.door, b.door, terms.travel));
  let rounds = 1;
  while (work + forestLowerBound(table, rounds) > rounds * terms.dayMinutes + 1e-6) rounds += 1;
  return rounds;
}
