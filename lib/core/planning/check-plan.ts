import { formatCents } from "@/lib/core/shared/money";
import {
  budgetYearsOf,
  familyOf,
  type PlanAssignment,
  type PlanProblem,
  type PlanSchedule,
} from "./problem";

/** What a plan really costs and uses, by the rules alone. */
export type PlanCheck = {
  /** Every rule that the plan breaks, in words; empty for a plan that may be stored. */
  readonly violations: readonly string[];
  /** Present-value cents: choices, upgrades, visits and the priced excess over a soft cap. */
  readonly objectiveCents: number;
  /** By budget year, undiscounted. */
  readonly spentCents: Readonly<Record<string, number>>;
  /** By budget year: the budget with what came over from earlier years; null without a limit. */
  readonly availableCents: Readonly<Record<string, number | null>>;
  /** By period. */
  readonly hours: Readonly<Record<string, number>>;
  readonly kg: number;
  /** Kilograms above the cap; 0 without one. */
  readonly excessKg: number;
};

/** Hours, loads and kilograms are sums of floating-point numbers: a share of this is forgiven. */
const RELATIVE_TOLERANCE = 1e-9;

/**
 * Checks a plan against the rules and costs it anew. It shares no code with the solvers and reads
 * nothing but the problem, so that a mistake in one is caught by the other. Every plan passes here
 * before it is stored.
 */
