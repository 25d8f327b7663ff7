import { describe, expect, test } from "vitest";
import { PUBLISHED_BOOK } from "@/lib/core/emissions/factors";
import { computeHomeResult } from "@/lib/core/emissions/home-result";
import { locationRates } from "@/lib/core/emissions/location-rates";
import { energyInputOf, energyInputOfOption } from "@/lib/core/energy/annual-energy";
import type { HeaterMeters } from "@/lib/core/energy/meters";
import { aLife, aPropertyRecord } from "@/test/support/a-property-record";

const site = { ...aPropertyRecord().site, gasStandingCentsPerMonth: 1000 };
const { heater } = aLife({ id: "gas" });
const rates = locationRates({ book: PUBLISHED_BOOK, gwpSet: "AR5", year: 2023, gridRegion: "US" });

const resultFor = (meters: HeaterMeters) =>
  computeHomeResult({
    before: energyInputOf(heater, site),
    after: energyInputOfOption(heater, site, {
      technology: "heat-pump-storage",
      volumeGal: 50,
      uniformEnergyFactor: 3.5,
      inputWatts: null,
    }),
    meters,
    rates,
  });

describe("a swap as one home sees it", () => {
  test("changes energy, cost and emissions for the same hot water", () => {
    const { before, after, change } = resultFor({ fuel: "resident", electricity: "resident" });
    expect(after.energy.deliveredBtuPerYear).toBeCloseTo(before.energy.deliveredBtuPerYear, 6);
    expect(change.thermsPerYear).toBeLessThan(0);
    expect(change.kwhPerYear).toBeGreaterThan(0);
    // 5.31145 kg CO2e a therm (40 CFR 98, AR5); US average of eGRID2023: 0.349667 kg a kWh, as quoted.
    expect(before.kgCo2e).toBeCloseTo(before.energy.thermsPerYear * 5.31145, 3);
    expect(after.kgCo2e).toBeCloseTo(after.energy.kwhPerYear * 0.349667, 1);
    expect(change.kgCo2e).toBeCloseTo(after.kgCo2e - before.kgCo2e, 9);
  });

  test("is paid by who holds each meter, to the cent", () => {
    const { before, after, change } = resultFor({ fuel: "owner", electricity: "resident" });
    expect(before.centsPaidBy).toEqual({ owner: before.energy.costCentsPerYear, resident: 0 });
    expect(after.centsPaidBy).toEqual({ owner: 0, resident: after.energy.costCentsPerYear });
    expect(change.centsPaidBy.owner + change.centsPaidBy.resident).toBe(change.cents);
  });

  test("moves the bill when the meters have different holders, and says to whom", () => {
    expect(resultFor({ fuel: "owner", electricity: "resident" }).billMovesTo).toBe("resident");
    expect(resultFor({ fuel: "resident", electricity: "owner" }).billMovesTo).toBe("owner");
    expect(resultFor({ fuel: "resident", electricity: "resident" }).billMovesTo).toBeNull();
  });

  test("takes the gas standing charge away with the last gas appliance", () => {
    const { before, after } = resultFor({ fuel: "resident", electricity: "resident" });
    expect(before.energy.standingCentsPerYear).toBe(12_000);
    expect(after.energy.standingCentsPerYear).toBe(0);
  });
});
