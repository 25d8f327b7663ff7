import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  assessHeadroom,
  type BuildingElectrical,
  buildingElectricalSchema,
  circuitsAddedByUpgrade,
  DEFAULT_ELECTRICAL,
} from "@/lib/core/heaters/electrical-building";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const service = { amps: 400, volts: 240 };
const LOADS: NonNullable<BuildingElectrical["loads"]> = {
  homes: 12,
  floorAreaSqFt: 800,
  applianceCircuits: 3,
  cookingVa: null,
  appliancesVa: 0,
  climateVa: 3_000,
  houseVa: 6_000,
  newInFull: true,
};

describe("headroom by a measured peak", () => {
  // 1.25 · 40 kW at 240 V is 208.33 A; 191.67 A spare ÷ 18.75 A = 10.2 (NEC 220.87, as quoted; by hand).
  test("of 40 kW on 400 A is ten circuits", () => {
    const answer = assessHeadroom(service, 40, DEFAULT_ELECTRICAL);
    expect(answer.circuits).toBe(10);
    expect(answer.measured?.spareAmps).toBeCloseTo(191.67, 2);
    expect(answer.missing).toEqual([]);
  });

  test("adds the season's load to a 30-day recording, and says when none was added", () => {
    const recorded = (seasonalKw: number): BuildingElectrical => ({
      ...DEFAULT_ELECTRICAL,
      peak: { basis: "thirty-days", seasonalKw, isHidden: "no" },
    });
    expect(assessHeadroom(service, 40, recorded(20)).circuits).toBe(4);
    expect(assessHeadroom(service, 40, recorded(0)).assumed.join(" ")).toMatch(/30 days/);
  });

  test("is refused where solar generation hides the load", () => {
    const answer = assessHeadroom(service, 40, {
      ...DEFAULT_ELECTRICAL,
      peak: { basis: "year", seasonalKw: 0, isHidden: "yes" },
    });
    expect(answer.circuits).toBeNull();
    expect(answer.missing.join(" ")).toMatch(/may not be used/);
  });

  test("takes 125 % of each new heater where the authority asks it", () => {
    const answer = assessHeadroom(service, 40, { ...DEFAULT_ELECTRICAL, newLoadFactor: 1.25 });
    expect(answer.measured?.perCircuitAmps).toBeCloseTo(23.44, 2);
    expect(answer.circuits).toBe(8);
  });

  test("has no answer, and says what is missing, without a peak or a rating", () => {
    expect(assessHeadroom(service, null, DEFAULT_ELECTRICAL)).toMatchObject({
      circuits: null,
      missing: [expect.stringMatching(/highest demand/)],
    });
    expect(assessHeadroom(null, 40, DEFAULT_ELECTRICAL)).toMatchObject({
      circuits: null,
      missing: [expect.stringMatching(/rating/)],
    });
  });
});

describe("headroom by a calculated load", () => {
  const calculated = (changes: Partial<typeof LOADS> = {}): BuildingElectrical => ({
    ...DEFAULT_ELECTRICAL,
    method: "calculated",
    loads: { ...LOADS, ...changes },
  });

  // By hand: 12 · (2,400 + 4,500 + 8,000 + 3,000) = 214,800 · 41 % = 88,068 + 6,000 = 94,068 VA, 391.95 A
  // on 400 A; a heater in full is 18.75 A and does not fit, with the factor 7.69 A and one fits.
  test("counts new heaters in full or with the demand factor, as chosen", () => {
    expect(assessHeadroom(service, null, calculated()).circuits).toBe(0);
    const shared = assessHeadroom(service, null, calculated({ newInFull: false }));
    expect(shared.calculated?.existingAmps).toBeCloseTo(391.95, 2);
    expect(shared.calculated?.perCircuitAmps).toBeCloseTo(7.69, 2);
    expect(shared.circuits).toBe(1);
  });

  test("of one home goes by the rule for an existing dwelling", () => {
    // Own 900 sq ft apartment as in the reference tests: 10,880 VA, 45.3 A; with a heater 52.8 A.
    const answer = assessHeadroom(
      { amps: 60, volts: 240 },
      null,
      calculated({
        homes: 1,
        floorAreaSqFt: 900,
        cookingVa: 8_000,
        climateVa: 0,
        houseVa: 0,
        newInFull: false,
      }),
    );
    expect(answer.calculated?.existingAmps).toBeCloseTo(45.3, 1);
    expect(answer.calculated?.perCircuitAmps).toBeCloseTo(7.5, 1);
    expect(answer.circuits).toBe(1);
  });

  test("says what it assumes of gas cooking and of homes without heating or cooling", () => {
    const words = assessHeadroom(service, null, calculated({ climateVa: 0 })).assumed.join(" ");
    expect(words).toMatch(/gas cooking is counted as 8 kW/);
    expect(words).toMatch(/electric heating or cooling/);
  });
});

describe("an electrician's statement", () => {
  const stated: BuildingElectrical = {
    ...DEFAULT_ELECTRICAL,
    method: "stated",
    stated: { circuits: 3, by: "An electrician", on: calendarDay("2026-05-04") },
  };

  test("holds whatever the rating or the peak say", () => {
    expect(assessHeadroom(null, null, stated)).toMatchObject({ circuits: 3, missing: [] });
  });

  test("does not say what a larger service would carry", () => {
    expect(circuitsAddedByUpgrade(service, 800, 40, stated)).toBeNull();
  });
});

describe("an upgrade", () => {
  test("adds what the larger service carries beyond the one there", () => {
    // 800 A: 591.67 A spare ÷ 18.75 = 31 circuits, 21 more than ten.
    expect(circuitsAddedByUpgrade(service, 800, 40, DEFAULT_ELECTRICAL)).toBe(21);
  });

  test("never takes circuits away", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 60, max: 2_000 }),
        fc.integer({ min: 0, max: 2_000 }),
        fc.double({ min: 0, max: 400, noNaN: true }),
        (amps, more, peakKw) => {
          const added = circuitsAddedByUpgrade(
            { amps, volts: 240 },
            amps + more,
            peakKw,
            DEFAULT_ELECTRICAL,
          );
          expect(added).toBeGreaterThanOrEqual(0);
        },
      ),
    );
  });
});

test("what a building starts from is what is stored", () => {
  expect(buildingElectricalSchema.parse(DEFAULT_ELECTRICAL)).toEqual(DEFAULT_ELECTRICAL);
});
