import { z } from "zod";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import { isCombustion, isHeatPump } from "@/lib/core/heaters/vocabulary";
import {
  defaultPeriods,
  type ScenarioPeriod,
  type ScenarioTerms,
  scenarioTermsSchema,
} from "@/lib/core/planning/scenario";
import {
  type CalendarDay,
  calendarDay,
  isCalendarDay,
  monthOf,
  yearsBetween,
} from "@/lib/core/shared/calendar-day";
import { failure, type Outcome, type Problem, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";

/**
 * The scenario as a person fills it in: texts, dollars and percents. The same rules run in the
 * browser while the form is filled in and on the server when it is sent.
 */

/** What the form must know of a catalogue option. */
export type FormOption = {
  readonly code: string;
  readonly name: string;
  readonly technology: Technology;
};

export type ScenarioFormValues = {
  readonly name: string;
  readonly quarters: string;
  readonly years: string;
  readonly budget: string;
  readonly budgetGrowthPercent: string;
  /** Years whose budget is not what the yearly budget and its growth give. */
  readonly yearBudgets: Readonly<Record<string, string>>;
  readonly carryOverPercent: string;
  readonly contingencyPercent: string;
  readonly crewHoursPerMonth: string;
  readonly realDiscountPercent: string;
  readonly installChangePercent: string;
  readonly gasChangePercent: string;
  readonly electricityChangePercent: string;
  readonly gridChangePercent: string;
  readonly carbonDollarsPerTonne: string;
  readonly residentPercent: string;
  readonly unknownWorkPercent: string;
  readonly options: readonly string[];
  readonly emergencyReady: string;
  readonly gasEndsOn: string;
  readonly latestAgeYears: string;
  readonly capTonnes: string;
  readonly capYear: string;
  readonly capDollarsPerTonne: string;
};

export const QUARTER_CHOICES = ["4", "8", "12", "16"] as const;

type NumberRule = {
  readonly min: number;
  readonly max: number;
  /** What is wrong when it is below `min`. */
  readonly below: string;
  readonly above: string;
  readonly unit?: string;
};

/** Reads `$1,250.50`, `3 %`, `-2`: a number in a text. */
function readNumber(text: string): number {
  const plain = text.replace(/[$,%\s]/g, "");
  return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : Number.NaN;
}

function numberField(label: string, rule: NumberRule) {
  return z.string().transform((text, context) => {
    const value = readNumber(text);
    const complaint =
      text.trim() === ""
        ? `${label} is missing.`
        : Number.isNaN(value)
          ? `"${text}" is not a number.`
          : value < rule.min
            ? rule.below
            : value > rule.max
              ? rule.above
              : null;
    if (complaint !== null) {
      context.addIssue({ code: "custom", message: complaint });
      return z.NEVER;
    }
    return value;
  });
}

function optionalNumberField(label: string, rule: NumberRule) {
  const field = numberField(label, rule);
  return z.string().transform((text, context) => {
    if (text.trim() === "") return null;
    const result = field.safeParse(text);
    if (result.success) return result.data;
    for (const { message } of result.error.issues) context.addIssue({ code: "custom", message });
    return z.NEVER;
  });
}

const MOST_DOLLARS = 1_000_000_000;

function percentField(label: string, min: number, max: number) {
  return numberField(label, {
    min,
    max,
    below: `${label} must be ${min} % or more.`,
    above: `${label} must be ${max} % or less.`,
  });
}

const formSchema = z.object({
  name: z
    .string()
    .trim()
    .min(1, "Give the scenario a name.")
    .max(80, "Keep the name to 80 characters."),
  quarters: z.enum(QUARTER_CHOICES, { error: "Choose how long the plan goes by quarters." }),
  years: numberField("The number of years", {
    min: 0,
    max: 25,
    below: "The years after the quarters cannot be fewer than 0.",
    above: "Plan at most 25 years after the quarters.",
  }).refine(Number.isInteger, "Give whole years."),
  budget: numberField("The yearly budget", {
    min: 0.01,
    max: MOST_DOLLARS,
    below: "The yearly budget must be above $0: without money there is nothing to plan.",
    above: "The yearly budget is above a billion dollars: check the number.",
  }),
  budgetGrowthPercent: percentField("The growth of the budget", -50, 50),
  yearBudgets: z.record(
    z.string().regex(/^\d{4}$/),
    optionalNumberField("The budget", {
      min: 0,
      max: MOST_DOLLARS,
      below: "A budget cannot be negative.",
      above: "The budget is above a billion dollars: check the number.",
    }),
  ),
  carryOverPercent: percentField("The carry-over", 0, 100),
  contingencyPercent: percentField("The contingency", 0, 90),
  crewHoursPerMonth: optionalNumberField("Crew hours", {
    min: 1,
    max: 1_000_000,
    below: "Crew hours must be above 0; leave the field empty when crews are no limit.",
    above: "That is more than a million hours a month: check the number.",
  }),
  realDiscountPercent: percentField("The real discount rate", 0, 30),
  installChangePercent: percentField("The change of installed cost", -20, 30),
  gasChangePercent: percentField("The change of the gas price", -20, 30),
  electricityChangePercent: percentField("The change of the electricity price", -20, 30),
  gridChangePercent: percentField("The change of the grid's emissions", -30, 30),
  carbonDollarsPerTonne: numberField("The carbon price", {
    min: 0,
    max: 10_000,
    below: "The carbon price cannot be negative.",
    above: "The carbon price is above $10,000 a tonne: check the number.",
  }),
  residentPercent: percentField("The weight of residents' bills", 0, 100),
  unknownWorkPercent: percentField("The share of unknowns that need work", 0, 100),
  options: z.array(z.string()).min(1, "Choose at least one option to plan with."),
  emergencyReady: z.string(),
  gasEndsOn: z
    .string()
    .refine((text) => text === "" || isCalendarDay(text), "Give a day, or leave it empty."),
  latestAgeYears: optionalNumberField("The latest age", {
    min: 1,
    max: 100,
    below: "The latest age must be 1 year or more; leave the field empty for none.",
    above: "The latest age must be 100 years or less.",
  }),
  capTonnes: optionalNumberField("The emission cap", {
    min: 0.001,
    max: 1e9,
    below: "The emission cap must be above 0 tonnes; leave the field empty for none.",
    above: "The emission cap is above a billion tonnes: check the number.",
  }),
  capYear: z.string(),
  capDollarsPerTonne: optionalNumberField("The price of the excess", {
    min: 0,
    max: 1e6,
    below: "The price of the excess cannot be negative.",
    above: "The price of the excess is above a million dollars a tonne: check the number.",
  }),
});

/** The periods that the form's horizon gives, beginning with the quarter after `today`. */
export function periodsOfForm(
  today: CalendarDay,
  values: Pick<ScenarioFormValues, "quarters" | "years">,
): readonly ScenarioPeriod[] {
  const years = Math.min(25, Math.max(0, Math.trunc(readNumber(values.years) || 0)));
  const quarters = Math.max(1, readNumber(values.quarters) || 12);
  return defaultPeriods(today, years, quarters);
}

export type FormBudgetYear = {
  readonly year: string;
  /** Months of the year that the plan covers. */
  readonly months: number;
  /** What the yearly budget and its growth give, in whole dollars; null while they are no numbers. */
  readonly dollars: number | null;
};

/** Budget of each year from the one number and its growth; a year in part gets its share. */
export function budgetYearsOfForm(
  today: CalendarDay,
  values: Pick<ScenarioFormValues, "quarters" | "years" | "budget" | "budgetGrowthPercent">,
): readonly FormBudgetYear[] {
  const months = new Map<string, number>();
  for (const period of periodsOfForm(today, values)) {
    months.set(period.budgetYear, (months.get(period.budgetYear) ?? 0) + monthsOf(period));
  }
  const base = readNumber(values.budget);
  const growth = readNumber(values.budgetGrowthPercent) / 100;
  return [...months].map(([year, count], index) => {
    const dollars = Math.round(((base * count) / 12) * (1 + growth) ** index);
    return { year, months: count, dollars: Number.isFinite(dollars) ? dollars : null };
  });
}

function monthsOf(period: ScenarioPeriod): number {
  return Math.round(yearsBetween(calendarDay(period.start), calendarDay(period.end)) * 12);
}

/** Reads the form as scenario terms, or says everything that is wrong with it. */
export function readScenarioForm(
  values: ScenarioFormValues,
  { today, catalogue }: { readonly today: CalendarDay; readonly catalogue: readonly FormOption[] },
): Outcome<{ readonly name: string; readonly terms: ScenarioTerms }> {
  const parsed = parseWith(formSchema, values);
  if (!parsed.ok) return parsed;
  const form = parsed.value;
  const problems: Problem[] = [];
  const known = new Map(catalogue.map((option) => [option.code, option]));
  for (const code of form.options) {
    if (!known.has(code)) {
      problems.push({ path: "options", message: `The catalogue has no option "${code}".` });
    }
  }
  if (form.emergencyReady !== "" && !known.has(form.emergencyReady)) {
    problems.push({ path: "emergencyReady", message: "Choose an option of the catalogue." });
  }
  const otherwise = likeForLikeOptions(catalogue);
  if (otherwise.length === 0) {
    problems.push({
      path: "options",
      message: "The catalogue has no gas or electric tank for emergencies: make one active.",
    });
  }

  const periods = periodsOfForm(today, values);
  const budgets: Record<string, { cents: number; carryOver: number }> = {};
  for (const { year, dollars } of budgetYearsOfForm(today, values)) {
    const cents = Math.round((form.yearBudgets[year] ?? dollars ?? 0) * 100);
    budgets[year] = { cents, carryOver: form.carryOverPercent / 100 };
  }
  if (Object.values(budgets).every(({ cents }) => cents === 0)) {
    problems.push({
      path: "budget",
      message: "The budget is $0 in every year: give at least one year some money.",
    });
  }
  if (form.capTonnes !== null && form.capYear !== "" && !budgets[form.capYear]) {
    problems.push({ path: "capYear", message: `The plan has no year ${form.capYear}.` });
  }
  if (problems.length > 0) return failure(...problems);

  const steady = (percent: number) => ({ changePerYear: percent / 100, byYear: {} });
  const { crewHoursPerMonth } = form;
  const terms = parseWith(scenarioTermsSchema, {
    startDay: today,
    periods,
    budgets,
    crewHours:
      crewHoursPerMonth === null
        ? {}
        : Object.fromEntries(
            periods.map((period) => [period.id, crewHoursPerMonth * monthsOf(period)]),
          ),
    realDiscountRate: form.realDiscountPercent / 100,
    installCostChangePerYear: form.installChangePercent / 100,
    carbonCentsPerTonne: Math.round(form.carbonDollarsPerTonne * 100),
    residentEnergyWeight: form.residentPercent / 100,
    unknownNeedsWorkShare: form.unknownWorkPercent / 100,
    energyPrices: {
      "natural-gas": steady(form.gasChangePercent),
      propane: steady(form.gasChangePercent),
      "fuel-oil": steady(form.gasChangePercent),
      electricity: steady(form.electricityChangePercent),
    },
    gridEmissions: steady(form.gridChangePercent),
    options: catalogue.filter(({ code }) => form.options.includes(code)).map(({ code }) => code),
    emergency: {
      whenReady: form.emergencyReady === "" ? null : form.emergencyReady,
      otherwise,
    },
    contingencyShare: form.contingencyPercent / 100,
    policies:
      form.gasEndsOn === ""
        ? []
        : [
            {
              from: form.gasEndsOn,
              technologies: ["gas-storage", "gas-instantaneous"],
              note: "Gas is not allowed from this day",
            },
          ],
    latestAgeYears: form.latestAgeYears,
    emissionCap:
      form.capTonnes === null
        ? null
        : {
            kg: form.capTonnes * 1000,
            budgetYear: form.capYear === "" ? null : form.capYear,
            excessCentsPerKg:
              form.capDollarsPerTonne === null ? null : form.capDollarsPerTonne / 10,
          },
  });
  if (!terms.ok) return terms;
  return success({ name: form.name, terms: terms.value });
}

/** What a failed heater gets when nothing better is ready: gas where there is gas, else electric. */
export function likeForLikeOptions(catalogue: readonly FormOption[]): string[] {
  const plain = catalogue.filter(({ technology }) => !isHeatPump(technology));
  return [
    ...plain.filter(({ technology }) => isCombustion(technology)),
    ...plain.filter(({ technology }) => !isCombustion(technology)),
  ].map(({ code }) => code);
}

/** Dollars a year for each heater that a first scenario begins with: one in 12 swapped, near $4,000, and the emergencies of an old fleet. Assumed. */
const DOLLARS_PER_HEATER = 500;
/** Crew hours a month for each heater that a first scenario begins with. Assumed. */
const CREW_HOURS_PER_HEATER = 1 / 16;

/** A form to start from, in proportion to the heaters in service. Every number in it is assumed. */
export function startingForm(
  catalogue: readonly FormOption[],
  heatersInService: number,
): ScenarioFormValues {
  const heatPump = catalogue.find(({ technology }) => technology === "heat-pump-storage");
  return {
    name: "First plan",
    quarters: "12",
    years: "12",
    budget: String(Math.max(10_000, roundTo(heatersInService * DOLLARS_PER_HEATER, 10_000))),
    budgetGrowthPercent: "0",
    yearBudgets: {},
    carryOverPercent: "0",
    contingencyPercent: "10",
    crewHoursPerMonth: String(Math.max(10, roundTo(heatersInService * CREW_HOURS_PER_HEATER, 5))),
    realDiscountPercent: "3",
    installChangePercent: "0",
    gasChangePercent: "0",
    electricityChangePercent: "0",
    gridChangePercent: "0",
    carbonDollarsPerTonne: "0",
    residentPercent: "100",
    unknownWorkPercent: "50",
    options: catalogue.filter(({ technology }) => isHeatPump(technology)).map(({ code }) => code),
    emergencyReady: heatPump?.code ?? "",
    gasEndsOn: "",
    latestAgeYears: "",
    capTonnes: "",
    capYear: "",
    capDollarsPerTonne: "",
  };
}

function roundTo(value: number, step: number): number {
  return Math.round(value / step) * step;
}

/** A stored scenario as the form shows it: the first full year's budget, and every year as it is. */
export function formOfTerms(name: string, terms: ScenarioTerms): ScenarioFormValues {
  const percent = (share: number) => String(Math.round(share * 1e6) / 1e4);
  const dollars = (cents: number) => String(Math.round(cents) / 100);
  const quarters = terms.periods.filter(({ id }) => id.includes("-Q"));
  const fullYear = terms.periods.find(
    ({ start, budgetYear }) => monthOf(calendarDay(start)) === 1 && terms.budgets[budgetYear],
  );
  const base = terms.budgets[fullYear?.budgetYear ?? ""]?.cents ?? 0;
  const [firstPeriod] = terms.periods;
  const firstHours = firstPeriod ? terms.crewHours[firstPeriod.id] : undefined;
  const gas = terms.policies.find(({ technologies }) => technologies.includes("gas-storage"));
  const chosenQuarters =
    QUARTER_CHOICES.findLast((choice) => Number(choice) <= quarters.length) ?? "4";
  return {
    name,
    quarters: chosenQuarters,
    years: String(terms.periods.length - quarters.length),
    budget: dollars(base),
    budgetGrowthPercent: "0",
    yearBudgets: Object.fromEntries(
      Object.entries(terms.budgets)
        .filter(([, { cents }]) => cents !== base)
        .map(([year, { cents }]) => [year, dollars(cents)]),
    ),
    carryOverPercent: percent(Object.values(terms.budgets)[0]?.carryOver ?? 0),
    contingencyPercent: percent(terms.contingencyShare),
    crewHoursPerMonth:
      firstPeriod && firstHours !== undefined
        ? String(Math.round((firstHours / monthsOf(firstPeriod)) * 100) / 100)
        : "",
    realDiscountPercent: percent(terms.realDiscountRate),
    installChangePercent: percent(terms.installCostChangePerYear),
    gasChangePercent: percent(terms.energyPrices["natural-gas"]?.changePerYear ?? 0),
    electricityChangePercent: percent(terms.energyPrices.electricity?.changePerYear ?? 0),
    gridChangePercent: percent(terms.gridEmissions.changePerYear),
    carbonDollarsPerTonne: dollars(terms.carbonCentsPerTonne),
    residentPercent: percent(terms.residentEnergyWeight),
    unknownWorkPercent: percent(terms.unknownNeedsWorkShare),
    options: terms.options,
    emergencyReady: terms.emergency.whenReady ?? "",
    gasEndsOn: gas?.from ?? "",
    latestAgeYears: terms.latestAgeYears === null ? "" : String(terms.latestAgeYears),
    capTonnes: terms.emissionCap === null ? "" : String(terms.emissionCap.kg / 1000),
    capYear: terms.emissionCap?.budgetYear ?? "",
    capDollarsPerTonne:
      terms.emissionCap?.excessCentsPerKg == null
        ? ""
        : String(terms.emissionCap.excessCentsPerKg * 10),
  };
}
