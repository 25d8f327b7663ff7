import { describe, expect, test } from "vitest";
import {
  AIR_VOLUME,
  checkCombustionAir,
  checkRoomAir,
  combustionAirCubicFeet,
  ventLeftBehind,
} from "@/lib/core/heaters/air";
import { checkCondensateFall } from "@/lib/core/heaters/condensate";
import {
  ampsOf,
  type MultifamilyLoads,
  multifamilyDemandFactor,
  multifamilyLoadVa,
} from "@/lib/core/heaters/electrical";

describe("combustion air of open burners", () => {
  // California Plumbing Code 2016, appendix J (annex I of NFPA 54), as shown by up.codes: 100,000 and
  // 40,000 Btu/h need 7,000 ft³; a room of 15 · 30 · 8 ft has 3,600 (seen there).
  test("of the code's own example is 7,000 cubic feet where the room has 3,600", () => {
    expect(checkCombustionAir(15 * 30 * 8, 140_000)).toEqual({
      neededCubicFeet: 7_000,
      isEnough: false,
    });
  });

  // Gas Engineering Guide of a utility, hawaiigas.com: 150,000 Btu/h need 7,500 ft³; 20 · 30 · 8 = 4,800
  // is a confined space (seen there).
  test("of a utility's example is 7,500 cubic feet where the room has 4,800", () => {
    expect(checkCombustionAir(20 * 30 * 8, 150_000)).toEqual({
      neededCubicFeet: 7_500,
      isEnough: false,
    });
  });

  // hvaclicensing.com, question 1: 80,000 Btu/h need 4,000 ft³; 20 · 18 · 8 = 2,880 (seen there).
  test("of an examination's question is 4,000 cubic feet where the room has 2,880", () => {
    expect(checkCombustionAir(20 * 18 * 8, 80_000)).toEqual({
      neededCubicFeet: 4_000,
      isEnough: false,
    });
    expect(checkCombustionAir(4_000, 80_000).isEnough).toBe(true);
  });

  // 40,000 Btu/h · 50 / 1,000, computed from the same rule.
  test("of a 40,000 Btu/h water heater alone is 2,000 cubic feet", () => {
    expect(combustionAirCubicFeet(40_000)).toBe(2_000);
  });
});

describe("room air of a heat pump", () => {
  const room = (volumeCubicFeet: number, louvreSquareInches: number | null = null) =>
    checkRoomAir({ volumeCubicFeet, louvreSquareInches, isDucted: false }).answer;

  // 1,000 ft³: ENERGY STAR product page (published). 450 to 700 ft³: makers' manuals, as quoted.
  test.each([
    [10 * 10 * 10, "yes"],
    [999, "unknown"],
    [7 * 10 * 10, "unknown"],
    [699, "no"],
    [450, "no"],
    [3 * 3 * 8, "no"],
  ] as const)("of %d cubic feet is enough: %s", (volume, answer) => {
    expect(room(volume)).toBe(answer);
  });

  test("is helped by louvres of 240 square inches down to the least of the manuals, not below", () => {
    expect(room(AIR_VOLUME.least.value, 240)).toBe("yes");
    expect(room(AIR_VOLUME.least.value, 239)).toBe("no");
    expect(room(AIR_VOLUME.least.value - 1, 500)).toBe("no");
  });

  test("is enough in a closet with ducts", () => {
    expect(
      checkRoomAir({ volumeCubicFeet: 72, louvreSquareInches: null, isDucted: true }).answer,
    ).toBe("yes");
  });
});

describe("a condensate line", () => {
  // International Plumbing Code 314.2.1 as adopted by the city of Baltimore: one-eighth unit in 12, 1 %
  // (seen there). 12 ft · ⅛ in = 1½ in, computed.
  test("of 12 feet must fall an inch and a half", () => {
    expect(checkCondensateFall({ runFt: 12, fallIn: 1.5 })).toMatchObject({
      answer: "yes",
      neededFallIn: 1.5,
    });
    expect(checkCondensateFall({ runFt: 12, fallIn: 1.4 }).answer).toBe("no");
  });

  test("up to a higher drain needs a pump", () => {
    const check = checkCondensateFall({ runFt: 4, fallIn: -20 });
    expect(check.answer).toBe("no");
    expect(check.sentence).toMatch(/pump/);
  });
});

