import type { Heater } from "@/lib/core/heaters/heater";
import type { Answer, Place } from "@/lib/core/heaters/vocabulary";
import { type Cents, roundToCents } from "@/lib/core/shared/money";
import type { SourcedValue } from "@/lib/core/shared/sourced";

/** What a failure costs beyond a planned swap. Every value is assumed until the user edits it. */
export type ConsequenceAssumptions = {
  /** Like-for-like swap on the day of failure, in cents. */
  readonly emergencySwapCents: SourcedValue;
  /** The same swap planned ahead, in cents. */
  readonly plannedSwapCents: SourcedValue;
  /** Share of failures that leak rather than only stop heating, 0 to 1. */
  readonly leakShare: SourcedValue;
  /** Damage by a leak that runs into finished rooms, in cents. */
  readonly damageFinishedCents: SourcedValue;
  /** Damage by a leak that does not, in cents. */
  readonly damageElsewhereCents: SourcedValue;
  /** Share of the damage that remains with a drained pan, 0 to 1. */
  readonly remainsWithPan: SourcedValue;
  /** Share of the damage that remains with an automatic shut-off, 0 to 1. */
  readonly remainsWithShutoff: SourcedValue;
  /** Days without hot water after an emergency. */
  readonly daysWithoutHotWater: SourcedValue;
  /** Rent credit, lodging and staff time per home and day, in cents. */
  readonly dailyCostPerHomeCents: SourcedValue;
};

export const DEFAULT_CONSEQUENCES: ConsequenceAssumptions = {
  emergencySwapCents: assumed(
    250_000,
    "cents",
    "planned swap and an after-hours premium of about 40 %",
  ),
  plannedSwapCents: assumed(180_000, "cents", "like-for-like tank with labour and permit"),
  leakShare: {
    value: 0.69,
    unit: "",
    source:
      "IBHS water-damage study: 69 % of heater failures are a slow leak or a burst, as quoted by insurers",
    evidence: "quoted",
  },
  damageFinishedCents: {
    value: 444_400,
    unit: "cents",
    source: "IBHS: a water-heater claim costs $4,444 after the deductible, as quoted by insurers",
    evidence: "quoted",
  },
  damageElsewhereCents: assumed(
    60_000,
    "cents",
    "drying and cleaning where nothing finished is below",
  ),
  remainsWithPan: assumed(0.6, "", "a drained pan takes a slow leak, not a burst"),
  remainsWithShutoff: assumed(0.25, "", "the tank's own content still runs out"),
  daysWithoutHotWater: assumed(2, "days", "24 to 72 hours in tenanted homes, common practice"),
  dailyCostPerHomeCents: assumed(7_500, "cents per home and day", "rent credit and staff time"),
};

/**
 * Chance that a leak at a place reaches finished rooms when the record does not say. Assumed.
 */
const FINISHED_WHEN_UNKNOWN: Readonly<Record<Place, number>> = {
  "interior-closet": 0.5,
  "exterior-closet": 0.25,
  garage: 0.1,
  "utility-room": 0.5,
  laundry: 0.5,
  kitchen: 0.5,
  basement: 0.1,
  attic: 1,
  "mechanical-room": 0.25,
  roof: 0.5,
  other: 0.5,
};

/** A loss in its parts, in cents. */
export type LossParts = {
  readonly emergencyPremiumCents: Cents;
  readonly damageCents: Cents;
  readonly noHotWaterCents: Cents;
  /** Sum of the parts. */
  readonly totalCents: Cents;
};

export type ExpectedLoss = {
  /** What a failure of this heater would cost beyond a planned swap. */
  readonly ifItFails: LossParts;
  /** The same times the probability of failing. */
  readonly expected: LossParts;
};

/**
 * Loss expected from a heater's failure: probability × (emergency swap − planned swap + damage by
 * place + days without hot water × homes × daily cost). An answer that is not known counts halfway
 * between yes and no.
 *
 * @param probability chance of failing within the horizon of interest, 0 to 1
 * @throws {RangeError} when the probability is outside 0 to 1
 */
export function estimateLoss(
  heater: Heater,
  probability: number,
  assumptions: ConsequenceAssumptions = DEFAULT_CONSEQUENCES,
): ExpectedLoss {
  if (!(probability >= 0 && probability <= 1)) {
    throw new RangeError(`probability must be from 0 to 1, got ${probability}`);
  }
  const premium = assumptions.emergencySwapCents.value - assumptions.plannedSwapCents.value;
  const damage = leakDamageCents(heater, assumptions);
  const noHotWater =
    assumptions.daysWithoutHotWater.value *
    heater.home.homesServed *
    assumptions.dailyCostPerHomeCents.value;
  return {
    ifItFails: lossParts(premium, damage, noHotWater),
    expected: lossParts(probability * premium, probability * damage, probability * noHotWater),
  };
}

/** Damage expected from a failure, leaks only, in cents. */
function leakDamageCents(heater: Heater, assumptions: ConsequenceAssumptions): number {
  const finished =
    heater.overFinishedSpace === "unknown"
      ? FINISHED_WHEN_UNKNOWN[heater.place]
      : shareOf(heater.overFinishedSpace);
  const full =
    finished * assumptions.damageFinishedCents.value +
    (1 - finished) * assumptions.damageElsewhereCents.value;
  return (
    assumptions.leakShare.value *
    full *
    remaining(heater.drainPan, assumptions.remainsWithPan.value) *
    remaining(heater.leakShutoff, assumptions.remainsWithShutoff.value)
  );
}

const remaining = (answer: Answer, remainsWith: number): number =>
  1 - shareOf(answer) * (1 - remainsWith);

function shareOf(answer: Answer): number {
  switch (answer) {
    case "yes":
      return 1;
    case "no":
      return 0;
    case "unknown":
      return 0.5;
  }
}

function lossParts(premium: number, damage: number, noHotWater: number): LossParts {
  const emergencyPremiumCents = roundToCents(premium);
  const damageCents = roundToCents(damage);
  const noHotWaterCents = roundToCents(noHotWater);
  const totalCents = emergencyPremiumCents + damageCents + noHotWaterCents;
  return { emergencyPremiumCents, damageCents, noHotWaterCents, totalCents };
}

function assumed(value: number, unit: string, source: string): SourcedValue {
  return { value, unit, source, evidence: "assumed" };
}
