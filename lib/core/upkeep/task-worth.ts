import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import { requireAtLeastZero } from "@/lib/core/shared/requirements";

/** A chance of failing until the task would come again, and what a failure then costs. */
export type Outlook = {
  /** 0 to 1. */
  readonly failureProbability: number;
  readonly lossIfItFailsCents: number;
};

export type WorthTerms = {
  /** If the task is left until it would come again. */
  readonly without: Outlook;
  /** If it is done today. */
  readonly with: Outlook;
  readonly minutes: number;
  readonly partsCents: number;
  readonly labourCentsPerHour: number;
};

export type TaskWorth = {
  /** Failures avoided per time the task is done, 0 to 1; below zero where the model says it harms. */
  readonly removedProbability: number;
  /** Loss avoided, in cents. */
  readonly avoidedCents: number;
  /** Labour and parts, in cents. */
  readonly costCents: number;
  /** Avoided less cost. */
  readonly netCents: number;
  /** Loss avoided for each minute of work, in cents: what the due list is ranked by. */
  readonly avoidedCentsPerMinute: number;
};

/**
 * What doing a task is worth: the failure probability it removes × what a failure costs, less labour
 * and parts.
 *
 * The horizon is the same for both outlooks: until the task would come again. Money is not discounted
 * over it.
 *
 * @throws {RangeError} when a probability is outside 0 to 1, the minutes are not above zero, or an
 *   amount is below zero.
 */
export function worthOfTask(terms: WorthTerms): TaskWorth {
  const without = lossOf("without", terms.without);
  const withTask = lossOf("with", terms.with);
  if (!(terms.minutes > 0)) {
    throw new RangeError(`minutes must be above zero, got ${terms.minutes}`);
  }
  const labourCents =
    (requireAtLeastZero("labourCentsPerHour", terms.labourCentsPerHour) * terms.minutes) / 60;
  const costCents = labourCents + requireAtLeastZero("partsCents", terms.partsCents);
  const avoidedCents = without - withTask;
  return {
    removedProbability: terms.without.failureProbability - terms.with.failureProbability,
    avoidedCents,
    costCents,
    netCents: avoidedCents - costCents,
    avoidedCentsPerMinute: avoidedCents / terms.minutes,
  };
}

function lossOf(name: string, { failureProbability, lossIfItFailsCents }: Outlook): number {
  if (!(failureProbability >= 0 && failureProbability <= 1)) {
    throw new RangeError(
      `${name}.failureProbability must be from 0 to 1, got ${failureProbability}`,
    );
  }
  return failureProbability * requireAtLeastZero(`${name}.lossIfItFailsCents`, lossIfItFailsCents);
}

/**
 * Tasks that are not priced, and why: what they guard is people or comfort, which the chance that a
 * tank fails says nothing of. They are never ranked below a priced one for being cheap.
 */
export const UNPRICED_TASKS: Readonly<Partial<Record<TaskKind, string>>> = {
  "relief-valve-test": "guards people against a tank that bursts; not priced",
  "burner-vent-check": "guards people against carbon monoxide; not priced",
  "combustion-safety": "guards people against carbon monoxide; not priced",
  "setpoint-mixing-check": "guards people against scalds; not priced",
  "strap-check": "guards people in an earthquake; not priced",
  "filter-condensate": "keeps the heat pump efficient; its failures are not told apart by it",
};

/** Share of expansion tanks found low or waterlogged, and of leak sensors found dead: before any record. */
export const ASSUMED_FAULT_SHARE = 0.1;
/** Checks that the assumption weighs as much as. */
const ASSUMED_FAULT_CHECKS = 20;

/**
 * Share of checks that find a fault, from the organisation's own checks: the assumed share counts as
 * twenty checks beforehand (the mean of a beta distribution updated by a binomial count).
 *
 * @throws {RangeError} when the faults are more than the checks, or either is below zero.
 */
export function faultShare({
  checks,
  faults,
}: {
  readonly checks: number;
  readonly faults: number;
}): number {
  requireAtLeastZero("faults", faults);
  if (!(checks >= faults)) throw new RangeError(`checks must be ${faults} or more, got ${checks}`);
  return (ASSUMED_FAULT_SHARE * ASSUMED_FAULT_CHECKS + faults) / (ASSUMED_FAULT_CHECKS + checks);
}
