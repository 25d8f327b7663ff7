import { checkPlan, type PlanCheck } from "@/lib/core/planning/check-plan";
import type {
  BuildingEvent,
  PlanAssignment,
  PlanProblem,
  PlanSchedule,
} from "@/lib/core/planning/problem";

/**
 * Tries every combination of lines and upgrades and keeps the cheapest that passes the checker: the
 * judge of the solvers on problems of a few heaters. Null when no combination keeps the rules.
 *
 * @throws {RangeError} above `limit` combinations.
 */
export function planByBruteForce(
  problem: PlanProblem,
  limit = 2_000_000,
): { readonly schedule: PlanSchedule; readonly check: PlanCheck } | null {
  const lines: readonly (readonly PlanAssignment[])[] = problem.heaters.map((heater) => [
    ...(heater.never !== null ? [{ heater: heater.id, never: true as const }] : []),
    ...heater.choices.map(({ option, period }) => ({ heater: heater.id, option, period })),
  ]);
  const upgrades: readonly (readonly (BuildingEvent | null)[])[] = problem.buildings.map(
    (building) => [
      null,
      ...(building.upgrade && building.headroom !== null
        ? problem.periods.map(({ id }) => ({ building: building.id, period: id }))
        : []),
    ],
  );
  const radix = [...lines.map((each) => each.length), ...upgrades.map((each) => each.length)];
  const combinations = radix.reduce((product, each) => product * each, 1);
  if (combinations > limit) throw new RangeError(`${combinations} combinations are too many`);

  const buildingOf = new Map(problem.heaters.map((heater) => [heater.id, heater.building]));
  const charged = new Set(
    problem.buildings.filter((each) => each.mobilisationCents > 0).map((each) => each.id),
  );
  let best: { schedule: PlanSchedule; check: PlanCheck } | null = null;
  for (let number = 0; number < combinations; number++) {
    let rest = number;
    const digits = radix.map((each) => {
      const digit = rest % each;
      rest = Math.floor(rest / each);
      return digit;
    });
    const assignments = lines.map((each, index) => each[digits[index]]);
    const visits = new Map<string, BuildingEvent>();
    for (const line of assignments) {
      const building = buildingOf.get(line.heater) ?? "";
      if ("never" in line || !charged.has(building)) continue;
      visits.set(`${building}\n${line.period}`, { building, period: line.period });
    }
    const schedule = {
      assignments,
      upgrades: upgrades
        .map((each, index) => each[digits[lines.length + index]])
        .filter((event) => event !== null),
      mobilisations: [...visits.values()],
    };
    const check = checkPlan(problem, schedule);
    if (check.violations.length > 0) continue;
    if (best === null || check.objectiveCents < best.check.objectiveCents) {
      best = { schedule, check };
    }
  }
  return best;
}
