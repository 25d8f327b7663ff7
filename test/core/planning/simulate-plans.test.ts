import { describe, expect, test } from "vitest";
import { expectOutcome } from "@/lib/core/planning/expected-outcome";
import type { PlanSchedule } from "@/lib/core/planning/problem";
import {
  type FailureSource,
  prepareStrategy,
  type SimulatedOutcome,
  type SimulatedStrategy,
  simulatePlans,
} from "@/lib/core/planning/simulation/simulate-plans";
import {
  prepareSimulation,
  type SimulationFleet,
} from "@/lib/core/planning/simulation/simulation-fleet";
import { STRATEGIES, scheduleByStrategy } from "@/lib/core/planning/strategies";
import { lifetimeOfMean } from "@/lib/core/survival/weibull";
import { aCostedPortfolio } from "@/test/support/a-costing-example";

const { context, inputs, problem } = aCostedPortfolio({
  heaters: 60,
  heatersPerBuilding: 10,
  terms: {
    budgets: Object.fromEntries(
      Array.from({ length: 15 }, (_, n) => [String(2027 + n), { cents: 3_000_000, carryOver: 0 }]),
    ),
    gridEmissions: { changePerYear: -0.03, byYear: {} },
  },
});
const { budgets } = context.terms;
const fleet = prepareSimulation(context, inputs, problem, { budgets, daysWithoutHotWater: 2 });
const preference = ["hp240-50", "hp120-65", "gas-40"];
const T = fleet.periods;

function scheduleOf(strategy: (typeof STRATEGIES)[number]): PlanSchedule {
  return scheduleByStrategy(strategy, problem, inputs, context, { preference });
}

function prepared(
  strategy: (typeof STRATEGIES)[number],
  isLimited: boolean,
  of: SimulationFleet = fleet,
): SimulatedStrategy {
  return prepareStrategy(strategy, scheduleOf(strategy), of, problem, {
    isLimited,
    worthOf: (_heater, costCents) => -costCents,
  });
}

const own: FailureSource = {
  sets: 1,
  read: () => ({
    conditional: Float64Array.from(inputs.flatMap(({ conditionalFailure }) => conditionalFailure)),
    newLifetimes: null,
  }),
};

