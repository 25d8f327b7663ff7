import { requireAtLeastZero } from "@/lib/core/shared/requirements";
import type { SourcedValue } from "@/lib/core/shared/sourced";

/** Where a door is. */
export type Door = {
  readonly buildingId: string;
  /** 1 is the ground floor; null when not known, which counts as the ground floor. */
  readonly floor: number | null;
};

/** How long a person takes from one door to another, in minutes. */
export type TravelTerms = {
  /** From one door to the next, with the tools, whatever else there is on the way. */
  readonly doorToDoor: number;
  /** Added for each floor between them. */
  readonly perFloor: number;
  /** Added from the entrance of one building to that of another. */
  readonly betweenBuildings: number;
};

/** Travel as taken until the organisation enters its own. */
export const DEFAULT_TRAVEL: Readonly<Record<keyof TravelTerms, SourcedValue>> = {
  doorToDoor: minutes(1, "packing up, walking on and knocking"),
  perFloor: minutes(0.5, "one flight of stairs with tools"),
  betweenBuildings: minutes(4, "walking across a property with tools"),
};

/**
 * Minutes between two doors: within a building the floors between them, from one building to another
 * down to the ground floor, across and up again.
 *
 * Symmetric, and never shortened by a detour (the triangle inequality holds), which the bounds of
 * `order-stops.ts` rest on. Distances between buildings are not on record: all are taken as equal.
 */
export function travelMinutes(a: Door, b: Door, terms: TravelTerms): number {
  const doorToDoor = requireAtLeastZero("doorToDoor", terms.doorToDoor);
  const perFloor = requireAtLeastZero("perFloor", terms.perFloor);
  if (a.buildingId === b.buildingId) {
    return doorToDoor + perFloor * Math.abs(flightsUp(a) - flightsUp(b));
  }
  const between = requireAtLeastZero("betweenBuildings", terms.betweenBuildings);
  return doorToDoor + between + perFloor * (Math.abs(flightsUp(a)) + Math.abs(flightsUp(b)));
}

/** Flights from the ground floor to the door; below it they count downwards. */
function flightsUp({ floor }: Door): number {
  return floor === null ? 0 : floor - 1;
}

function minutes(value: number, source: string): SourcedValue {
  return { value, unit: "minutes", source, evidence: "assumed" };
}
