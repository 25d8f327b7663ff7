import { formatShare } from "@/app/_lib/format";
import type { EmissionLine } from "@/lib/core/emissions/annual-emissions";
import type { EmissionsTerms } from "@/lib/core/emissions/emissions-terms";
import { GRID_REGION_NAMES } from "@/lib/core/emissions/grid-rates";
import { FUEL_LABELS } from "@/lib/core/heaters/vocabulary";

const GAS_NAMES: Readonly<Record<string, string>> = {
  co2: "CO2",
  ch4: "Methane",
  n2o: "Nitrous oxide",
  co2e: "CO2-equivalent",
};

export function gasName(gas: string): string {
  return GAS_NAMES[gas] ?? gas;
}

/** What a factor is about: the fuel, the grid region, the contract. */
export function activityName(factor: Pick<EmissionLine["factor"], "activity" | "region">): string {
  const { activity, region } = factor;
  const place = region ?? "";
  switch (activity) {
    case "grid-electricity":
      return `Electricity, ${regionName(place)}`;
    case "residual-mix":
      return `Electricity, residual mix of ${place}`;
    case "instrument":
      return "Electricity under contract";
    case "refrigerant":
      return "Refrigerant lost";
    case "upstream-methane":
      return "Methane before the meter";
    default:
      return FUEL_LABELS[activity];
  }
}

/** `CAMX California`; the code alone for a region of the user's own. */
export function regionName(code: string): string {
  return `${code} ${GRID_REGION_NAMES[code] ?? ""}`.trim();
}

export const BASIS_LABELS = {
  metered: "Metered",
  calibrated: "Modelled, calibrated to meters",
  modelled: "Modelled",
} as const;

/** What a policy finding says. */
export const FINDING_LABELS = {
  "over-limit": "over the limit",
  "new-burners": "new burners planned",
  "burners-left": "burners left",
  "cannot-be-checked": "floor area not on record: cannot be checked",
} as const;

/** The user's outlook of the grid in one sentence, its source included; what holds without one. */
export function outlookWords({ points, source }: EmissionsTerms["gridOutlook"]): string {
  if (points.length === 0) return "The grid of coming years is the latest of the factor table.";
  const inOrder = [...points].sort(
    (a, b) => (a.region ?? "").localeCompare(b.region ?? "") || a.year - b.year,
  );
  const told = inOrder.map(
    ({ region, year, shareOfTable }) =>
      `${region ?? "every region"} ${year} ${formatShare(shareOfTable, 0)}`,
  );
  return `The grid of coming years is a share of the factor table’s: ${told.join(", ")}, straight lines between. Source: ${source || "none entered"}.`;
}
