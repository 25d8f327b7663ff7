import { type Cents, formatCents } from "@/lib/core/shared/money";
import { fitsAlone } from "./fits-alone";
import {
  budgetYearsOf,
  choiceKey,
  familyOf,
  type PlanChoice,
  type PlanHeater,
  type PlanProblem,
} from "./problem";

/**
 * Why no plan can exist, where it can be seen without solving: a heater with nothing left to choose,
 * commitments that need more money, hours or load than there is, a cap that the cleanest choices miss.
 * Each sentence alone is proof. Empty says nothing: a conflict of several limits needs a solver.
 */
export function explainInfeasibility(problem: PlanProblem): readonly string[] {
  const reasons: string[] = [];
  const fits = fitsAlone(problem);
  for (const heater of problem.heaters) {
    if (heater.lock !== null || heater.never !== null) continue;
    if (heater.choices.length === 0) {
      reasons.push(`Heater ${heater.id}: no option is allowed, and it may not be left as it is.`);
    } else if (!heater.choices.some((choice) => fits(heater, choice))) {
      reasons.push(
        `Heater ${heater.id}: it may not be left as it is, and no option fits the money, the crew hours ` +
          "and the electrical service of any period, even with nothing else done.",
      );
    }
  }
  if (reasons.length > 0) return reasons;

  const committed = problem.heaters.flatMap((heater) => {
    const choice = onlyChoiceOf(heater);
    return choice === null ? [] : [{ heater, choice }];
  });
  return [
    ...explainMoney(problem, committed),
    ...explainCrews(problem, committed),
    ...explainElectrical(problem, committed),
    ...explainEmissions(problem),
  ];
}

/**
 * Stacks for which nothing is left: commitments of its heaters that do not go together, or no family of
 * options and period that all of them have while one may not be left.
 */
export function explainStacks(problem: PlanProblem): readonly string[] {
  const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
  return (problem.stacks ?? []).flatMap((stack) => {
    const members = stack.heaters.flatMap((id) => heaters.get(id) ?? []);
    const wayOf = ({ choices, lock }: PlanHeater): readonly string[] => {
      if (lock === "never") return [];
      return choices
        .filter(
          ({ option, period }) =>
            lock === null || (lock.option === option && lock.period === period),
        )
        .map((choice) => choiceKey(familyOf(choice), choice.period));
    };
    const mayBeLeft = members.every(
      ({ never, lock }) => never !== null && (lock === null || lock === "never"),
    );
    if (mayBeLeft || members.length === 0) return [];
    const [first, ...others] = members.map((heater) => new Set(wayOf(heater)));
    if ([...first].some((way) => others.every((ways) => ways.has(way)))) return [];
    const committed = members.filter(({ lock }) => lock !== null);
    if (committed.length === 0) {
      return [
        `Stack ${stack.id}: a heater of it may not be left as it is, and there is no period in which ` +
          "all of its heaters have an option of one family.",
      ];
    }
    const said = committed.map(({ id, lock }) =>
      lock === null || lock === "never"
        ? `${id} to stay`
        : `${id} to ${lock.option} in ${lock.period}`,
    );
    return [
      `Stack ${stack.id}: its heaters must go together, which these commitments do not allow: ` +
        `${said.join(", ")}.`,
    ];
  });
}

/** Limits that a solver found to conflict, by position. */
export type ConflictingLimits = {
  readonly budgetYears: readonly number[];
  readonly crewPeriods: readonly number[];
  readonly buildings: readonly number[];
  readonly heaters: readonly number[];
  readonly emissions: boolean;
};

/** A conflict of several limits in words: which limits cannot all be kept, and for which heaters. */
export function explainConflict(
  problem: PlanProblem,
  conflict: ConflictingLimits,
): readonly string[] {
  const years = budgetYearsOf(problem);
  const limits = [
    ...conflict.budgetYears.map((k) => {
      const year = years[k];
      return `the budget of ${year} (${money(problem.budgets[year].cents)})`;
    }),
    ...conflict.crewPeriods.map((t) => {
      const { id } = problem.periods[t];
      return `the crew hours of ${id} (${amount(problem.crewHours[id])})`;
    }),
    ...conflict.buildings.map((b) => `the electrical service of ${problem.buildings[b].id}`),
    ...(conflict.emissions && problem.emissionCap
      ? [`the emission cap (${amount(problem.emissionCap.kg)} kg)`]
      : []),
  ];
  const due = conflict.heaters
    .map((index) => problem.heaters[index])
    .filter((heater) => heater.never === null || heater.lock !== null)
    .map((heater) => heater.id);
  const sentence =
    limits.length > 0
      ? `No plan keeps all of these: ${limits.join(", ")}.`
      : "No plan keeps all limits.";
  return due.length === 0
    ? [sentence]
    : [sentence, `Heaters that are committed or must be replaced here: ${listed(due)}.`];
}

/** A cap below `leastKg`, which every plan that keeps the other limits emits. */
export function explainUnreachableCap(problem: PlanProblem, leastKg: number): string {
  return (
    `Emissions: within the budgets, crew hours and electrical services given, no plan emits less ` +
    `than ${amount(leastKg)} kg; the cap is ${amount(problem.emissionCap?.kg ?? 0)} kg.`
  );
}

