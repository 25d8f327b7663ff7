import { type Cents, roundToCents } from "@/lib/core/shared/money";
import type { CostingContext, PricedHeater } from "./costing";
import type { PlanBuilding, PlanProblem, PlanStack } from "./problem";

/**
 * The problem that a scenario states for priced heaters: budgets less the contingency, crews, the
 * buildings and the cap. What the contingency keeps is the ledger's to show.
 */
export function buildPlanProblem(
  context: CostingContext,
  heaters: readonly PricedHeater[],
  buildings: readonly PlanBuilding[],
  stacks: readonly PlanStack[] = [],
): PlanProblem {
  const { terms } = context;
  return {
    periods: context.periods.map(({ id, budgetYear, discount }) => ({ id, budgetYear, discount })),
    budgets: Object.fromEntries(
      Object.entries(terms.budgets).map(([year, { cents, carryOver }]) => [
        year,
        { cents: withoutContingency(cents, terms.contingencyShare), carryOver },
      ]),
    ),
    crewHours: terms.crewHours,
    buildings,
    heaters,
    ...(stacks.length > 0 && { stacks }),
    emissionCap:
      terms.emissionCap === null
        ? null
        : {
            kg: terms.emissionCap.kg,
            excessCentsPerKg: terms.emissionCap.excessCentsPerKg,
          },
  };
}

/** What a plan may use of a budget; a budget below zero keeps nothing back. */
function withoutContingency(cents: Cents, share: number): Cents {
  return cents > 0 ? roundToCents(cents * (1 - share)) : cents;
}
