import { describe, expect, test } from "vitest";
import { type CostingInput, prepareCosting, priceHeater } from "@/lib/core/planning/costing";
import { DEFAULT_OPTIONS, type ReplacementOption } from "@/lib/core/planning/options";
import {
  defaultScenario,
  presentValueFactor,
  pricedPeriods,
  type ScenarioTerms,
  uniformPresentValueFactor,
} from "@/lib/core/planning/scenario";
import { calendarDay } from "@/lib/core/shared/calendar-day";

/** An option that costs what it says, with nothing depending on the closet. */
function plainOption(
  code: string,
  technology: "gas-storage" | "heat-pump-storage",
  dollars: number,
  lifeYears: number,
): ReplacementOption {
  const base = DEFAULT_OPTIONS[0].terms;
  const cents = dollars * 100;
  return {
    code,
    name: code,
    terms: {
      ...base,
      technology,
      costs: {
        equipment: {
          lowCents: cents,
          likelyCents: cents,
          highCents: cents,
          evidence: "assumed",
          source: "example",
        },
      },
      requiredReadiness: [],
      expectedLifeYears: { value: lifeYears, evidence: "assumed", source: "example" },
    },
  };
}

function yearlyScenario(years: number, changes: Partial<ScenarioTerms>): ScenarioTerms {
  return {
    ...defaultScenario(calendarDay("2026-11-20")),
    periods: Array.from({ length: years }, (_, n) => ({
      id: String(2027 + n),
      budgetYear: String(2027 + n),
      start: calendarDay(`${2027 + n}-01-01`),
      end: calendarDay(`${2028 + n}-01-01`),
    })),
    budgets: {},
    crewHours: {},
    ...changes,
  };
}

function use(centsPerYear: number, kgPerYear = 0) {
  return {
    energy: [{ fuel: "electricity" as const, centsPerYear, kgPerYear, paidBy: "owner" as const }],
    refrigerantKgPerYear: 0,
    maintenanceCentsPerYear: 0,
  };
}

function anInput(changes: Partial<CostingInput>): CostingInput {
  return {
    id: "H1",
    building: "B1",
    technology: "gas-storage",
    ageYears: 8,
    conditionalFailure: [],
    now: use(0),
    after: {},
    readiness: {},
    expansionControlled: "yes",
    mixingValve: "yes",
    consequenceCents: 0,
    ...changes,
  };
}

describe("present value factors", () => {
  // Factors of life-cycle costing (NIST Handbook 135 tables) as computed from their formulas; they agree
  // with the printed tables to the digits printed (3 %: 0.642 and 11.94 at 15 years, from memory).
  test.each([
    [0.03, 5, 0.8626, 4.5797],
    [0.03, 10, 0.7441, 8.5302],
    [0.03, 13, 0.681, 10.635],
    [0.03, 15, 0.6419, 11.9379],
    [0.03, 25, 0.4776, 17.4131],
    [0.05, 10, 0.6139, 7.7217],
    [0.07, 15, 0.3624, 9.1079],
    [0.07, 30, 0.1314, 12.409],
    [0.08, 20, 0.2145, 9.8181],
  ])("at %f over %d years single and uniform factors are %f and %f", (rate, years, spv, upv) => {
    expect(presentValueFactor(rate, years)).toBeCloseTo(spv, 4);
    expect(uniformPresentValueFactor(rate, years)).toBeCloseTo(upv, 4);
  });

  // P/A at 0.25 % a period, as quoted from a published discrete cash flow table.
  test.each([
    [5, 4.9627],
    [10, 9.8639],
    [20, 19.4845],
  ])("a quarter of a percent over %d periods gives %f", (periods, factor) => {
    expect(uniformPresentValueFactor(0.0025, periods)).toBeCloseTo(factor, 4);
  });

  test("a period's factor is the table's at its middle: yearly periods sum to UPV × (1 + rate)^½", () => {
    const { periods } = yearlyScenario(15, {});
    const sum = pricedPeriods(periods, 0.03).reduce(
      (total, { discount, years }) => total + discount * years,
      0,
    );
    expect(sum).toBeCloseTo(11.9379 * 1.03 ** 0.5, 3);
  });
});

