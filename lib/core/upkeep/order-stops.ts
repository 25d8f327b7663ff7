import { type DistanceTable, distanceTable, pathLowerBound } from "./path-bound";
import { type Door, type TravelTerms, travelMinutes } from "./travel";

/** When work may be done behind a door, minutes after midnight. */
export type AccessWindow = { readonly fromMinute: number; readonly toMinute: number };

/** A door to be entered once, and how long the work behind it takes. */
export type Stop = {
  readonly id: string;
  readonly door: Door;
  readonly workMinutes: number;
  /** null: at any time. */
  readonly window: AccessWindow | null;
};

export type RoundTerms = {
  readonly travel: TravelTerms;
  /** The first door may be entered from here on, minutes after midnight. */
  readonly startMinute: number;
};

/** Stops in an order, with when each is reached. */
export type OrderedStops = {
  readonly stops: readonly {
    readonly id: string;
    /** Work begins then, minutes after midnight; a wait for the window lies before it. */
    readonly beginMinute: number;
    /** Minutes by which the work ends after the window. */
    readonly lateMinutes: number;
  }[];
  /** From the start to the end of the last stop. */
  readonly finishMinutes: number;
  readonly travelMinutes: number;
  readonly waitMinutes: number;
  /** Stops whose work cannot end within their window in this order. */
  readonly lateCount: number;
  /** What no order of these stops can undercut. */
  readonly bound: { readonly finishMinutes: number; readonly travelMinutes: number };
};

/**
 * An order of the stops with as little lateness, then as early an end, then as little travel as a
 * local search finds, and bounds that no order can undercut.
 *
 * The search starts from the order given, from a sweep by building and floor, and from going to the
 * nearest door each time; it reverses stretches (2-opt) and moves short ones elsewhere (or-opt) until
 * nothing helps. It is not sure to be the best order; the bound says how far from it at the most.
 */
export function orderStops(stops: readonly Stop[], terms: RoundTerms): OrderedStops {
  const round = new Round(stops, terms);
  let best: Trial | null = null;
  for (const start of round.starts()) {
    const found = improve(round, start);
    if (best === null || found.score < best.score) best = found;
  }
  return describe(round, best?.order ?? []);
}

/** The times of stops in the order given, with the same bounds. */
export function timeStops(stops: readonly Stop[], terms: RoundTerms): OrderedStops {
  const round = new Round(stops, terms);
  return describe(
    round,
    stops.map((_, index) => index),
  );
}

type Trial = { readonly order: number[]; readonly score: number };

/** A minute late outweighs any time on the way; travel only decides between equal ends. */
const LATE_WEIGHT = 10_000;
const TRAVEL_WEIGHT = 0.001;

class Round {
  readonly table: DistanceTable;

  constructor(
    readonly stops: readonly Stop[],
    readonly terms: RoundTerms,
  ) {
    this.table = distanceTable(stops, (a, b) => travelMinutes(a.door, b.door, terms.travel));
  }

  between(a: number, b: number): number {
    return this.table.distances[a * this.table.count + b];
  }

  /** Lateness, end and travel of an order as one number. */
  score(order: readonly number[]): number {
    let clock = this.terms.startMinute;
    let late = 0;
    let travel = 0;
    for (let position = 0; position < order.length; position++) {
      const stop = this.stops[order[position]];
      if (position > 0) {
        const leg = this.between(order[position - 1], order[position]);
        travel += leg;
        clock += leg;
      }
      if (stop.window !== null && clock < stop.window.fromMinute) clock = stop.window.fromMinute;
      clock += stop.workMinutes;
      if (stop.window !== null && clock > stop.window.toMinute)
        late += clock - stop.window.toMinute;
    }
    return late * LATE_WEIGHT + clock + travel * TRAVEL_WEIGHT;
  }

  starts(): readonly number[][] {
    if (this.stops.length === 0) return [[]];
    const given = this.stops.map((_, index) => index);
    const swept = [...given].sort((a, b) => compareDoors(this.stops[a], this.stops[b]));
    const byWindow = [...swept].sort((a, b) => opens(this.stops[a]) - opens(this.stops[b]));
    return [given, swept, byWindow, this.nearestFirst()];
  }

  private nearestFirst(): number[] {
    const left = new Set(this.stops.map((_, index) => index));
    const order = [0];
    left.delete(0);
    while (left.size > 0) {
      const last = order[order.length - 1];
      let next = -1;
      for (const index of left) {
        if (next === -1 || this.between(last, index) < this.between(last, next)) next = index;
      }
      order.push(next);
      left.delete(next);
    }
    return order;
  }
}