function run(
  strategies: readonly SimulatedStrategy[],
  source: FailureSource,
  { trials = 2_000, seed = 1, of = fleet } = {},
): readonly SimulatedOutcome[] {
  const steps = simulatePlans(of, strategies, source, { trials, seed });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

describe("simulated plans", () => {
  test("without limits and with new heaters that last, means equal the exact expectation", () => {
    const heaters = new Map(problem.heaters.map((heater) => [heater.id, heater]));
    const trials = 4_000;
    for (const strategy of STRATEGIES) {
      const [outcome] = run([prepared(strategy, false)], own, { trials });
      const schedule = scheduleOf(strategy);
      const exact = expectOutcome(context, inputs, heaters, schedule.assignments);
      // 60 heaters: a count has a variance of at most 60 / 4.
      const error = Math.sqrt(60 / 4 / trials);
      const expected = sum(exact.map(({ emergencies }) => emergencies));
      expect(Math.abs(outcome.total.emergencies.mean - expected), strategy).toBeLessThan(4 * error);
      expect(outcome.total.daysWithoutHotWater.mean).toBeCloseTo(
        2 * outcome.total.emergencies.mean,
        6,
      );
      const cents = sum(Array.from(outcome.emergencyCents)) / trials;
      const exactCents = sum(exact.map((each) => each.emergencyCents));
      // An emergency costs less than $10,000.
      expect(Math.abs(cents - exactCents), strategy).toBeLessThan(4 * error * 1_000_000);
      const exactKg = sum(exact.map(({ kg }) => kg));
      // A heater emits less than 1,400 kg a year for 15 years whatever happens to it.
      expect(Math.abs(outcome.total.kg.mean - exactKg), strategy).toBeLessThan(4 * error * 21_000);
      for (const [y, year] of outcome.years.entries()) {
        const inYear = exact.filter(({ budgetYear }) => budgetYear === year.year);
        const mean = sum(inYear.map(({ emergencies }) => emergencies));
        expect(Math.abs(year.emergencies.mean - mean), `${strategy} ${y}`).toBeLessThan(
          4 * Math.sqrt((mean + 0.01) / trials),
        );
      }
    }
  });

  test("every figure of a certain world is the plan's own: no failures, no bands", () => {
    const safe: FailureSource = {
      sets: 1,
      read: () => ({ conditional: new Float64Array(fleet.heaters * T), newLifetimes: null }),
    };
    const [outcome] = run([prepared("oldest-first", true)], safe, { trials: 20 });
    const schedule = scheduleOf("oldest-first");
    const swaps = schedule.assignments.flatMap((line) =>
      "never" in line
        ? []
        : [
            problem.heaters
              .find(({ id }) => id === line.heater)
              ?.choices.find(
                ({ option, period }) => option === line.option && period === line.period,
              )?.capitalCents ?? Number.NaN,
          ],
    );
    const upgrades = schedule.upgrades.map(
      ({ building }) => problem.buildings.find(({ id }) => id === building)?.upgrade?.cents ?? 0,
    );
    const spend = sum(swaps) + sum(upgrades) + 40_000 * schedule.mobilisations.length;
    expect(outcome.total.emergencies).toEqual({ mean: 0, p10: 0, p50: 0, p90: 0 });
    expect(outcome.linesPutOff).toBe(0);
    expect(outcome.total.spendCents.p10).toBeCloseTo(spend, 3);
    expect(outcome.total.spendCents.p90).toBeCloseTo(spend, 3);
  });

  test("strategies meet the same failures: one beside another or alone makes no difference", () => {
    const source: FailureSource = {
      sets: 3,
      read: (set) => ({
        conditional: own.read(0).conditional.map((p) => Math.min(1, p * (0.5 + set / 2))),
        newLifetimes: fleet.options.map(() => lifetimeOfMean({ shape: 3, meanYears: 10 })),
      }),
    };
    const strategies = STRATEGIES.map((strategy) => prepared(strategy, true));
    const together = run(strategies, source, { trials: 300 });
    const again = run(strategies, source, { trials: 300 });
    expect(again).toEqual(together);
    strategies.forEach((strategy, s) => {
      expect(run([strategy], source, { trials: 300 })).toEqual([together[s]]);
    });
    expect(run(strategies, source, { trials: 300, seed: 2 })).not.toEqual(together);
  });

  test("new heaters fail as their law says", () => {
    // Every heater fails in the first period (a quarter) and is replaced in its middle.
    const conditional = new Float64Array(fleet.heaters * T);
    for (let i = 0; i < fleet.heaters; i++) conditional[i * T] = 1;
    const law = lifetimeOfMean({ shape: 1, meanYears: 5 });
    const trials = 2_000;
    const [outcome] = run(
      [prepared("run-to-failure", false)],
      { sets: 1, read: () => ({ conditional, newLifetimes: fleet.options.map(() => law) }) },
      { trials },
    );
    // Exponential lives of 5 years, renewed at once: 1/5 a year (a Poisson process), from the middle of
    // the quarter of each failure: failures fall in periods, so that each loses the part of a period
    // that it was moved. Count by the recursion over periods instead.
    const { startsAfterYears, periodYears } = fleet;
    const expected = new Float64Array(T);
    expected[0] = 1;
    for (let p = 0; p < T; p++) {
      const installed = startsAfterYears[p] + periodYears[p] / 2;
      const failedBy = (q: number) =>
        1 - Math.exp(-(startsAfterYears[q] + periodYears[q] - installed) / 5);
      // A new one that fails within the same period is replaced within it as well.
      expected[p] /= 1 - failedBy(p);
      for (let q = p + 1; q < T; q++) {
        expected[q] += expected[p] * (failedBy(q) - failedBy(q - 1));
      }
    }
    const mean = fleet.heaters * sum(Array.from(expected));
    const error = Math.sqrt(mean / trials);
    expect(Math.abs(outcome.total.emergencies.mean - mean)).toBeLessThan(4 * error);
  });

  test("a year short of money puts off its least valuable lines, and only those that need be", () => {
    // Two heaters planned for the first period; a third fails in it and eats the money of one of them.
    const three = inputs.slice(0, 3).map((input) => ({ ...input, building: "B1" }));
    const choice = { option: "gas-40", costCents: 1, hours: 4, circuit: 0, kg: 0 };
    const small = {
      ...problem,
      buildings: [{ id: "B1", headroom: null, upgrade: null, mobilisationCents: 0 }],
      crewHours: {},
      heaters: three.map(({ id }, i) => ({
        id,
        building: "B1",
        never: { costCents: 0, kg: 0 },
        lock: null,
        choices: [{ ...choice, period: problem.periods[0].id, capitalCents: 100_000 + 10_000 * i }],
      })),
    };
    const money = (cents: number) =>
      Object.fromEntries(Object.keys(budgets).map((year) => [year, { cents, carryOver: 0 }]));
    const schedule: PlanSchedule = {
      assignments: [
        { heater: three[0].id, option: "gas-40", period: problem.periods[0].id },
        { heater: three[1].id, option: "gas-40", period: problem.periods[0].id },
        { heater: three[2].id, never: true },
      ],
      upgrades: [],
      mobilisations: [],
    };
    const conditional = new Float64Array(3 * T);
    conditional[2 * T] = 1;
    const outcomeWith = (cents: number, isLimited = true) => {
      const of = prepareSimulation(context, three, small, {
        budgets: money(cents),
        daysWithoutHotWater: 2,
      });
      const strategy = prepareStrategy("plan", schedule, of, small, {
        isLimited,
        // The second heater's line is worth more.
        worthOf: (heater) => (heater === three[1].id ? 2 : 1),
      });
      const [outcome] = run(
        [strategy],
        { sets: 1, read: () => ({ conditional, newLifetimes: null }) },
        { trials: 3, of },
      );
      const emergency = outcome.emergencyCents[0];
      return { outcome, emergency, spend: outcome.years.map((year) => year.spendCents.mean) };
    };
    const { emergency } = outcomeWith(100_000_000);
    expect(emergency).toBeGreaterThan(0);

    // Room for the emergency and one swap: the other waits for the next year, and no longer.
    const one = outcomeWith(emergency + 150_000);
    expect(one.outcome.linesPutOff).toBe(1);
    expect(one.spend[0]).toBeCloseTo(emergency + 110_000, 3);
    expect(one.spend.slice(1, 3)).toEqual([100_000, 0]);

    // Overspent by $2,000: the next years pay that first. The third has money for neither, and what it
    // leaves does not carry over; the fourth pays the dearer and better line, the fifth the other.
    const budget = emergency - 200_000;
    expect(budget).toBeGreaterThan(110_000);
    expect(3 * budget - emergency).toBeLessThan(100_000);
    const short = outcomeWith(budget);
    expect(short.outcome.linesPutOff).toBe(2);
    expect(short.spend[0]).toBeCloseTo(emergency, 3);
    expect(short.spend.slice(1, 6)).toEqual([0, 0, 110_000, 100_000, 0]);

    // A strategy that asks no budget waits for nothing.
    const free = outcomeWith(0, false);
    expect(free.outcome.linesPutOff).toBe(0);
    expect(free.spend[0]).toBeCloseTo(emergency + 210_000, 3);
  });

  test("crews that an emergency takes are not there for planned swaps", () => {
    const safeOnce = own.read(0).conditional.slice().fill(0);
    const strategy = prepared("oldest-first", true);
    const firstWithLines = strategy.due.findIndex(({ length }) => length > 0);
    const idle = Array.from({ length: fleet.heaters }, (_, i) => i).filter(
      (i) => strategy.replacedIn[i] !== firstWithLines,
    );
    for (const i of idle) {
      if (strategy.replacedIn[i] > firstWithLines) safeOnce[i * T + firstWithLines] = 1;
    }
    const crewHours = fleet.crewHours.slice();
    const lineHours = sum(Array.from(strategy.due[firstWithLines], (i) => strategy.hours[i]));
    crewHours[firstWithLines] = lineHours;
    const of = { ...fleet, crewHours, budgetCents: fleet.budgetCents.map(() => Infinity) };
    const source = { sets: 1, read: () => ({ conditional: safeOnce, newLifetimes: null }) };
    const [outcome] = run([strategy], source, { trials: 1, of });
    expect(outcome.linesPutOff).toBe(strategy.due[firstWithLines].length);
  });
});
