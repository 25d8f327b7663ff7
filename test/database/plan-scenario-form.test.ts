import { describe, expect, test } from "vitest";
import { DEFAULT_OPTIONS } from "@/lib/core/planning/options";
import { scenarioTermsSchema } from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import {
  budgetYearsOfForm,
  formOfTerms,
  readScenarioForm,
  type ScenarioFormValues,
  startingForm,
} from "@/lib/services/scenario-form";

const today = calendarDay("2026-11-25");
const catalogue = DEFAULT_OPTIONS.map(({ code, name, terms }) => ({
  code,
  name,
  technology: terms.technology,
}));
const start = startingForm(catalogue, 1_200);

const read = (changes: Partial<ScenarioFormValues> = {}) =>
  readScenarioForm({ ...start, ...changes }, { today, catalogue });

function termsOf(changes: Partial<ScenarioFormValues> = {}) {
  const result = read(changes);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.value.terms;
}

const problemsOf = (changes: Partial<ScenarioFormValues>) => {
  const result = read(changes);
  return result.ok ? [] : result.problems;
};

describe("the starting form", () => {
  test("gives terms that the planner takes, 12 quarters and 12 years long", () => {
    const terms = termsOf();

    expect(scenarioTermsSchema.safeParse(terms).error).toBeUndefined();
    expect(terms.periods).toHaveLength(24);
    expect(terms.periods[0]?.id).toBe("2027-Q1");
    expect(terms.periods[23]?.budgetYear).toBe("2041");
  });

  test("plans heat pumps; what a failed heater gets is like for like, gas first", () => {
    const terms = termsOf();

    expect(terms.options.every((code) => code.startsWith("hp"))).toBe(true);
    expect(terms.emergency.otherwise).toEqual(["gas-40", "electric-50"]);
  });

  test("is in proportion to the heaters", () => {
    expect(start.budget).toBe("600000");
    expect(start.crewHoursPerMonth).toBe("75");
    expect(startingForm(catalogue, 10).budget).toBe("10000");
    expect(startingForm(catalogue, 100_000).budget).toBe("50000000");
  });
});

describe("the yearly budget", () => {
  test("grows from year to year, and a year that is written over stands", () => {
    const { budgets } = termsOf({
      budget: "$100,000",
      budgetGrowthPercent: "10 %",
      yearBudgets: { "2029": "50000" },
    });

    expect(budgets["2027"]?.cents).toBe(10_000_000);
    expect(budgets["2028"]?.cents).toBe(11_000_000);
    expect(budgets["2029"]?.cents).toBe(5_000_000);
    expect(budgets["2030"]?.cents).toBe(13_310_000);
  });

  test("of a year in part is its share of the months", () => {
    const years = budgetYearsOfForm(calendarDay("2026-05-10"), start);

    // From the third quarter of 2026: six months.
    expect(years[0]).toEqual({ year: "2026", months: 6, dollars: 300_000 });
    expect(years[1]).toEqual({ year: "2027", months: 12, dollars: 600_000 });
  });

  test("of nothing or less is refused in words", () => {
    expect(problemsOf({ budget: "0" })).toEqual([
      {
        path: "budget",
        message: "The yearly budget must be above $0: without money there is nothing to plan.",
      },
    ]);
    expect(problemsOf({ budget: "-400000" })[0]?.path).toBe("budget");
    expect(problemsOf({ budget: "" })).toEqual([
      { path: "budget", message: "The yearly budget is missing." },
    ]);
    expect(problemsOf({ budget: "plenty" })[0]?.message).toBe('"plenty" is not a number.');
    expect(problemsOf({ yearBudgets: { "2028": "-1" } })).toEqual([
      { path: "yearBudgets.2028", message: "A budget cannot be negative." },
    ]);
  });

  test("of zero in one year is a choice, in every year a mistake", () => {
    expect(termsOf({ yearBudgets: { "2028": "0" } }).budgets["2028"]?.cents).toBe(0);
    const none = Object.fromEntries(budgetYearsOfForm(today, start).map(({ year }) => [year, "0"]));
    expect(problemsOf({ yearBudgets: none })[0]?.message).toMatch(/\$0 in every year/);
  });
});

describe("what is refused", () => {
  test("is said all at once, each with its field", () => {
    const paths = problemsOf({
      name: "  ",
      years: "2.5",
      crewHoursPerMonth: "0",
      realDiscountPercent: "31",
      contingencyPercent: "-1",
      options: [],
      gasEndsOn: "soon",
      latestAgeYears: "0",
      capTonnes: "-3",
    }).map(({ path }) => path);

    expect(paths).toEqual([
      "name",
      "years",
      "contingencyPercent",
      "crewHoursPerMonth",
      "realDiscountPercent",
      "options",
      "gasEndsOn",
      "latestAgeYears",
      "capTonnes",
    ]);
  });

  test("includes options and years that there are not", () => {
    expect(problemsOf({ options: ["steam"] })[0]?.message).toBe(
      'The catalogue has no option "steam".',
    );
    expect(problemsOf({ capTonnes: "100", capYear: "2060" })[0]?.path).toBe("capYear");
  });
});

describe("what is optional", () => {
  test("left empty is no limit", () => {
    const terms = termsOf({ crewHoursPerMonth: "" });

    expect(terms.crewHours).toEqual({});
    expect(terms.policies).toEqual([]);
    expect(terms.latestAgeYears).toBeNull();
    expect(terms.emissionCap).toBeNull();
  });

  test("filled in becomes a rule in the planner's units", () => {
    const terms = termsOf({
      gasEndsOn: "2030-01-01",
      latestAgeYears: "15",
      capTonnes: "800",
      capYear: "2035",
      capDollarsPerTonne: "50",
      carbonDollarsPerTonne: "12.5",
    });

    expect(terms.policies[0]).toMatchObject({
      from: "2030-01-01",
      technologies: ["gas-storage", "gas-instantaneous"],
    });
    expect(terms.latestAgeYears).toBe(15);
    // 800 t are 800,000 kg; $50 a tonne are 5 cents a kilogram.
    expect(terms.emissionCap).toEqual({ kg: 800_000, budgetYear: "2035", excessCentsPerKg: 5 });
    expect(terms.carbonCentsPerTonne).toBe(1_250);
  });
});

describe("a stored scenario in the form again", () => {
  test("reads back as the same terms", () => {
    const terms = termsOf({
      budget: "250000",
      budgetGrowthPercent: "2.5",
      carryOverPercent: "25",
      crewHoursPerMonth: "60",
      gasChangePercent: "1.5",
      gridChangePercent: "-3",
      residentPercent: "40",
      gasEndsOn: "2031-01-01",
      latestAgeYears: "14",
      capTonnes: "9000.5",
      options: ["hp240-50", "gas-40"],
    });

    const again = readScenarioForm(formOfTerms("Again", terms), { today, catalogue });

    expect(again).toEqual({ ok: true, value: { name: "Again", terms } });
  });

  test("of which the budget years are partly written over keeps every year", () => {
    const terms = termsOf({ yearBudgets: { "2027": "1000", "2030": "0" } });

    expect(readScenarioForm(formOfTerms("Again", terms), { today, catalogue })).toEqual({
      ok: true,
      value: { name: "Again", terms },
    });
  });
});
