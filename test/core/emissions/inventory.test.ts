import { describe, expect, test } from "vitest";
import { annualEmissions, type EmissionsInput } from "@/lib/core/emissions/annual-emissions";
import { avoidedEmissions, upstreamMethane } from "@/lib/core/emissions/apart";
import { computeInventory, type InventoryItem } from "@/lib/core/emissions/inventory";

const GAS: InventoryItem = {
  id: "gas",
  thermsPerYear: 200,
  kwhPerYear: 0,
  fuel: "natural-gas",
  gridRegion: "CAMX",
};
const HEAT_PUMP: InventoryItem = {
  id: "heat pump",
  thermsPerYear: 0,
  kwhPerYear: 1_000,
  fuel: "electricity",
  gridRegion: "NYUP",
  refrigerant: {
    refrigerant: "R-134a",
    chargeKg: 0.75,
    annualLeakShare: 0.02,
    endOfLifeLossShare: 0,
  },
};

describe("an inventory", () => {
  test("has one line for each factor, scope and method, however many heaters there are", () => {
    const items = Array.from({ length: 50 }, (_, index) => ({ ...GAS, id: `gas-${index}` }));
    const { lines, kgCo2e } = computeInventory({ items, year: 2023 });
    expect(lines.map((line) => line.gas)).toEqual(["co2", "ch4", "n2o"]);
    expect(lines[0]?.amount).toBeCloseTo(50 * 20, 9);
    // 1,000 mmBtu at 53.1145 kg CO2e (40 CFR 98 tables C-1 and C-2, AR5).
    expect(kgCo2e.scope1).toBeCloseTo(53_114.5, 6);
  });

  test("of nothing is nothing", () => {
    expect(computeInventory({ items: [], year: 2023 })).toMatchObject({
      kgCo2e: { scope1: 0, scope2Location: 0, scope2Market: 0, scope3: 0 },
      lines: [],
      notes: [],
    });
  });

  test("puts leaked refrigerant into scope 1 beside combustion", () => {
    const { kgCo2e, kgCo2eByGas } = computeInventory({ items: [GAS, HEAT_PUMP], year: 2023 });
    // 0.75 kg · 2 % · 1300 = 19.5 kg CO2e.
    expect(kgCo2eByGas["R-134a"]).toBeCloseTo(19.5, 9);
    expect(kgCo2e.scope1).toBeCloseTo(20 * 53.1145 + 19.5, 6);
  });

  test("says where a factor is of another year than the one accounted for", () => {
    expect(computeInventory({ items: [HEAT_PUMP], year: 2025 }).notes).toContain(
      "the grid factor of NYUP is of 2022, used for 2025",
    );
  });

  test("keeps metered and modelled energy in lines of their own and says how much each is", () => {
    const metered: InventoryItem = { ...GAS, id: "metered", thermsPerYear: 100, basis: "metered" };
    const { lines, kgCo2eByBasis } = computeInventory({ items: [GAS, metered], year: 2023 });
    expect(lines.map((line) => `${line.basis} ${line.gas}`)).toEqual([
      "modelled co2",
      "modelled ch4",
      "modelled n2o",
      "metered co2",
      "metered ch4",
      "metered n2o",
    ]);
    expect(kgCo2eByBasis.modelled).toBeCloseTo(20 * 53.1145, 9);
    expect(kgCo2eByBasis.metered).toBeCloseTo(10 * 53.1145, 9);
  });

  test("spreads the organisation's certificates over its meters, not over residents'", () => {
    const resident: InventoryItem = {
      ...HEAT_PUMP,
      id: "resident's",
      meteredBy: { fuel: "resident", electricity: "resident" },
    };
    const inventory = computeInventory({
      items: [HEAT_PUMP, { ...HEAT_PUMP, id: "second", kwhPerYear: 3_000 }, resident],
      year: 2022,
      contracts: {
        market: "US",
        residualMix: null,
        instruments: [
          {
            id: "certificates",
            kind: "certificate",
            covers: { kwh: 2_000 },
            kgCo2ePerKwh: 0,
            vintage: 2022,
            market: "US",
            conveysRate: true,
            soleClaim: true,
            retired: true,
            source: "test",
          },
        ],
      },
    });
    const [first, second, theirs] = inventory.items;
    expect(first?.kgCo2e.scope2Market).toBeCloseTo((first?.kgCo2e.scope2Location ?? 0) / 2, 9);
    expect(second?.kgCo2e.scope2Market).toBeCloseTo((second?.kgCo2e.scope2Location ?? 0) / 2, 9);
    expect(theirs?.kgCo2e).toMatchObject({ scope2Location: 0, scope2Market: 0 });
    expect(theirs?.kgCo2e.scope3).toBeGreaterThan(0);
  });
});

describe("a mistake in an account", () => {
  const good: EmissionsInput = { ...GAS, year: 2023 };

  test.each([
    [{ thermsPerYear: -1 }, /thermsPerYear.*-1/],
    [{ kwhPerYear: Number.NaN }, /kwhPerYear.*NaN/],
    [{ fuel: "electricity" as const }, /needs a fuel that burns/],
    [{ kwhPerYear: 1, gridRegion: "NOWHERE" }, /no emission factor for grid region NOWHERE/],
  ])("%o is named", (changes, message) => {
    expect(() => annualEmissions({ ...good, ...changes })).toThrow(message);
  });
});

describe("beside the inventory", () => {
  test("avoided emissions compare two accounts of one year and are in neither", () => {
    const without = annualEmissions({ ...GAS, year: 2023 });
    const withSwap = annualEmissions({ ...HEAT_PUMP, gridRegion: "CAMX", year: 2023 });
    const avoided = avoidedEmissions(without, withSwap);
    expect(avoided.kgCo2e).toBeCloseTo(avoided.baselineKgCo2e - avoided.projectKgCo2e, 9);
    // 20 mmBtu · 53.1145 − (1,000 kWh · 0.19503 + 19.5 kg of refrigerant): 848 kg.
    expect(avoided.kgCo2e).toBeCloseTo(1062.3 - 195.0 - 19.5, 0);
  });

  test("accounts of different years or potentials are not compared", () => {
    const one = annualEmissions({ ...GAS, year: 2023 });
    expect(() => avoidedEmissions(one, annualEmissions({ ...GAS, year: 2024 }))).toThrow(/2024/);
    const other = annualEmissions({ ...GAS, year: 2023, gwpSet: "AR6" });
    expect(() => avoidedEmissions(one, other)).toThrow(/AR6/);
  });

  test("upstream methane is nothing without gas or without leaks, and in no scope", () => {
    expect(upstreamMethane({ therms: 0 }).kgCo2e).toBe(0);
    expect(upstreamMethane({ therms: 100, leakShare: 0 }).kgCo2e).toBe(0);
    const gases = annualEmissions({ ...GAS, year: 2023 }).lines.map((line) => line.factor.activity);
    expect(gases).not.toContain("upstream-methane");
    expect(() => upstreamMethane({ therms: 1, leakShare: 1 })).toThrow(/leakShare.*1/);
  });
});
