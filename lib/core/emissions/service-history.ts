import { daysOf, intersect, middleDay, type Period } from "@/lib/core/energy/meter-readings";
import type { Heater } from "@/lib/core/heaters/heater";
import {
  addDays,
  type CalendarDay,
  dayFromParts,
  daysBetween,
  maxDay,
  minDay,
} from "@/lib/core/shared/calendar-day";

/** A heater with how its time in service began and ended, as far as the record says. */
export type HeaterLife = {
  readonly heater: Heater;
  readonly predecessorId: string | null;
  /** Bracket of the day it was taken out; null while it is in service. */
  readonly retired: { readonly earliest: CalendarDay; readonly latest: CalendarDay } | null;
  /** Year in which its building was built; null when not known. */
  readonly builtYear: number | null;
};

/** Time in which one heater gave a share of a place's hot water. */
export type Service = {
  readonly heater: Heater;
  /** The home, or the shared heater and its successors. */
  readonly slot: string;
  readonly period: Period;
  /** Share of the place's hot water: 1, or less where several heaters serve one home. */
  readonly share: number;
  /**
   * True for time before the first heater on record: some heater was there, and the first known one
   * stands in for it. That understates a cut rather than overstating it.
   */
  readonly isFilled: boolean;
};

export type ServiceHistory = {
  readonly services: readonly Service[];
  /** Swaps within the window whose day is known to more than a quarter only. */
  readonly vagueSwaps: number;
};

/** A bracket wider than this many days is not a known day. */
const KNOWN_WITHIN_DAYS = 92;

/**
 * Who served when, from install days, retirements and successors, within a window of whole years.
 *
 * A day known to a bracket is taken in its middle; where a heater and its successor are both known
 * to brackets, the swap is in the middle of what the brackets share. A heater that is in service
 * serves to the end of the window.
 */
export function serviceHistory(lives: readonly HeaterLife[], window: Period): ServiceHistory {
  const spans = spansOf(lives, window);
  const lifeOf = new Map(lives.map((life) => [life.heater.id, life]));
  const slots = new Map<string, Span[]>();
  for (const span of spans) {
    const slot = slotOf(span.life, lifeOf);
    const same = slots.get(slot);
    if (same) same.push(span);
    else slots.set(slot, [span]);
  }
  const services: Service[] = [];
  for (const [slot, inSlot] of slots) {
    services.push(...servicesOfSlot(slot, inSlot, window));
  }
  return { services, vagueSwaps: countVagueSwaps(lives, window) };
}

type Span = { readonly life: HeaterLife; from: CalendarDay; to: CalendarDay };

function spansOf(lives: readonly HeaterLife[], window: Period): readonly Span[] {
  const spans = lives.map((life): Span => {
    const { install } = life.heater;
    return {
      life,
      from: middleDay(install.earliest, install.latest),
      to: life.retired
        ? addDays(middleDay(life.retired.earliest, life.retired.latest), -1)
        : window.to,
    };
  });
  const spanOf = new Map(spans.map((span) => [span.life.heater.id, span]));
  for (const span of spans) {
    const before = span.life.predecessorId ? spanOf.get(span.life.predecessorId) : undefined;
    if (before) joinSpans(before, span);
  }
  return spans;
}

/** Puts the swap between two heaters on one day, as far as their brackets allow. */
function joinSpans(before: Span, after: Span): void {
  const { retired } = before.life;
  const { install } = after.life.heater;
  if (retired) {
    const shared = intersect(
      { from: retired.earliest, to: retired.latest },
      { from: install.earliest, to: install.latest },
    );
    if (shared) {
      after.from = middleDay(shared.from, shared.to);
      before.to = addDays(after.from, -1);
      return;
    }
  }
  // Two heaters cannot give the same water: the new one counts from its first day.
  before.to = minDay(before.to, addDays(after.from, -1));
}

/** Heaters of one home share a slot; a heater of several homes shares one with its predecessors. */
function slotOf(life: HeaterLife, lifeOf: ReadonlyMap<string, HeaterLife>): string {
  if (life.heater.unitId !== null) return life.heater.unitId;
  let first = life;
  const seen = new Set<string>();
  while (first.predecessorId !== null && !seen.has(first.heater.id)) {
    seen.add(first.heater.id);
    const before = lifeOf.get(first.predecessorId);
    if (!before) break;
    first = before;
  }
  return first.heater.id;
}

function servicesOfSlot(slot: string, spans: Span[], window: Period): readonly Service[] {
  const within = spans
    .map(({ life, from, to }) => ({ life, shown: intersect({ from, to }, window), from }))
    .sort((a, b) => (a.from < b.from ? -1 : a.from > b.from ? 1 : 0));
  const edges = new Set<CalendarDay>();
  for (const { shown } of within) {
    if (!shown) continue;
    edges.add(shown.from);
    edges.add(addDays(shown.to, 1));
  }
  const days = [...edges].sort();
  const services: Service[] = [];
  for (let index = 0; index + 1 < days.length; index++) {
    const period = {
      from: days[index] as CalendarDay,
      to: addDays(days[index + 1] as CalendarDay, -1),
    };
    const serving = within.filter(
      ({ shown }) => shown && shown.from <= period.from && shown.to >= period.to,
    );
    for (const { life } of serving) {
      services.push({
        heater: life.heater,
        slot,
        period,
        share: 1 / serving.length,
        isFilled: false,
      });
    }
  }
  const filled = filledBefore(slot, within[0], window);
  return filled ? [filled, ...services] : services;
}

function filledBefore(
  slot: string,
  first: { readonly life: HeaterLife; readonly from: CalendarDay } | undefined,
  window: Period,
): Service | null {
  if (!first || first.from <= window.from) return null;
  const { builtYear, heater } = first.life;
  const opened = builtYear === null ? window.from : dayFromParts(builtYear, 1, 1);
  const period = {
    from: maxDay(window.from, opened),
    to: minDay(window.to, addDays(first.from, -1)),
  };
  if (daysOf(period) === 0) return null;
  return { heater, slot, period, share: 1, isFilled: true };
}

function countVagueSwaps(lives: readonly HeaterLife[], window: Period): number {
  return lives.filter(
    ({ retired }) =>
      retired !== null &&
      retired.latest >= window.from &&
      retired.earliest <= window.to &&
      daysBetween(retired.earliest, retired.latest) > KNOWN_WITHIN_DAYS,
  ).length;
}
