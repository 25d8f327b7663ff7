import { describe, expect, test } from "vitest";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { emissionPath, type PathHeater, type PathYear } from "@/lib/core/emissions/path";

/** A gas tank of 200 therms that becomes a heat pump of 1,000 kWh in the middle of 2026. */
const SWAPPED: PathHeater = {
  id: "swapped",
  gridRegion: "CAMX",
  before: { thermsPerYear: 200, kwhPerYear: 0, fuel: "natural-gas" },
  swap: {
    year: 2026,
    shareBefore: 0.5,
    after: { thermsPerYear: 0, kwhPerYear: 1_000, fuel: "electricity" },
  },
};

/** 20 mmBtu · 53.1145 kg CO2e (40 CFR 98 tables C-1 and C-2, AR5). */
const GAS_KG = 1062.29;
/** CAMX of eGRID2023 by its rates: (428.464 + 28 · 0.025 + 265 · 0.003) lb/MWh. */
const HEAT_PUMP_KG = (428.464 + 0.7 + 0.795) * 0.45359237;

const total = (path: readonly PathYear[], index: number) =>
  locationTotal((path[index] as PathYear).inventory.kgCo2e);

describe("a path along a plan", () => {
  test("has the old heater before the swap, both in its year, the new one after", () => {
    const path = emissionPath({ years: [2025, 2026, 2027], heaters: [SWAPPED], gridOutlook: [] });
    expect(total(path, 0)).toBeCloseTo(GAS_KG, 2);
    expect(total(path, 1)).toBeCloseTo((GAS_KG + HEAT_PUMP_KG) / 2, 2);
    expect(total(path, 2)).toBeCloseTo(HEAT_PUMP_KG, 2);
    expect(path[2]?.change.swaps).toBeCloseTo(HEAT_PUMP_KG - GAS_KG, 2);
    expect(path[2]?.change.grid).toBeCloseTo(0, 9);
  });

  test("follows the user's outlook of the grid in straight lines, level outside it", () => {
    const gridOutlook = [
      { year: 2035, shareOfTable: 0.5 },
      { year: 2025, shareOfTable: 1 },
    ];
    const years = [2024, 2025, 2030, 2035, 2040];
    const heaters = [
      { ...SWAPPED, swap: null, before: (SWAPPED.swap as { after: PathHeater["before"] }).after },
    ];
    const path = emissionPath({
      years,
      heaters,
      gridOutlook,
      gridOutlookSource: "state plan of 2024",
    });
    expect(path.map((at) => at.gridShare)).toEqual([1, 1, 0.75, 0.5, 0.5]);
    expect(total(path, 3)).toBeCloseTo(HEAT_PUMP_KG / 2, 3);
    expect(path[3]?.change.grid).toBeCloseTo(-HEAT_PUMP_KG / 2, 3);
    expect(path[3]?.inventory.lines[0]?.factor).toMatchObject({
      evidence: "entered",
      vintage: 2035,
      source: expect.stringMatching(/^state plan of 2024: 0\.5 of US EPA eGRID/),
    });
  });

  // Two causes, two orders: swaps first saves the gas and adds a dirty grid's electricity, grid first
  // saves nothing before there is electricity. The average halves the difference.
  test("shares what swaps and grid do together evenly between them", () => {
    const gridOutlook = [
      { year: 2025, shareOfTable: 1 },
      { year: 2030, shareOfTable: 0.5 },
    ];
    const path = emissionPath({ years: [2025, 2030], heaters: [SWAPPED], gridOutlook });
    expect(path[1]?.change.grid).toBeCloseTo(-HEAT_PUMP_KG / 4, 3);
    expect(path[1]?.change.swaps).toBeCloseTo(0.75 * HEAT_PUMP_KG - GAS_KG, 2);
  });

  test("counts a heat pump's leaks each year and its last charge in the year it is swapped", () => {
    const refrigerant = {
      refrigerant: "R-134a",
      chargeKg: 1,
      annualLeakShare: 0.02,
      endOfLifeLossShare: 0.5,
    } as const;
    const heater: PathHeater = {
      ...SWAPPED,
      before: { thermsPerYear: 0, kwhPerYear: 0, fuel: "electricity" },
      refrigerantBefore: refrigerant,
      swap: {
        year: 2026,
        shareBefore: 0,
        after: { thermsPerYear: 0, kwhPerYear: 0, fuel: "electricity" },
        refrigerantAfter: { ...refrigerant, refrigerant: "R-744" },
      },
    };
    const path = emissionPath({ years: [2025, 2026, 2027], heaters: [heater], gridOutlook: [] });
    expect(total(path, 0)).toBeCloseTo(0.02 * 1300, 9);
    expect(total(path, 1)).toBeCloseTo(0.5 * 1300 + 0.02, 9);
    expect(total(path, 2)).toBeCloseTo(0.02, 9);
  });

  test("moves residents' energy to scope 3 all along", () => {
    const heaters: PathHeater[] = [
      { ...SWAPPED, meteredBy: { fuel: "resident", electricity: "resident" } },
    ];
    for (const { inventory } of emissionPath({
      years: [2025, 2026, 2027],
      heaters,
      gridOutlook: [],
    })) {
      expect(inventory.kgCo2e).toMatchObject({ scope1: 0, scope2Location: 0, scope2Market: 0 });
      expect(inventory.kgCo2e.scope3).toBeGreaterThan(0);
    }
  });

  test("needs a year and a share of it", () => {
    expect(() => emissionPath({ years: [], heaters: [], gridOutlook: [] })).toThrow(/years/);
    const heaters = [
      {
        ...SWAPPED,
        swap: { ...(SWAPPED.swap as NonNullable<PathHeater["swap"]>), shareBefore: 2 },
      },
    ];
    expect(() => emissionPath({ years: [2026], heaters, gridOutlook: [] })).toThrow(
      /shareBefore.*2/,
    );
  });
});