export function checkPlan(problem: PlanProblem, plan: PlanSchedule): PlanCheck {
  const violations: string[] = [];
  const periodIndex = new Map(problem.periods.map((period, index) => [period.id, index]));
  const buildings = new Map(problem.buildings.map((building) => [building.id, building]));
  const lines = new Map(plan.assignments.map((line) => [line.heater, line]));
  const spent = new Map<string, number>();
  const hours = new Map<string, number>();
  const loads = new Map<string, number[]>();
  const visits = new Set<string>();
  let objective = 0;
  let kg = 0;

  const spend = (year: string, cents: number) => spent.set(year, (spent.get(year) ?? 0) + cents);
  const visitKey = (building: string, period: string) => JSON.stringify([building, period]);

  for (const event of plan.mobilisations) {
    const building = buildings.get(event.building);
    const period = problem.periods[periodIndex.get(event.period) ?? -1];
    if (!building || !period) {
      violations.push(`Visit to "${event.building}" in "${event.period}": no such place or period`);
      continue;
    }
    if (visits.has(visitKey(event.building, event.period))) {
      violations.push(`Visit to ${event.building} in ${event.period} is listed twice`);
      continue;
    }
    visits.add(visitKey(event.building, event.period));
    objective += building.mobilisationCents * period.discount;
    spend(period.budgetYear, building.mobilisationCents);
  }

  const upgradePeriod = new Map<string, number>();
  for (const event of plan.upgrades) {
    const upgrade = buildings.get(event.building)?.upgrade;
    const index = periodIndex.get(event.period) ?? -1;
    const period = problem.periods[index];
    if (!upgrade || !period) {
      violations.push(`Upgrade of "${event.building}" in "${event.period}" is not possible`);
      continue;
    }
    if (upgradePeriod.has(event.building)) {
      violations.push(`${event.building} is upgraded twice`);
      continue;
    }
    upgradePeriod.set(event.building, index);
    objective += upgrade.cents * period.discount;
    spend(period.budgetYear, upgrade.cents);
  }

  const known = new Set(problem.heaters.map((heater) => heater.id));
  for (const line of plan.assignments) {
    if (!known.has(line.heater)) violations.push(`There is no heater "${line.heater}"`);
  }
  if (lines.size < plan.assignments.length) violations.push("A heater has more than one line");

  for (const heater of problem.heaters) {
    const line = lines.get(heater.id);
    if (!line) {
      violations.push(`Heater ${heater.id} has no line`);
      continue;
    }
    if ("never" in line) {
      if (heater.never === null) violations.push(`Heater ${heater.id} may not be left`);
      if (heater.lock !== null && heater.lock !== "never") {
        violations.push(`Heater ${heater.id} is committed to ${describe(heater.lock)}`);
      }
      objective += heater.never?.costCents ?? 0;
      kg += heater.never?.kg ?? 0;
      continue;
    }
    if (
      heater.lock !== null &&
      (heater.lock === "never" ||
        heater.lock.option !== line.option ||
        heater.lock.period !== line.period)
    ) {
      violations.push(`Heater ${heater.id} is committed to ${describe(heater.lock)}`);
    }
    const choice = heater.choices.find(
      (each) => each.option === line.option && each.period === line.period,
    );
    const index = periodIndex.get(line.period) ?? -1;
    const period = problem.periods[index];
    if (!choice || !period) {
      violations.push(`Heater ${heater.id} has no choice ${describe(line)}`);
      continue;
    }
    objective += choice.costCents;
    kg += choice.kg;
    spend(period.budgetYear, choice.capitalCents);
    hours.set(period.id, (hours.get(period.id) ?? 0) + choice.hours);
    const load = loads.get(heater.building) ?? problem.periods.map(() => 0);
    load[index] += choice.circuit;
    loads.set(heater.building, load);
    if (
      (buildings.get(heater.building)?.mobilisationCents ?? 0) > 0 &&
      !visits.has(visitKey(heater.building, period.id))
    ) {
      violations.push(`Heater ${heater.id} is swapped in ${period.id} without a visit`);
    }
  }

  for (const building of problem.buildings) {
    if (building.headroom === null) continue;
    let carried = 0;
    for (const [index, period] of problem.periods.entries()) {
      carried += loads.get(building.id)?.[index] ?? 0;
      const upgraded = (upgradePeriod.get(building.id) ?? Number.POSITIVE_INFINITY) <= index;
      const room = building.headroom + (upgraded ? (building.upgrade?.adds ?? 0) : 0);
      if (exceeds(carried, room)) {
        violations.push(
          `${building.id} carries ${carried} of new load in ${period.id}, with room for ${room}`,
        );
        break;
      }
    }
  }

  violations.push(...brokenStacks(problem, lines));

  const available: Record<string, number | null> = {};
  let carriedOver = 0;
  for (const year of budgetYearsOf(problem)) {
    const budget = problem.budgets[year];
    if (!budget) {
      available[year] = null;
      carriedOver = 0;
      continue;
    }
    const room = budget.cents + carriedOver;
    const used = spent.get(year) ?? 0;
    available[year] = room;
    if (exceeds(used, room)) {
      violations.push(`${year}: ${formatCents(used)} are spent of ${formatCents(room)}`);
    }
    carriedOver = budget.carryOver * (room - used);
  }

  for (const [period, limit] of Object.entries(problem.crewHours)) {
    const used = hours.get(period) ?? 0;
    if (exceeds(used, limit)) {
      violations.push(`${period}: ${used} crew hours are used of ${limit}`);
    }
  }

  let excessKg = 0;
  const cap = problem.emissionCap;
  if (cap !== null && exceeds(kg, cap.kg)) {
    excessKg = kg - cap.kg;
    if (cap.excessCentsPerKg === null) {
      violations.push(`Emissions are ${kg} kg, the cap is ${cap.kg} kg`);
    } else {
      objective += excessKg * cap.excessCentsPerKg;
    }
  }

  return {
    violations,
    objectiveCents: objective,
    spentCents: Object.fromEntries(budgetYearsOf(problem).map((y) => [y, spent.get(y) ?? 0])),
    availableCents: available,
    hours: Object.fromEntries(problem.periods.map(({ id }) => [id, hours.get(id) ?? 0])),
    kg,
    excessKg,
  };
}

/** Stacks of which not all heaters are left, or get options of one family in one period. */
function brokenStacks(
  problem: PlanProblem,
  lines: ReadonlyMap<string, PlanAssignment>,
): readonly string[] {
  if (!problem.stacks || problem.stacks.length === 0) return [];
  const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
  return problem.stacks.flatMap((stack) => {
    const ways = new Set<string>();
    for (const id of stack.heaters) {
      const line = lines.get(id);
      if (!line) continue;
      if ("never" in line) ways.add("left");
      else {
        const choice = heaters
          .get(id)
          ?.choices.find(({ option, period }) => option === line.option && period === line.period);
        ways.add(`${familyOf(choice ?? line)} in ${line.period}`);
      }
    }
    return ways.size <= 1
      ? []
      : [`The heaters of stack ${stack.id} do not go together: ${[...ways].join(", ")}`];
  });
}

function exceeds(used: number, limit: number): boolean {
  return used > limit + RELATIVE_TOLERANCE * Math.max(1, Math.abs(limit), Math.abs(used));
}

function describe(line: "never" | { readonly option: string; readonly period: string }): string {
  return line === "never" ? "never" : `${line.option} in ${line.period}`;
}
