import { describe, expect, test } from "vitest";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { PUBLISHED_BOOK } from "@/lib/core/emissions/factors";
import { type PlannedInput, plannedYears } from "@/lib/core/emissions/planned-path";
import { ASSUMED_REFRIGERANT_TERMS } from "@/lib/core/emissions/refrigerant-account";
import { computeEnergy, energyInputOf } from "@/lib/core/energy/annual-energy";
import { UNKNOWN_PROPERTY_ENERGY } from "@/lib/core/energy/property-energy";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aLife, aPropertyRecord, HEAT_PUMP } from "@/test/support/a-property-record";

const { site } = aPropertyRecord();
const gas = aLife({ id: "gas" }).heater;
const kept = aLife({ id: "kept" }).heater;
const AS_OF = calendarDay("2026-11-20");

const INPUT: PlannedInput = {
  site,
  energy: UNKNOWN_PROPERTY_ENERGY,
  heaters: [gas, kept],
  swaps: [
    {
      heaterId: "gas",
      day: calendarDay("2028-01-01"),
      option: {
        technology: "heat-pump-storage",
        volumeGal: 50,
        uniformEnergyFactor: 3.5,
        inputWatts: null,
      },
      charge: { refrigerant: "R-134a", kg: 0.75 },
    },
  ],
  years: [2026, 2027, 2028, 2029],
  asOf: AS_OF,
  meterFactor: null,
  book: PUBLISHED_BOOK,
  gwpSet: "AR5",
  gridOutlook: [],
  refrigerantTerms: ASSUMED_REFRIGERANT_TERMS,
  refrigerantLog: [],
};

describe("a property along a plan", () => {
  const years = plannedYears(INPUT);
  const gasKg = computeEnergy(energyInputOf(gas, site, { today: AS_OF })).thermsPerYear * 5.31145;

  test("keeps every heater until its swap, and then has the new one", () => {
    const totals = years.map(({ planned }) => locationTotal(planned));
    expect(totals[0]).toBeCloseTo(2 * gasKg, 2);
    expect(totals[1]).toBeCloseTo(2 * gasKg, 2);
    const pump = computeEnergy(energyInputOf({ ...gas, ...HEAT_PUMP }, site, {})).kwhPerYear;
    // RFCW of eGRID2022: 0.45616 kg CO2e per kWh, as quoted; 9.75 kg CO2e of R-134a leak (AR5).
    expect(totals[2]).toBeCloseTo(gasKg + pump * 0.45616 + 9.75, 0);
    expect(totals[3]).toBeCloseTo(totals[2] as number, 6);
  });

  test("says what would be without it, the swaps of each year and the burners left", () => {
    expect(years.map(({ unchanged }) => locationTotal(unchanged))).toEqual(
      years.map(() => expect.closeTo(2 * gasKg, 2)),
    );
    expect(years.map(({ swaps }) => swaps)).toEqual([0, 0, 1, 0]);
    expect(years.map(({ burnersLeft }) => burnersLeft)).toEqual([2, 2, 1, 1]);
  });

  test("follows an outlook of its own region only", () => {
    const outlook = (region: string) =>
      plannedYears({
        ...INPUT,
        gridOutlook: [{ region, year: 2026, shareOfTable: 0.5 }],
      }).at(-1)?.planned ?? null;
    const plain = years.at(-1)?.planned;
    expect(outlook("CAMX")).toEqual(plain);
    expect(outlook("RFCW")?.scope3).toBeLessThan(plain?.scope3 ?? 0);
  });

  test("is multiplied by the factor of its meters where the property uses it", () => {
    const energy = { ...UNKNOWN_PROPERTY_ENERGY, usesCalibration: true };
    const [first] = plannedYears({ ...INPUT, energy, meterFactor: 1.25 });
    expect(locationTotal(first?.planned as (typeof years)[number]["planned"])).toBeCloseTo(
      2.5 * gasKg,
      2,
    );
  });
});