/** By building, then floor, then id: the order in which somebody would walk it without thinking. */
export function compareDoors(a: Stop, b: Stop): number {
  return (
    compareText(a.door.buildingId, b.door.buildingId) ||
    (a.door.floor ?? 1) - (b.door.floor ?? 1) ||
    compareText(a.id, b.id)
  );
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function opens({ window }: Stop): number {
  return window?.fromMinute ?? 0;
}

/** Longest stretch that or-opt moves in one piece. */
const LONGEST_MOVE = 3;
/** Orders tried at the most, so that a round of hundreds of stops ends in a second or two. */
const MOST_TRIALS = 200_000;

function improve(round: Round, start: readonly number[]): Trial {
  let order = [...start];
  let score = round.score(order);
  let trials = 0;
  let improved = true;
  while (improved && trials < MOST_TRIALS) {
    improved = false;
    for (const candidate of neighbours(order)) {
      trials += 1;
      const next = round.score(candidate);
      if (next < score - 1e-9) {
        order = candidate;
        score = next;
        improved = true;
        break;
      }
      if (trials >= MOST_TRIALS) break;
    }
  }
  return { order, score };
}

/** Orders that differ by one reversed stretch or one stretch moved elsewhere, also turned round. */
function* neighbours(order: readonly number[]): Generator<number[]> {
  const count = order.length;
  for (let from = 0; from < count; from++) {
    for (let length = 1; length <= LONGEST_MOVE && from + length <= count; length++) {
      const piece = order.slice(from, from + length);
      const rest = [...order.slice(0, from), ...order.slice(from + length)];
      for (let to = 0; to <= rest.length; to++) {
        if (to === from) continue;
        yield [...rest.slice(0, to), ...piece, ...rest.slice(to)];
        if (length > 1) yield [...rest.slice(0, to), ...piece.toReversed(), ...rest.slice(to)];
      }
    }
  }
  for (let from = 0; from < count - 1; from++) {
    for (let to = from + 1; to < count; to++) {
      yield [
        ...order.slice(0, from),
        ...order.slice(from, to + 1).toReversed(),
        ...order.slice(to + 1),
      ];
    }
  }
}

function describe(round: Round, order: readonly number[]): OrderedStops {
  const { startMinute } = round.terms;
  let clock = startMinute;
  let travel = 0;
  let wait = 0;
  const stops = order.map((index, position) => {
    const stop = round.stops[index];
    if (position > 0) {
      const leg = round.between(order[position - 1], index);
      travel += leg;
      clock += leg;
    }
    if (stop.window !== null && clock < stop.window.fromMinute) {
      wait += stop.window.fromMinute - clock;
      clock = stop.window.fromMinute;
    }
    const beginMinute = clock;
    clock += stop.workMinutes;
    const lateMinutes = stop.window === null ? 0 : Math.max(0, clock - stop.window.toMinute);
    return { id: stop.id, beginMinute, lateMinutes };
  });
  const finishMinutes = clock - startMinute;
  return {
    stops,
    finishMinutes,
    travelMinutes: travel,
    waitMinutes: wait,
    lateCount: stops.filter(({ lateMinutes }) => lateMinutes > 0).length,
    bound: {
      // Rounding may lift a bound above an order that attains it by less than a thousandth.
      travelMinutes: Math.min(travel, pathLowerBound(round.table)),
      finishMinutes: Math.min(finishMinutes, finishLowerBound(round)),
    },
  };
}

/**
 * The stops that open at `t` or later all lie after `t`, one after the other: from the start to the
 * end takes at least t, their work and the shortest way through them. The largest of these over all t.
 */
function finishLowerBound({ stops, terms }: Round): number {
  const { startMinute, travel } = terms;
  const openings = new Set([startMinute]);
  for (const { window } of stops) {
    if (window !== null && window.fromMinute > startMinute) openings.add(window.fromMinute);
  }
  let bound = 0;
  for (const opening of openings) {
    const late = stops.filter((stop) => opening === startMinute || opens(stop) >= opening);
    const table = distanceTable(late, (a, b) => travelMinutes(a.door, b.door, travel));
    const work = late.reduce((sum, stop) => sum + stop.workMinutes, 0);
    bound = Math.max(bound, opening - startMinute + work + pathLowerBound(table));
  }
  return bound;
}