describe("a common vent that an appliance leaves", () => {
  test("keeps the share of the input that stays, and every appliance on it is tested", () => {
    const left = ventLeftBehind(40_000, 60_000);
    expect(left.shareLeft).toBeCloseTo(0.6, 10);
    expect(left.sentence).toMatch(/tested for spillage/);
  });

  test("is warned of where the inputs are not known", () => {
    expect(ventLeftBehind(null, null)).toMatchObject({ shareLeft: null });
    expect(ventLeftBehind(null, 60_000).sentence).toMatch(/too large/);
  });
});

describe("calculated load of a building of like homes", () => {
  const amps = (voltAmperes: number) => ampsOf(voltAmperes, { volts: 240, phases: 1 });

  // Electrical Contractor, "Branch-Circuit, Feeder and Service Calculations, Part LVIII" (ecmag.com): two
  // homes counted as three, NEC 220.85: area 1,800 sq ft, three appliance circuits, 9,156 VA of
  // appliances, a range of 12,000 and a dryer of 5,000 VA, heating 10,000 + 1,176 VA; connected
  // 16,200 + 13,500 + 78,468 + 33,528 = 141,696 VA, · 45 % = 63,763 VA (all seen there).
  test("of the two-family example is 63,763 VA", () => {
    const home: MultifamilyLoads = {
      homes: 2,
      floorAreaSqFt: 1_800,
      applianceCircuits: 3,
      cookingVa: 12_000,
      appliancesVa: 9_156 + 5_000,
      climateVa: 10_000 + 1_176,
      houseVa: 0,
    };
    expect(multifamilyLoadVa(home)).toBeCloseTo(141_696 * 0.45, 6);
    expect(Math.round(multifamilyLoadVa(home))).toBe(63_763);
  });

  // NEC Annex D, example D4(b): 840 sq ft, two appliance circuits, a range of 8 kW, heating of 6 kVA, a
  // water heater of 2.5 kW a home, laundry apart (inputs as quoted by flylib.com). 20 homes: 440,400 VA
  // · 38 % = 167,352 VA, 697 A; 40 homes: 880,800 VA · 28 % = 246,624 VA, 1,028 A (from memory).
  test.each([
    [20, 167_352, 697],
    [40, 246_624, 1_028],
  ])("of the code's example D4(b) with %d homes is %d VA, %d A", (homes, voltAmperes, amperes) => {
    const load = multifamilyLoadVa({
      homes,
      floorAreaSqFt: 840,
      applianceCircuits: 2,
      cookingVa: 8_000,
      appliancesVa: 2_500,
      climateVa: 6_000,
      houseVa: 0,
    });
    expect(load).toBeCloseTo(voltAmperes, 6);
    expect(Math.round(amps(load))).toBe(amperes);
  });

  test("counts 8 kW a home for gas cooking, and the house load in full", () => {
    const home: MultifamilyLoads = {
      homes: 10,
      floorAreaSqFt: 800,
      applianceCircuits: 3,
      cookingVa: null,
      appliancesVa: 0,
      climateVa: 3_000,
      houseVa: 12_000,
    };
    // By hand: 10 · (2,400 + 4,500 + 8,000 + 3,000) = 179,000 · 43 % = 76,970 + 12,000.
    expect(multifamilyLoadVa(home)).toBeCloseTo(88_970, 6);
    expect(multifamilyLoadVa(home, 45_000) - multifamilyLoadVa(home)).toBeCloseTo(19_350, 6);
  });

  test("falls in share as homes grow in number, from 45 to 23 %", () => {
    let before = 1;
    for (let homes = 3; homes <= 80; homes++) {
      const factor = multifamilyDemandFactor(homes);
      expect(factor).toBeLessThanOrEqual(before);
      before = factor;
    }
    expect(multifamilyDemandFactor(3)).toBe(0.45);
    expect(multifamilyDemandFactor(61)).toBe(0.24);
    expect(multifamilyDemandFactor(62)).toBe(0.23);
    expect(() => multifamilyDemandFactor(2)).toThrow(/homes/);
  });
});