describe("a life-cycle example worked by hand", () => {
  // A heat pump for $4,500 or gas again for $1,800, now. It saves 178.758 therms × $1.80 − 928.07 kWh ×
  // $0.20 = $136.15 a year. At 3 % over 13 years: −2,700 + 136.1504 × 10.6350 = −$1,252.04 (prices
  // invented, energy from the federal test procedure's medium draw). Both at mid-period here: capital
  // × 1.03^−½, savings × 1.03^½.
  test("the heat pump costs $1,190.9 more in present value at mid-period factors", () => {
    const scenario = yearlyScenario(13, {
      options: ["hp", "gas"],
      emergency: { whenReady: null, otherwise: ["gas"] },
    });
    const context = prepareCosting(scenario, [
      plainOption("hp", "heat-pump-storage", 4_500, 13),
      plainOption("gas", "gas-storage", 1_800, 13),
    ]);
    const priced = priceHeater(
      context,
      anInput({
        conditionalFailure: new Array(13).fill(0),
        after: { hp: use(18_561.4), gas: use(32_176.44) },
      }),
    );
    const costOf = (option: string) =>
      (priced.choices.find((each) => each.option === option && each.period === "2027")?.costCents ??
        0) / 100;
    const byHand = 2_700 * 1.03 ** -0.5 - 136.1504 * 10.635 * 1.03 ** 0.5;
    expect(byHand).toBeCloseTo(1_190.9, 1);
    expect(costOf("hp") - costOf("gas")).toBeCloseTo(byHand, 1);
  });
});

describe("expected emergencies worked by hand", () => {
  // Two years, no discounting. The old heater ($300 of energy a year, 1,000 kg) fails with 0.2 in the
  // first year and 0.5 in the second if it still stands; an emergency gets a $1,800 gas heater ($250,
  // 800 kg) and costs $2,000 beyond that. A planned heat pump costs $4,500 ($100, 200 kg). Every life is
  // 10 years.
  const context = prepareCosting(
    yearlyScenario(2, {
      realDiscountRate: 0,
      options: ["hp"],
      emergency: { whenReady: null, otherwise: ["gas"] },
      carbonCentsPerTonne: 10_000,
      emissionCap: { kg: 1, budgetYear: null, excessCentsPerKg: null },
    }),
    [
      plainOption("hp", "heat-pump-storage", 4_500, 10),
      plainOption("gas", "gas-storage", 1_800, 10),
    ],
  );
  const priced = priceHeater(
    context,
    anInput({
      conditionalFailure: [0.2, 0.5],
      now: use(30_000, 1_000),
      after: { hp: use(10_000, 200), gas: use(25_000, 800) },
      consequenceCents: 200_000,
    }),
  );
  const second = priced.choices.find(({ period }) => period === "2028");

  test("a swap in the second year is priced in these parts", () => {
    // Dollars: swap 0.8 × 4,500; emergency 0.2 × (1,800 + 2,000); energy before 0.9 × 300; after
    // 0.2 × (½ × 250 + 250) + 0.8 × 100; carbon at $100 a tonne on 900 + 0.2 × 1,200 + 0.8 × 200 kg;
    // value left 0.8 × 4,500 × 9/10 + 0.2 × 1,800 × 8/10.
    const byHand = {
      plannedSwap: 3_600,
      readinessWork: 0,
      incentive: 0,
      emergency: 760,
      energyBefore: 270,
      energyAfter: 155,
      maintenance: 0,
      carbon: 130,
      salvage: -3_528,
    };
    for (const [part, dollars] of Object.entries(byHand)) {
      expect((second?.parts[part as keyof typeof byHand] ?? 0) / 100, part).toBeCloseTo(dollars, 9);
    }
    expect(second?.kg ?? 0).toBeCloseTo(1_300, 9);
    expect(second?.failsBefore).toBeCloseTo(0.2, 12);
    expect(second?.capitalCents).toBe(450_000);
  });

  test("the parts sum to the cost, for every choice and for leaving it", () => {
    for (const { costCents, parts } of [...priced.choices, priced.left]) {
      const sum = Object.values(parts).reduce((total, cents) => total + cents, 0);
      expect(sum).toBeCloseTo(costCents, 6);
    }
  });

  test("leaving it is priced the same way: no planned swap, emergencies through the whole horizon", () => {
    // 0.2 × 3,800 + 0.8 × 0.5 × 3,800 dollars.
    expect(priced.left.parts.plannedSwap).toBe(0);
    expect(priced.left.parts.emergency / 100).toBeCloseTo(2_280, 6);
  });
});
