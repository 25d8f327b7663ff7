import { describe, expect, test } from "vitest";
import { computeEnergy, computeMonthlyUse, energyInputOf } from "@/lib/core/energy/annual-energy";
import { metersOfHeater } from "@/lib/core/energy/meters";
import { sumOf } from "@/lib/core/energy/months";
import {
  drawShares,
  energyContextOf,
  propertyEnergySchema,
  UNKNOWN_PROPERTY_ENERGY,
} from "@/lib/core/energy/property-energy";
import type { Site } from "@/lib/core/heaters/heater";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";

const SITE: Site = {
  propertyId: "property-1",
  annualMeanAirF: 55,
  airAmplitudeF: 18,
  coldestMonth: 1,
  demandLevel: "medium",
  gasCentsPerTherm: 150,
  electricityCentsPerKwh: 18,
  gasStandingCentsPerMonth: 1000,
  gridRegion: "US",
};
const TODAY = calendarDay("2026-11-20");

describe("who holds a heater's meters", () => {
  test("is the property's record for a home, and the owner for a heater of several homes", () => {
    const meters = { fuel: "owner", electricity: "resident" } as const;
    expect(metersOfHeater({ unitId: "home" }, meters)).toEqual({ ...meters, isAssumed: false });
    expect(metersOfHeater({ unitId: null }, { fuel: null, electricity: null })).toEqual({
      fuel: "owner",
      electricity: "owner",
      isAssumed: false,
    });
  });

  test("is assumed to be the resident, and said to be, where a home's meter is not on record", () => {
    expect(metersOfHeater({ unitId: "home" }, { fuel: "owner", electricity: null })).toEqual({
      fuel: "owner",
      electricity: "resident",
      isAssumed: true,
    });
  });
});

describe("heaters of one home", () => {
  test("share its water alike; a heater of several homes has its own", () => {
    const shares = drawShares([
      { id: "a", unitId: "home" },
      { id: "b", unitId: "home" },
      { id: "c", unitId: "next" },
      { id: "d", unitId: null },
      { id: "e", unitId: null },
    ]);
    expect(Object.fromEntries(shares)).toEqual({ a: 0.5, b: 0.5, c: 1, d: 1, e: 1 });
  });
});

describe("a property's record of its energy", () => {
  const record = {
    ...UNKNOWN_PROPERTY_ENERGY,
    otherGasAppliances: "yes" as const,
    conditioning: {
      heatingFuel: "electricity" as const,
      heatingEfficiency: 3,
      coolingEfficiency: 4,
    },
    tariffs: {
      fuel: { tariff: { kind: "flat" as const, centsPerUnit: 200 }, source: "bill" },
      electricity: null,
    },
  };

  test("goes into the energy model: prices, the last gas appliance, heating and cooling", () => {
    const context = energyContextOf(record, { today: TODAY });
    const year = computeEnergy(energyInputOf(aHeater(), SITE, context));
    expect(year.standingCentsPerYear).toBe(0);
    expect(year.fuelCostCentsPerYear).toBeCloseTo(year.thermsPerYear * 200, -2);
    expect(year.electricityCostCentsPerYear).toBe(0);
    expect(year.costCentsPerYear).toBe(year.fuelCostCentsPerYear);
    expect(year.spaceEffect.kwhPerYear).not.toBeNull();
  });

  test("uses the factor of its meters only where it says so", () => {
    const therms = (usesCalibration: boolean) => {
      const context = energyContextOf(
        { ...record, usesCalibration },
        { today: TODAY, meterFactor: 1.2 },
      );
      return computeEnergy(energyInputOf(aHeater(), SITE, context)).thermsPerYear;
    };
    expect(therms(true) / therms(false)).toBeCloseTo(1.2, 9);
  });

  test("the energy alone is that of the whole computation", () => {
    const input = energyInputOf(aHeater(), SITE, energyContextOf(record, { today: TODAY }));
    expect(sumOf(computeMonthlyUse(input).therms)).toBe(computeEnergy(input).thermsPerYear);
  });

  test.each([
    [{ heldFrom: "2025-06-01", heldTo: "2025-01-01" }, /before the first day/],
    [{ occupiedShare: { "20x5": 1 } }, /year/],
    [{ occupiedShare: { "2025": 2 } }, /1\.5/],
    [{ floorAreaSqFt: 0 }, />0/],
    [{ meters: { fuel: "city", electricity: null } }, /owner/],
  ])("with %j is refused", (changes, message) => {
    const parsed = propertyEnergySchema.safeParse({ ...record, ...changes });
    expect(parsed.success).toBe(false);
    expect(parsed.error?.message).toMatch(message);
  });
});
