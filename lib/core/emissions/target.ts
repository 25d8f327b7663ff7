import { requireFinite } from "@/lib/core/shared/requirements";
import { locationTotal, type ScopeTotals } from "./annual-emissions";

/** What a target, a limit or a path counts. */
export const COVERAGES = ["all-location", "owner-location", "owner-market"] as const;
export type Coverage = (typeof COVERAGES)[number];

export const COVERAGE_LABELS: Readonly<Record<Coverage, string>> = {
  "all-location": "Scopes 1, 2 (location-based) and 3: whoever pays",
  "owner-location": "Scopes 1 and 2, location-based",
  "owner-market": "Scopes 1 and 2, market-based",
};

/** The part of an account that a coverage counts, kg CO2e. */
export function coveredKg(totals: ScopeTotals, coverage: Coverage): number {
  switch (coverage) {
    case "all-location":
      return locationTotal(totals);
    case "owner-location":
      return totals.scope1 + totals.scope2Location;
    case "owner-market":
      return totals.scope1 + totals.scope2Market;
  }
}

/** A cut to be reached by a year, as a share of the base year's emissions. */
export type TargetPoint = { readonly year: number; readonly cutShare: number };

/**
 * Emissions that a target allows in a year, kg CO2e: straight lines from the base year through the
 * points, level after the last one. Null before the base year and where there is no target.
 */
export function targetKg(
  year: number,
  {
    baseYear,
    baseKgCo2e,
    points,
  }: {
    readonly baseYear: number;
    readonly baseKgCo2e: number;
    readonly points: readonly TargetPoint[];
  },
): number | null {
  if (points.length === 0 || year < baseYear) return null;
  const line = [
    { year: baseYear, cutShare: 0 },
    ...points.filter((point) => point.year > baseYear),
  ].sort((a, b) => a.year - b.year);
  const after = line.find((point) => point.year >= year);
  const before = line.findLast((point) => point.year <= year);
  const cut = !after
    ? (before?.cutShare ?? 0)
    : !before || before.year === after.year
      ? after.cutShare
      : before.cutShare +
        ((after.cutShare - before.cutShare) * (year - before.year)) / (after.year - before.year);
  return requireFinite("baseKgCo2e", baseKgCo2e) * (1 - cut);
}