type Committed = readonly { readonly heater: PlanHeater; readonly choice: PlanChoice }[];

/** The one choice that a heater must take, because it is locked to it or nothing else is left. */
function onlyChoiceOf(heater: PlanHeater): PlanChoice | null {
  const { lock } = heater;
  if (lock === "never") return null;
  if (lock !== null) {
    return (
      heater.choices.find(
        ({ option, period }) => option === lock.option && period === lock.period,
      ) ?? null
    );
  }
  return heater.never === null && heater.choices.length === 1 ? heater.choices[0] : null;
}

function explainMoney(problem: PlanProblem, committed: Committed): readonly string[] {
  const yearOf = new Map(problem.periods.map(({ id, budgetYear }) => [id, budgetYear]));
  const visitCents = new Map(problem.buildings.map((each) => [each.id, each.mobilisationCents]));
  const needs = new Map<string, { cents: number; lines: number }>();
  const visits = new Set<string>();
  for (const { heater, choice } of committed) {
    const year = yearOf.get(choice.period) ?? "";
    const need = needs.get(year) ?? { cents: 0, lines: 0 };
    need.cents += choice.capitalCents;
    need.lines += 1;
    const visit = JSON.stringify([heater.building, choice.period]);
    if (!visits.has(visit)) need.cents += visitCents.get(heater.building) ?? 0;
    visits.add(visit);
    needs.set(year, need);
  }

  const reasons: string[] = [];
  let carriedOver = 0;
  for (const year of budgetYearsOf(problem)) {
    const budget = problem.budgets[year];
    if (!budget) {
      carriedOver = 0;
      continue;
    }
    const available = budget.cents + carriedOver;
    const need = needs.get(year) ?? { cents: 0, lines: 0 };
    if (need.cents > available + 1e-6) {
      const room = money(available);
      reasons.push(
        need.lines === 0
          ? `${year}: the budget is ${room}; even a year without swaps needs $0.`
          : `${year}: the ${need.lines} committed ${plural(need.lines, "line")} alone ` +
              `${need.lines === 1 ? "needs" : "need"} ` +
              `${money(need.cents)} of ${room}.`,
      );
    }
    carriedOver = budget.carryOver * Math.max(0, available - need.cents);
  }
  return reasons;
}

function explainCrews(problem: PlanProblem, committed: Committed): readonly string[] {
  return problem.periods.flatMap(({ id }) => {
    const limit = problem.crewHours[id];
    if (limit === undefined) return [];
    const here = committed.filter(({ choice }) => choice.period === id);
    const need = here.reduce((sum, { choice }) => sum + choice.hours, 0);
    if (need <= limit + 1e-6 && limit >= 0) return [];
    return here.length === 0
      ? [`${id}: ${amount(limit)} crew hours are fewer than none.`]
      : [
          `${id}: the ${here.length} committed ${plural(here.length, "line")} alone ` +
            `${here.length === 1 ? "needs" : "need"} ${amount(need)} crew hours of ${amount(limit)}.`,
        ];
  });
}

function explainElectrical(problem: PlanProblem, committed: Committed): readonly string[] {
  return problem.buildings.flatMap((building) => {
    if (building.headroom === null) return [];
    const here = committed.filter(
      ({ heater, choice }) => heater.building === building.id && choice.circuit > 0,
    );
    const load = here.reduce((sum, { choice }) => sum + choice.circuit, 0);
    const room = building.headroom + (building.upgrade?.adds ?? 0);
    if (load <= room + 1e-9) return [];
    return [
      `${building.id}: the ${here.length} committed ${plural(here.length, "line")} alone ` +
        `${here.length === 1 ? "adds" : "add"} a load of ${amount(load)} to an electrical service ` +
        `with room for ${amount(room)}${building.upgrade ? " after its upgrade" : ""}.`,
    ];
  });
}

function explainEmissions(problem: PlanProblem): readonly string[] {
  const cap = problem.emissionCap;
  if (cap === null || cap.excessCentsPerKg !== null) return [];
  let least = 0;
  for (const heater of problem.heaters) {
    const only = onlyChoiceOf(heater);
    if (only !== null) least += only.kg;
    else if (heater.lock === "never") least += heater.never?.kg ?? 0;
    else {
      let cleanest = heater.never?.kg ?? Number.POSITIVE_INFINITY;
      for (const choice of heater.choices) cleanest = Math.min(cleanest, choice.kg);
      least += cleanest;
    }
  }
  if (least <= cap.kg + 1e-6 * Math.max(1, Math.abs(cap.kg))) return [];
  return [
    `Emissions: the cleanest choice for every heater, whatever it costs, leaves ` +
      `${amount(least)} kg; the cap is ${amount(cap.kg)} kg.`,
  ];
}

/** Whole dollars where they are whole. */
function money(cents: Cents): string {
  return formatCents(cents, { whole: cents % 100 === 0 });
}

function amount(value: number): string {
  return new Intl.NumberFormat("en-US", { maximumFractionDigits: 1 }).format(value);
}

function plural(count: number, word: string): string {
  return count === 1 ? word : `${word}s`;
}

function listed(ids: readonly string[]): string {
  const shown = 10;
  return ids.length <= shown
    ? ids.join(", ")
    : `${ids.slice(0, shown).join(", ")} and ${ids.length - shown} more`;
}
