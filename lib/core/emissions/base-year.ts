import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";

/** What can make a base year's account no longer describe the organisation of today. */
export const STRUCTURAL_REASONS = ["bought", "sold", "method", "factor", "error"] as const;
export type StructuralReason = (typeof STRUCTURAL_REASONS)[number];

export const STRUCTURAL_REASON_LABELS: Readonly<Record<StructuralReason, string>> = {
  bought: "Buildings bought or taken over",
  sold: "Buildings sold or handed on",
  method: "A calculation was changed for the better",
  factor: "A factor of the base year was corrected by its publisher",
  error: "An error was found in the base year's records",
};

export type StructuralChange = {
  readonly reason: StructuralReason;
  readonly description: string;
  /** What the change adds to the base year's emissions, kg CO2e; negative when it takes away. */
  readonly kgCo2e: number;
};

export type BaseYearDecision = {
  /** True when the changes together pass the threshold. */
  readonly recalculate: boolean;
  /** Sum of the sizes of the changes over the base year's emissions: opposite changes do not cancel. */
  readonly share: number;
  readonly thresholdShare: number;
  /** Emissions to compare with: recalculated where that is due, else as they stood. */
  readonly kgCo2e: number;
};

/** Share of the base year's emissions above which it is recalculated (common practice, no source). */
export const RECALCULATION_THRESHOLD = 0.05;

/**
 * Whether a base year must be recalculated. The GHG Protocol Corporate Standard, chapter 5, asks for a
 * threshold, applied to changes of structure, method and data and not to growth or decline (from
 * memory); its size is the organisation's to set.
 *
 * @throws {RangeError} when the base year's emissions are not above zero or the threshold is negative.
 */
export function decideBaseYear({
  kgCo2e,
  changes,
  thresholdShare = RECALCULATION_THRESHOLD,
}: {
  readonly kgCo2e: number;
  readonly changes: readonly StructuralChange[];
  readonly thresholdShare?: number;
}): BaseYearDecision {
  requirePositive("kgCo2e", kgCo2e);
  requireAtLeastZero("thresholdShare", thresholdShare);
  const size = changes.reduce((sum, change) => sum + Math.abs(change.kgCo2e), 0);
  const net = changes.reduce((sum, change) => sum + change.kgCo2e, 0);
  const share = size / kgCo2e;
  const recalculate = share > thresholdShare;
  return { recalculate, share, thresholdShare, kgCo2e: recalculate ? kgCo2e + net : kgCo2e };
}
