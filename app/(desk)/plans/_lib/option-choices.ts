import type { OptionChoice } from "@/app/(desk)/plans/_components/scenario-form";
import { COST_PARTS, READINESS_PARTS } from "@/lib/core/planning/options";
import type { CatalogueOption } from "@/lib/services/option-catalogue";

/** Options of the catalogue in the few figures that a choice among them needs. */
export function optionChoices(catalogue: readonly CatalogueOption[]): readonly OptionChoice[] {
  return catalogue.filter(({ isActive }) => isActive).map(optionChoice);
}

export function optionChoice({ code, name, terms }: CatalogueOption): OptionChoice {
  const swapCents = { low: 0, likely: 0, high: 0 };
  let workCents = 0;
  let assumedParts = 0;
  let parts = 0;
  for (const part of COST_PARTS) {
    const range = terms.costs[part];
    if (!range) continue;
    parts += 1;
    if (range.evidence !== "entered" && range.evidence !== "published") assumedParts += 1;
    if (READINESS_PARTS.has(part)) {
      workCents += range.likelyCents;
      continue;
    }
    swapCents.low += range.lowCents;
    swapCents.likely += range.likelyCents;
    swapCents.high += range.highCents;
  }
  return {
    code,
    name,
    technology: terms.technology,
    swapCents,
    workCents,
    crewHours: terms.crewHours.value,
    circuits: terms.circuitLoad,
    incentiveCents: terms.incentives.reduce((sum, { cents }) => sum + cents, 0),
    assumedParts,
    parts,
  };
}
