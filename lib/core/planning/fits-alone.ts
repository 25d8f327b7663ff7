import { budgetYearsOf, type PlanChoice, type PlanHeater, type PlanProblem } from "./problem";

/**
 * Whether a choice fits by itself: with nothing else done, its period's budget (with what could have
 * come over from earlier years), crew hours and the building's service can carry it. One that does not
 * can be in no plan.
 */
export function fitsAlone(
  problem: PlanProblem,
): (heater: PlanHeater, choice: PlanChoice) => boolean {
  const buildings = new Map(problem.buildings.map((building) => [building.id, building]));
  const most = new Map<string, number>();
  let carriedOver = 0;
  for (const year of budgetYearsOf(problem)) {
    const budget = problem.budgets[year];
    const available = budget ? budget.cents + carriedOver : Number.POSITIVE_INFINITY;
    most.set(year, available);
    carriedOver = budget ? budget.carryOver * Math.max(0, available) : 0;
  }
  const limits = new Map(
    problem.periods.map(({ id, budgetYear }) => [
      id,
      {
        cents: most.get(budgetYear) ?? Number.POSITIVE_INFINITY,
        hours: (problem.crewHours[id] ?? Number.POSITIVE_INFINITY) + 1e-9,
      },
    ]),
  );
  const unlimited = { cents: Number.POSITIVE_INFINITY, hours: Number.POSITIVE_INFINITY };
  return (heater, choice) => {
    const building = buildings.get(heater.building);
    if (!building) return true;
    const room =
      building.headroom === null
        ? Number.POSITIVE_INFINITY
        : building.headroom + (building.upgrade?.adds ?? 0);
    const { cents, hours } = limits.get(choice.period) ?? unlimited;
    return (
      choice.capitalCents + building.mobilisationCents <= cents &&
      choice.hours <= hours &&
      choice.circuit <= room * (1 + 1e-9)
    );
  };
}
