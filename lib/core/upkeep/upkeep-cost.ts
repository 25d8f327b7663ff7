import { type Cents, roundToCents } from "@/lib/core/shared/money";
import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";

/** What visits add up to. What is not on record is counted, not taken as nothing. */
export type WorkDone = {
  readonly visits: number;
  /** Minutes on record. */
  readonly minutes: number;
  /** Visits without minutes, and what their tasks take as a rule. */
  readonly untimedVisits: number;
  readonly usualMinutes: number;
  readonly partsCents: Cents;
  /** Parts whose price is not on record. */
  readonly unpricedParts: number;
  /** Paid to others. */
  readonly otherCents: Cents;
};

export type UpkeepCost = {
  readonly visits: number;
  /** Minutes on record and, where they are not, those that the tasks take as a rule. */
  readonly minutes: number;
  readonly untimedVisits: number;
  readonly unpricedParts: number;
  readonly labourCents: Cents;
  readonly partsCents: Cents;
  readonly otherCents: Cents;
  readonly totalCents: Cents;
};

/**
 * What work cost: labour by the minute, parts, and what others were paid.
 * @throws {RangeError} when the labour rate is below zero.
 */
export function costOfWork(work: WorkDone, labourCentsPerHour: number): UpkeepCost {
  requireAtLeastZero("labourCentsPerHour", labourCentsPerHour);
  const minutes = work.minutes + work.usualMinutes;
  const labourCents = roundToCents((minutes * labourCentsPerHour) / 60);
  return {
    visits: work.visits,
    minutes,
    untimedVisits: work.untimedVisits,
    unpricedParts: work.unpricedParts,
    labourCents,
    partsCents: work.partsCents,
    otherCents: work.otherCents,
    totalCents: labourCents + work.partsCents + work.otherCents,
  };
}

/**
 * Upkeep of one heater for one year, in cents.
 * @param heaterYears years that the heaters were in service over the time of the work, above zero
 * @throws {RangeError} when `heaterYears` is not above zero.
 */
export function yearlyCostPerHeater(
  cost: Pick<UpkeepCost, "totalCents">,
  heaterYears: number,
): Cents {
  return roundToCents(cost.totalCents / requirePositive("heaterYears", heaterYears));
}
