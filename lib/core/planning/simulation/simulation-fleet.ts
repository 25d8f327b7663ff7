import type { Technology } from "@/lib/core/heaters/vocabulary";
import {
  type CostingContext,
  type CostingInput,
  type DeviceUse,
  emergencyOption,
  installIndexOf,
  swapCentsOf,
} from "@/lib/core/planning/costing";
import { termsAt } from "@/lib/core/planning/plant-conversion";
import { budgetYearsOf, type PlanProblem } from "@/lib/core/planning/problem";

/**
 * A portfolio as columns for the simulation: what an emergency does at each heater, and what limits a
 * year. Money is undiscounted cents. `options` has O codes, column O of the kilograms is the heater that
 * stands there today.
 */
export type SimulationFleet = {
  readonly heaters: number;
  readonly periods: number;
  readonly years: readonly string[];
  /** Position in `years` of each period. */
  readonly yearOf: Uint8Array;
  readonly periodYears: Float64Array;
  readonly startsAfterYears: Float64Array;
  readonly gridIndex: Float64Array;
  /** By year: the whole budget, contingency included; Infinity without a limit. */
  readonly budgetCents: Float64Array;
  readonly carryOver: Float64Array;
  /** By period; Infinity without a limit. */
  readonly crewHours: Float64Array;
  readonly options: readonly string[];
  readonly technologies: readonly Technology[];
  /** Option by option and period by period: installed cost relative to today's. */
  readonly installIndex: Float64Array;
  /** By heater and period: position in `options` of what it gets when it fails. */
  readonly emergencyOption: Uint8Array;
  /** By heater and option, at today's prices: in place of the heater of today, and of its own like. */
  readonly firstSwapCents: Float64Array;
  readonly likeSwapCents: Float64Array;
  readonly swapHours: Float64Array;
  /** By heater: premium, damage and days without hot water of one emergency. */
  readonly consequenceCents: Float64Array;
  /** By heater: homes × days without hot water of one emergency. */
  readonly homeDays: Float64Array;
  /** By heater and device: kg CO2e a year that stay, and those that follow the grid. */
  readonly steadyKg: Float64Array;
  readonly gridKg: Float64Array;
  readonly building: Int32Array;
  readonly visitCents: Float64Array;
};

/**
 * @param daysWithoutHotWater days that each home behind a failed heater is without
 * @param budgets the whole budgets, of which `problem.budgets` is what the plan may use
 */
export function prepareSimulation(
  context: CostingContext,
  inputs: readonly CostingInput[],
  problem: PlanProblem,
  {
    budgets,
    daysWithoutHotWater,
  }: {
    readonly budgets: PlanProblem["budgets"];
    readonly daysWithoutHotWater: number;
  },
): SimulationFleet {
  const T = context.periods.length;
  const N = inputs.length;
  const years = budgetYearsOf(problem);
  const { terms } = context;
  const codes = new Set([...terms.options, ...terms.emergency.otherwise]);
  if (terms.emergency.whenReady !== null) codes.add(terms.emergency.whenReady);
  const options = [...codes].map((code) => {
    const option = context.options.get(code);
    if (!option) throw new RangeError(`the catalogue has no option "${code}"`);
    return option;
  });
  const O = options.length;
  const optionIndex = new Map(options.map(({ code }, o) => [code, o]));
  const buildingIndex = new Map(problem.buildings.map(({ id }, b) => [id, b]));

  const installIndex = new Float64Array(O * T);
  options.forEach((option, o) => {
    installIndex.set(installIndexOf(context, option.terms), o * T);
  });
  const fleet = {
    emergencyOption: new Uint8Array(N * T),
    firstSwapCents: new Float64Array(N * O),
    likeSwapCents: new Float64Array(N * O),
    swapHours: new Float64Array(N * O),
    homeDays: new Float64Array(N),
    steadyKg: new Float64Array(N * (O + 1)),
    gridKg: new Float64Array(N * (O + 1)),
  };
  inputs.forEach((input, i) => {
    const homes = input.homesServed ?? 1;
    fleet.homeDays[i] = homes * daysWithoutHotWater;
    for (let t = 0; t < T; t++) {
      fleet.emergencyOption[i * T + t] =
        optionIndex.get(emergencyOption(context, input, t)) ?? Number.NaN;
    }
    const enter = (device: number, use: DeviceUse | undefined) => {
      if (!use) return;
      fleet.steadyKg[i * (O + 1) + device] = use.refrigerantKgPerYear;
      for (const { fuel, kgPerYear } of use.energy) {
        const column = fuel === "electricity" ? fleet.gridKg : fleet.steadyKg;
        column[i * (O + 1) + device] += kgPerYear;
      }
    };
    enter(O, input.now);
    options.forEach((option, o) => {
      enter(o, input.after[option.code]);
      const grown = termsAt(option.terms, input);
      fleet.firstSwapCents[i * O + o] = swapCentsOf(grown, input.technology);
      fleet.likeSwapCents[i * O + o] = swapCentsOf(grown, grown.technology);
      fleet.swapHours[i * O + o] = grown.crewHours.value;
    });
  });
  return {
    ...fleet,
    heaters: N,
    periods: T,
    years,
    yearOf: Uint8Array.from(context.periods, ({ budgetYear }) => years.indexOf(budgetYear)),
    periodYears: Float64Array.from(context.periods, (period) => period.years),
    startsAfterYears: Float64Array.from(context.periods, (period) => period.startsAfterYears),
    gridIndex: context.gridIndex,
    budgetCents: Float64Array.from(
      years,
      (year) => budgets[year]?.cents ?? Number.POSITIVE_INFINITY,
    ),
    carryOver: Float64Array.from(years, (year) => budgets[year]?.carryOver ?? 0),
    crewHours: Float64Array.from(
      context.periods,
      ({ id }) => problem.crewHours[id] ?? Number.POSITIVE_INFINITY,
    ),
    options: options.map(({ code }) => code),
    technologies: options.map((option) => option.terms.technology),
    installIndex,
    consequenceCents: Float64Array.from(inputs, (input) => input.consequenceCents),
    building: Int32Array.from(inputs, ({ building }) => buildingIndex.get(building) ?? -1),
    visitCents: Float64Array.from(problem.buildings, (building) => building.mobilisationCents),
  };
}
