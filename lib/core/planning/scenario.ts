import { z } from "zod";
import { FUELS, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import {
  addMonths,
  type CalendarDay,
  dayFromParts,
  isCalendarDay,
  monthOf,
  yearOf,
  yearsBetween,
} from "@/lib/core/shared/calendar-day";
import type { PlanPeriod } from "./problem";

const day = z.string().refine(isCalendarDay, "must be a day such as 2027-06-30");
const finite = z.number();
const cents = z.int("must be a whole number of cents");

/** A price or factor by calendar year relative to today's, or a steady real change a year. */
const indexSchema = z.strictObject({
  /** Real change a year, above −1: 0.02 is 2 % a year above inflation. */
  changePerYear: finite.gt(-1),
  /** Index by calendar year; years that are missing follow `changePerYear` from the last one before. */
  byYear: z.record(z.string().regex(/^\d{4}$/), finite.min(0)),
});
export type YearIndex = z.output<typeof indexSchema>;

/** The terms of a scenario, as it is stored: everything a plan depends on besides the heaters. */
export const scenarioTermsSchema = z
  .strictObject({
    startDay: day,
    /** In time order, each beginning where the one before ends. */
    periods: z
      .array(
        z.strictObject({
          id: z.string().min(1),
          budgetYear: z.string().min(1),
          start: day,
          /** First day after the period. */
          end: day,
        }),
      )
      .min(1, "at least one period is needed"),
    /** By budget year; a year without an entry has no limit. */
    budgets: z.record(z.string(), z.strictObject({ cents, carryOver: finite.min(0).max(1) })),
    /** By period id; a period without an entry has no limit. */
    crewHours: z.record(z.string(), finite.min(0)),
    /** Above inflation: 0.03 is 3 % a year. */
    realDiscountRate: finite.gt(-1),
    /** Real change of installed cost a year. */
    installCostChangePerYear: finite.gt(-1),
    carbonCentsPerTonne: finite.min(0),
    /** How much a cent that residents pay for energy counts beside the owner's: 0 not at all, 1 as much. */
    residentEnergyWeight: finite.min(0).max(1),
    /** Share of the answers "not known" in a survey behind which work is expected. */
    unknownNeedsWorkShare: finite.min(0).max(1),
    /** Price index of each fuel; a fuel without an entry keeps today's price. */
    energyPrices: z.partialRecord(z.enum(FUELS), indexSchema),
    /** Index of the grid's emissions per kilowatt hour. */
    gridEmissions: indexSchema,
    /** Codes of the catalogue's options that may be planned. */
    options: z.array(z.string().min(1)),
    /** What a failed heater gets on the day, by option code. */
    emergency: z.strictObject({
      /** When the closet is ready for it; null when nothing is pre-approved. */
      whenReady: z.string().min(1).nullable(),
      /** Tried in order when it is not: the first that the policy dates still allow. */
      otherwise: z.array(z.string().min(1)).min(1),
    }),
    /** Share of each budget kept for emergencies. Common practice is 10 to 15 %, no source. */
    contingencyShare: finite.min(0).max(1),
    /** Technologies that may not be installed from a day on. */
    policies: z.array(
      z.strictObject({
        from: day,
        technologies: z.array(z.enum(TECHNOLOGIES)).min(1),
        note: z.string(),
      }),
    ),
    /** A heater must be replaced in or before the period in which it reaches this age; null for no limit. */
    latestAgeYears: finite.positive().nullable(),
    emissionCap: z
      .strictObject({
        kg: finite.min(0),
        /** One budget year, or null for the whole horizon. */
        budgetYear: z.string().min(1).nullable(),
        /** Null when no kilogram may be above the cap. */
        excessCentsPerKg: finite.min(0).nullable(),
      })
      .nullable(),
    /** The run is made around an earlier one; absent for a plan of its own. */
    replan: z
      .strictObject({
        /** Id of the earlier run. */
        of: z.uuid(),
        /** Present-value cents that moving a line must at least save. */
        penaltyCents: cents.min(0),
        /** Why it was asked for, as it was typed. */
        reason: z.string().min(1),
      })
      .optional(),
  })
  .superRefine((terms, context) => {
    const complain = (path: (string | number)[], message: string) =>
      context.addIssue({ code: "custom", path, message });
    terms.periods.forEach((period, index) => {
      if (period.end <= period.start) {
        complain(["periods", index, "end"], "must be after the period's start");
      }
      const before = terms.periods[index - 1];
      if (before && before.end !== period.start) {
        complain(["periods", index, "start"], `must be ${before.end}, where the last period ends`);
      }
    });
    if (terms.periods[0] && terms.periods[0].start < terms.startDay) {
      complain(["periods", 0, "start"], "must not be before the start day");
    }
    const years = new Set(terms.periods.map((period) => period.budgetYear));
    const ids = new Set(terms.periods.map((period) => period.id));
    for (const year of Object.keys(terms.budgets)) {
      if (!years.has(year)) complain(["budgets", year], `no period has budget year "${year}"`);
    }
    for (const id of Object.keys(terms.crewHours)) {
      if (!ids.has(id)) complain(["crewHours", id], `there is no period "${id}"`);
    }
    const capYear = terms.emissionCap?.budgetYear ?? null;
    if (capYear !== null && !years.has(capYear)) {
      complain(["emissionCap", "budgetYear"], `no period has budget year "${capYear}"`);
    }
  });

export type ScenarioTerms = z.output<typeof scenarioTermsSchema>;
export type ScenarioPeriod = ScenarioTerms["periods"][number];

/**
 * `quarters` quarters (up to three more, to the end of a calendar year), then `years` calendar years,
 * beginning with the quarter after `today`. Budget years are calendar years.
 */
export function defaultPeriods(today: CalendarDay, years = 12, quarters = 12): ScenarioPeriod[] {
  const monthsIntoQuarter = (monthOf(today) - 1) % 3;
  const quarterStart = addMonths(
    dayFromParts(yearOf(today), monthOf(today), 1),
    -monthsIntoQuarter,
  );
  const periods: ScenarioPeriod[] = [];
  let start = addMonths(quarterStart, 3);
  while (periods.length < quarters || monthOf(start) !== 1) {
    const end = addMonths(start, 3);
    const year = String(yearOf(start));
    const quarter = (monthOf(start) - 1) / 3 + 1;
    periods.push({ id: `${year}-Q${quarter}`, budgetYear: year, start, end });
    start = end;
  }
  for (let n = 0; n < years; n++) {
    const end = addMonths(start, 12);
    const year = String(yearOf(start));
    periods.push({ id: year, budgetYear: year, start, end });
    start = end;
  }
  return periods;
}

/** A scenario to start from: every number in it is assumed and meant to be edited. */
export function defaultScenario(today: CalendarDay): ScenarioTerms {
  const periods = defaultPeriods(today);
  const monthsOf = (period: ScenarioPeriod) => (period.id.includes("-Q") ? 3 : 12);
  return {
    startDay: today,
    periods,
    budgets: Object.fromEntries(
      periods.map(({ budgetYear }) => [budgetYear, { cents: 60_000_000, carryOver: 0 }]),
    ),
    crewHours: Object.fromEntries(periods.map((each) => [each.id, 75 * monthsOf(each)])),
    // The floor of the federal life-cycle programme's real rate, from memory.
    realDiscountRate: 0.03,
    installCostChangePerYear: 0,
    carbonCentsPerTonne: 0,
    residentEnergyWeight: 1,
    unknownNeedsWorkShare: 0.5,
    energyPrices: {},
    gridEmissions: { changePerYear: 0, byYear: {} },
    options: ["hp240-50", "hp240-65", "hp240-80", "hp120-65", "gas-40"],
    emergency: { whenReady: "hp240-50", otherwise: ["gas-40", "electric-50"] },
    // An old fleet fails while it waits: what is kept has to pay for most years' emergencies.
    contingencyShare: 0.4,
    policies: [],
    latestAgeYears: null,
    emissionCap: null,
  };
}

/** A period of the plan with what costing needs to know of it. */
export type PricedPeriod = PlanPeriod & {
  readonly start: CalendarDay;
  readonly end: CalendarDay;
  /** Length in years. */
  readonly years: number;
  /** From the start of the first period to this one's start, in years. */
  readonly startsAfterYears: number;
};

/**
 * The periods with present-value factors at their middle: (1 + rate)^−m, m the years from the first
 * period's start to the middle. The single-present-value factor of life-cycle costing
 * (NIST Handbook 135) at m instead of at year's end, because spending is spread over the period.
 */
export function pricedPeriods(
  periods: readonly ScenarioPeriod[],
  realDiscountRate: number,
): readonly PricedPeriod[] {
  const origin = periods[0].start;
  return periods.map((period) => {
    const { start, end } = period;
    const startsAfterYears = calendarYears(origin, start);
    const years = calendarYears(start, end);
    return {
      id: period.id,
      budgetYear: period.budgetYear,
      start,
      end,
      years,
      startsAfterYears,
      discount: presentValueFactor(realDiscountRate, startsAfterYears + years / 2),
    };
  });
}

/** Years between two days; whole months count as twelfths, so that every year is 1 and every quarter ¼. */
function calendarYears(from: CalendarDay, to: CalendarDay): number {
  if (from.slice(8) !== to.slice(8)) return yearsBetween(from, to);
  return yearOf(to) - yearOf(from) + (monthOf(to) - monthOf(from)) / 12;
}

/** Single present value: what a cent after `years` is worth now, (1 + rate)^−years. */
export function presentValueFactor(rate: number, years: number): number {
  if (!(rate > -1)) throw new RangeError(`rate must be above -1, got ${rate}`);
  return (1 + rate) ** -years;
}

/**
 * Uniform present value: what a cent at the end of each of `years` years is worth now,
 * ((1 + rate)^n − 1) / (rate (1 + rate)^n), and n at a rate of 0.
 */
export function uniformPresentValueFactor(rate: number, years: number): number {
  return rate === 0 ? years : (1 - presentValueFactor(rate, years)) / rate;
}

/** Index of a price or factor at a day, 1 in the year of `startDay` unless a series says otherwise. */
export function indexAt(
  index: YearIndex | undefined,
  startDay: CalendarDay,
  at: CalendarDay,
): number {
  if (!index) return 1;
  const year = yearOf(at);
  let baseYear = yearOf(startDay);
  let base = index.byYear[String(baseYear)] ?? 1;
  for (let each = baseYear + 1; each <= year; each++) {
    const known = index.byYear[String(each)];
    if (known !== undefined) {
      base = known;
      baseYear = each;
    }
  }
  return base * (1 + index.changePerYear) ** (year - baseYear);
}
