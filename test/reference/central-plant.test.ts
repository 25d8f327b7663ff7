import { describe, expect, test } from "vitest";
import {
  DEFAULT_PLANT,
  plantByFixtures,
  plantByPeople,
  sizeHeatPumpPlant,
} from "@/lib/core/heaters/central-plant";
import { APARTMENT_DEMAND, APARTMENT_WINDOWS } from "@/lib/core/heaters/sizing-tables";
import { DEMAND_LEVELS } from "@/lib/core/heaters/vocabulary";

describe("hourly demand of an apartment house by its fixtures", () => {
  // "Sizing Domestic Water Heater Systems – Two Sample Calculations", dticorp.com, method 1: 16 units
  // with sink, dishwasher, two lavatories and two tubs with showers; 160 + 240 + 64 + 640 = 1,104,
  // · 0.30 = 331 gph, · 1.25 = 414 gal, ÷ 0.70 = 591 gal (seen there).
  test("of the 16-unit example is 331 gph, 414 gal usable and a tank of 591 gal", () => {
    const plant = plantByFixtures({
      "kitchen-sink": 16,
      dishwasher: 16,
      "private-lavatory": 32,
      bathtub: 32,
    });
    expect(plant.possibleGph).toBe(1_104);
    expect(plant.recoveryGph).toBeCloseTo(331.2, 6);
    expect(Math.round(plant.usableGal)).toBe(414);
    expect(Math.round(plant.storageGal)).toBe(591);
  });

  // "Heating Helper", page 64, yumpu.com, example of a 50-unit apartment building: 50 lavatories, 50
  // showers, 50 kitchen sinks, 10 laundry tubs: 2,300, · 0.30 = 690 gph, · 1.25 = 863 gal (seen there).
  test("of the 50-unit example is 690 gph and 863 gal", () => {
    const plant = plantByFixtures({
      "private-lavatory": 50,
      shower: 50,
      "kitchen-sink": 50,
      "laundry-tub": 10,
    });
    expect(plant.possibleGph).toBe(2_300);
    expect(plant.recoveryGph).toBeCloseTo(690, 6);
    expect(Math.round(plant.usableGal)).toBe(863);
  });
});

describe("hourly demand of an apartment house by its people", () => {
  // The same page of dticorp.com, method 2: 80 people at low demand, 30 minutes and 3 hours of the
  // manual: 80 · 1.7 = 136 gph (seen there); 80 · 6.1 = 488 gal (factors seen, product computed).
  test("of the 80-person example is 136 gph and 488 gal usable", () => {
    const plant = plantByPeople(80, "low");
    expect(plant.recoveryGph).toBeCloseTo(136, 6);
    expect(plant.usableGal).toBeCloseTo(488, 6);
  });

  test("draws more in a longer window and never faster than in the busiest five minutes", () => {
    for (const level of DEMAND_LEVELS) {
      const { mostWithinGal } = APARTMENT_DEMAND[level];
      for (let n = 1; n < APARTMENT_WINDOWS.length; n++) {
        const [before, now] = [mostWithinGal[n - 1] ?? 0, mostWithinGal[n] ?? 0];
        expect(now).toBeGreaterThan(before);
        expect(now / (APARTMENT_WINDOWS[n] ?? 1)).toBeLessThan(
          before / (APARTMENT_WINDOWS[n - 1] ?? 1),
        );
      }
    }
  });
});

describe("a central heat pump", () => {
  const terms = {
    ...DEFAULT_PLANT,
    people: 40,
    homes: 20,
    level: "medium" as const,
    coldestInletF: 50,
  };

  // By hand from the table: 40 · 49 = 1,960 gal a day, ÷ 16 h = 122.5 gph at 120 °F; stored at 140 °F
  // from 50 °F the same heat is 122.5 · 70 / 90 = 95.3 gph; 40 · 11 · 70 / 90 = 342.2 gal usable,
  // ÷ 0.70 = 488.9 gal. Heat 122.5 · 8.25 · 70 = 70,744 Btu/h and a loop of 20 · 100 W · 24 / 16 = 3 kW
  // = 10,236 Btu/h: 80,980 Btu/h, 23.73 kW, ÷ 2.5 = 9.49 kW.
  test("of 20 homes and 40 people has the size worked by hand", () => {
    const plant = sizeHeatPumpPlant(terms);
    expect(plant.greatestDayGal).toBe(1_960);
    expect(plant.recoveryGph).toBeCloseTo(95.28, 2);
    expect(plant.usableGal).toBeCloseTo(342.22, 2);
    expect(plant.storageGal).toBeCloseTo(488.89, 2);
    expect(plant.heatBtuPerHour).toBeCloseTo(80_980, -1);
    expect(plant.electricKw).toBeCloseTo(9.49, 2);
  });

  // The table's busiest draw, minute by minute, with the heat pumps at rest for its first three hours.
  test.each(DEMAND_LEVELS)("at %s demand never runs out over the greatest day", (level) => {
    const plant = sizeHeatPumpPlant({ ...terms, level, storageF: 120 });
    const drawnBy = (minute: number) => {
      const { mostWithinGal } = APARTMENT_DEMAND[level];
      let [fromMinute, fromGal] = [0, 0];
      for (let n = 0; n < APARTMENT_WINDOWS.length; n++) {
        const [to, gal] = [APARTMENT_WINDOWS[n] ?? 0, mostWithinGal[n] ?? 0];
        if (minute <= to) {
          return fromGal + ((gal - fromGal) * (minute - fromMinute)) / (to - fromMinute);
        }
        [fromMinute, fromGal] = [to, gal];
      }
      return fromGal;
    };
    let stored = plant.usableGal;
    for (let minute = 1; minute <= 1_440; minute++) {
      const made = minute > 180 ? plant.recoveryGph / 60 : 0;
      const drawn = terms.people * (drawnBy(minute) - drawnBy(minute - 1));
      stored = Math.min(plant.usableGal, stored + made - drawn);
      expect(stored).toBeGreaterThanOrEqual(-1e-6);
    }
  });

  test.each([
    [{ people: 0 }, /people/],
    [{ runHours: 25 }, /runHours/],
    [{ storageF: 110 }, /storageF/],
    [{ coldestInletF: 125 }, /coldestInletF/],
    [{ coefficientOfPerformance: 0 }, /coefficientOfPerformance/],
  ])("refuses %j by name", (changes, message) => {
    expect(() => sizeHeatPumpPlant({ ...terms, ...changes })).toThrow(message);
  });
});
