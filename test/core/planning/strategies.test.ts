import { describe, expect, test } from "vitest";
import { checkPlan } from "@/lib/core/planning/check-plan";
import { survivalOf } from "@/lib/core/planning/costing";
import { ledgerByYear } from "@/lib/core/planning/ledger";
import { solveExactly } from "@/lib/core/planning/solvers/exact";
import { outcomeOfSchedule, STRATEGIES, scheduleByStrategy } from "@/lib/core/planning/strategies";
import { aCostedPortfolio } from "@/test/support/a-costing-example";

const portfolio = aCostedPortfolio({
  heaters: 24,
  heatersPerBuilding: 8,
  terms: {
    budgets: Object.fromEntries(
      Array.from({ length: 15 }, (_, n) => [String(2027 + n), { cents: 1_200_000, carryOver: 0 }]),
    ),
  },
});
const { context, inputs, problem } = portfolio;
const preference = ["hp240-50", "hp120-65", "gas-40"];
const scheduleOf = (strategy: (typeof STRATEGIES)[number]) =>
  scheduleByStrategy(strategy, problem, inputs, context, { preference });
const outcomeOf = (strategy: (typeof STRATEGIES)[number]) =>
  outcomeOfSchedule(strategy, scheduleOf(strategy), problem, inputs, context);

describe("strategies", () => {
  test("run to failure plans nothing and expects every failure of the horizon", () => {
    const outcome = outcomeOf("run-to-failure");
    const expected = inputs.reduce((sum, { conditionalFailure }) => {
      const { alive } = survivalOf(conditionalFailure);
      return sum + 1 - alive[alive.length - 1];
    }, 0);
    const emergencies = outcome.periods.reduce((sum, each) => sum + each.emergencies, 0);
    expect(emergencies).toBeCloseTo(expected, 9);
    expect(outcome.periods.every(({ plannedCents }) => plannedCents === 0)).toBe(true);
    expect(outcome.violations).toEqual([]);
  });

  test("oldest and riskiest first keep every limit", () => {
    for (const strategy of ["oldest-first", "riskiest-first"] as const) {
      expect(outcomeOf(strategy).violations, strategy).toEqual([]);
      expect(scheduleOf(strategy).assignments.some((line) => !("never" in line))).toBe(true);
    }
  });

  test("oldest first takes no heater before an older one of the same building and price", () => {
    const roomy = {
      ...problem,
      buildings: problem.buildings.map((each) => ({ ...each, headroom: null })),
    };
    const schedule = scheduleByStrategy("oldest-first", roomy, inputs, context, {
      preference: ["gas-40"],
    });
    const first = schedule.assignments.filter(
      (line) => "period" in line && line.period === "2027-Q1",
    );
    const oldest = [...inputs].sort((a, b) => (b.ageYears ?? 0) - (a.ageYears ?? 0))[0];
    expect(first.map(({ heater }) => heater)).toContain(oldest.id);
  });

  test("replacing at ten years swaps each heater in the period in which it turns ten", () => {
    const schedule = scheduleOf("replace-at-age");
    for (const line of schedule.assignments) {
      const input = inputs.find(({ id }) => id === line.heater);
      if ("never" in line || !input) continue;
      const period = context.periods.find(({ id }) => id === line.period);
      const ageAtEnd =
        (input.ageYears ?? 0) + (period?.startsAfterYears ?? 0) + (period?.years ?? 0);
      expect(ageAtEnd).toBeGreaterThan(10);
      if (line.period !== "2027-Q1")
        expect(ageAtEnd - (period?.years ?? 0)).toBeLessThanOrEqual(10);
    }
  });

  test("the plan costs no more than any strategy that keeps its limits", async () => {
    const plan = await solveExactly(problem, {
      gap: 1e-3,
      seconds: 20,
      seed: 1,
      elapsedSeconds: () => 0,
    });
    expect(plan.objectiveCents).not.toBeNull();
    for (const strategy of STRATEGIES) {
      const outcome = outcomeOf(strategy);
      if (outcome.violations.length > 0) continue;
      expect(plan.lowerBoundCents ?? 0, strategy).toBeLessThanOrEqual(outcome.objectiveCents);
      expect(plan.objectiveCents ?? 0, strategy).toBeLessThanOrEqual(
        outcome.objectiveCents * 1.001,
      );
    }
  });
});

describe("expected course and prices", () => {
  test("energy, upkeep and emergencies by period, discounted, are the parts of the prices", () => {
    const outcome = outcomeOf("oldest-first");
    const parts = { energy: 0, maintenance: 0, emergency: 0 };
    for (const line of outcome.schedule.assignments) {
      const priced = portfolio.priced.find(({ id }) => id === line.heater);
      const price =
        "never" in line
          ? priced?.left.parts
          : priced?.choices.find(
              ({ option, period }) => option === line.option && period === line.period,
            )?.parts;
      parts.energy += (price?.energyBefore ?? 0) + (price?.energyAfter ?? 0);
      parts.maintenance += price?.maintenance ?? 0;
      parts.emergency += price?.emergency ?? 0;
    }
    const discounted = (of: "energyCents" | "maintenanceCents" | "emergencyCents") =>
      outcome.periods.reduce((sum, row, t) => sum + row[of] * context.periods[t].discount, 0);
    expect(discounted("energyCents")).toBeCloseTo(parts.energy, 3);
    expect(discounted("maintenanceCents")).toBeCloseTo(parts.maintenance, 3);
    expect(discounted("emergencyCents")).toBeCloseTo(parts.emergency, 3);
  });

  test("emissions by period sum to the kilograms of the choices", () => {
    const outcome = outcomeOf("riskiest-first");
    const kg = outcome.periods.reduce((sum, row) => sum + row.kg, 0);
    expect(kg).toBeCloseTo(checkPlan(problem, outcome.schedule).kg, 6);
  });
});

describe("the ledger", () => {
  test("splits each year's money into swaps, upgrades, visits, contingency and what is left", () => {
    const outcome = outcomeOf("riskiest-first");
    const ledger = ledgerByYear(problem, outcome.schedule, {
      budgets: context.terms.budgets,
      expected: outcome.periods,
    });
    const check = checkPlan(problem, outcome.schedule);
    expect(ledger.map(({ year }) => year)).toEqual(Object.keys(check.spentCents));
    for (const row of ledger) {
      const spent = row.swapCents + row.upgradeCents + row.mobilisationCents;
      expect(spent).toBe(check.spentCents[row.year]);
      expect(spent + (row.contingencyCents ?? 0) + (row.unspentCents ?? 0)).toBe(row.budgetCents);
      expect(row.contingencyCents).toBe((row.budgetCents ?? 0) * context.terms.contingencyShare);
    }
    const swaps = ledger.reduce((sum, row) => sum + row.swaps, 0);
    expect(swaps).toBe(outcome.schedule.assignments.filter((line) => !("never" in line)).length);
  });
});
