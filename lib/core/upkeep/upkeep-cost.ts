import { type Cents, roundToCents } from "@/lib/core/shared/money";
import { requirePositive } from "@/lib/core/shared/requirements";

/** A visit as the work log holds it; null is not known. */
export type LoggedVisit = {
  readonly minutes: number | null;
  /** Minutes that its tasks take as a rule: they stand in where the minutes are not on record. */
  readonly usualMinutes: number;
  /** Parts with a price on record. */
  readonly partsCents: Cents;
  /** Parts whose price is not on record. */
  readonly unpricedParts: number;
  /** Paid to others. */
  readonly costCents: Cents | null;
};

export type UpkeepCost = {
  readonly visits: number;
  readonly minutes: number;
  /** Visits whose minutes were taken from their tasks. */
  readonly assumedMinutes: number;
  readonly unpricedParts: number;
  readonly labourCents: Cents;
  readonly partsCents: Cents;
  readonly otherCents: Cents;
  readonly totalCents: Cents;
};

/** What visits cost: labour by the minute, parts, and what others were paid. */
export function costOfVisits(
  visits: readonly LoggedVisit[],
  labourCentsPerHour: number,
): UpkeepCost {
  let minutes = 0;
  let assumedMinutes = 0;
  let unpricedParts = 0;
  let partsCents = 0;
  let otherCents = 0;
  for (const visit of visits) {
    minutes += visit.minutes ?? visit.usualMinutes;
    if (visit.minutes === null) assumedMinutes += 1;
    unpricedParts += visit.unpricedParts;
    partsCents += visit.partsCents;
    otherCents += visit.costCents ?? 0;
  }
  const labourCents = roundToCents((minutes * labourCentsPerHour) / 60);
  return {
    visits: visits.length,
    minutes,
    assumedMinutes,
    unpricedParts,
    labourCents,
    partsCents,
    otherCents,
    totalCents: labourCents + partsCents + otherCents,
  };
}

/**
 * Upkeep of one heater for one year, in cents.
 * @param heaterYears years that the heaters were in service over the time of the visits, above zero
 * @throws {RangeError} when `heaterYears` is not above zero.
 */
export function yearlyCostPerHeater(
  cost: Pick<UpkeepCost, "totalCents">,
  heaterYears: number,
): Cents {
  return roundToCents(cost.totalCents / requirePositive("heaterYears", heaterYears));
}
