import type { ExpectedPeriod } from "./expected-outcome";
import { budgetYearsOf, type PlanProblem, type PlanSchedule } from "./problem";

/** One budget year of a plan. Money is undiscounted cents. */
export type LedgerYear = {
  readonly year: string;
  /** The whole budget, contingency included; null without a limit. */
  readonly budgetCents: number | null;
  readonly swapCents: number;
  readonly upgradeCents: number;
  readonly mobilisationCents: number;
  /** Kept for emergencies; null without a limit. */
  readonly contingencyCents: number | null;
  /** Budget with what came over, less all of the above; null without a limit. */
  readonly unspentCents: number | null;
  readonly swaps: number;
  readonly swapsByOption: Readonly<Record<string, number>>;
  readonly crewHours: number;
  /** Null when no period of the year has a limit. */
  readonly crewHoursAvailable: number | null;
  /** Expected number of failures before their planned swap. */
  readonly expectedEmergencies: number;
  /** Expected cost of those emergencies: swap, premium, damage, days without hot water. */
  readonly expectedEmergencyCents: number;
  /** Expected emissions, kg CO2e. */
  readonly expectedKg: number;
};

/**
 * The plan by budget year, as the board reads it.
 *
 * @param budgets the whole budgets, of which `problem.budgets` is what the plan may use
 * @param expected what `expectOutcome` says of this schedule, by period
 */
export function ledgerByYear(
  problem: PlanProblem,
  schedule: PlanSchedule,
  {
    budgets,
    expected,
  }: {
    readonly budgets: Readonly<Record<string, { readonly cents: number }>>;
    readonly expected: readonly ExpectedPeriod[];
  },
): readonly LedgerYear[] {
  const periodIndex = new Map(problem.periods.map(({ id }, index) => [id, index]));
  const buildings = new Map(problem.buildings.map((building) => [building.id, building]));
  const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
  const years = budgetYearsOf(problem);
  const rows = new Map(years.map((year) => [year, emptyRow()]));
  const rowOf = (period: string) => {
    const row = rows.get(problem.periods[periodIndex.get(period) ?? -1]?.budgetYear ?? "");
    if (!row) throw new RangeError(`there is no period "${period}"`);
    return row;
  };

  for (const line of schedule.assignments) {
    if ("never" in line) continue;
    const choice = heaters
      .get(line.heater)
      ?.choices.find(({ option, period }) => option === line.option && period === line.period);
    if (!choice) throw new RangeError(`heater "${line.heater}" has no such choice`);
    const row = rowOf(line.period);
    row.swapCents += choice.capitalCents;
    row.crewHours += choice.hours;
    row.swaps += 1;
    row.swapsByOption[line.option] = (row.swapsByOption[line.option] ?? 0) + 1;
  }
  for (const { building, period } of schedule.upgrades) {
    rowOf(period).upgradeCents += buildings.get(building)?.upgrade?.cents ?? 0;
  }
  for (const { building, period } of schedule.mobilisations) {
    rowOf(period).mobilisationCents += buildings.get(building)?.mobilisationCents ?? 0;
  }
  for (const { id } of problem.periods) {
    const limit = problem.crewHours[id];
    if (limit === undefined) continue;
    const row = rowOf(id);
    row.crewHoursAvailable = (row.crewHoursAvailable ?? 0) + limit;
  }

  for (const each of expected) {
    const row = rowOf(each.period);
    row.expectedEmergencies += each.emergencies;
    row.expectedEmergencyCents += each.emergencyCents;
    row.expectedKg += each.kg;
  }

  let carriedOver = 0;
  return years.map((year) => {
    const row = rows.get(year) ?? emptyRow();
    const planBudget = problem.budgets[year];
    const spent = row.swapCents + row.upgradeCents + row.mobilisationCents;
    const unspent = planBudget ? planBudget.cents + carriedOver - spent : null;
    carriedOver = planBudget && unspent !== null ? planBudget.carryOver * unspent : 0;
    const whole = budgets[year]?.cents ?? null;
    return {
      year,
      ...row,
      budgetCents: whole,
      contingencyCents: whole !== null && planBudget ? whole - planBudget.cents : null,
      unspentCents: unspent,
    };
  });
}

function emptyRow() {
  return {
    swapCents: 0,
    upgradeCents: 0,
    mobilisationCents: 0,
    swaps: 0,
    swapsByOption: {} as Record<string, number>,
    crewHours: 0,
    crewHoursAvailable: null as number | null,
    expectedEmergencies: 0,
    expectedEmergencyCents: 0,
    expectedKg: 0,
  };
}
