import { describe, expect, test } from "vitest";
import { assessPlant, type BuildingPlant, leastLeft } from "@/lib/core/heaters/building-plant";
import { DEFAULT_PLANT } from "@/lib/core/heaters/central-plant";

/** The plant that test/reference/central-plant.test.ts works by hand: 488.9 gal, 80,980 Btu/h, 9.49 kW. */
const PLANT: BuildingPlant = {
  ...DEFAULT_PLANT,
  people: 40,
  homes: 20,
  level: "medium",
  coldestInletF: 50,
  storageGal: null,
  heatBtuPerHour: null,
  floorSqFt: null,
  scope: "none",
};
const SERVICE = { volts: 240, phases: 1 } as const;

describe("a central plant against what is needed", () => {
  test("without one thought of is as large as the method asks, and no larger", () => {
    const { storage, heat, needed } = assessPlant(PLANT, SERVICE, null);
    expect(needed.storageGal).toBeCloseTo(488.89, 2);
    expect(storage).toMatchObject({ verdict: "enough", margin: 0 });
    expect(heat).toMatchObject({ verdict: "enough", margin: 0 });
  });

  test("that holds less is short by what is missing", () => {
    const { storage, heat } = assessPlant(
      { ...PLANT, storageGal: 400, heatBtuPerHour: 90_000 },
      SERVICE,
      null,
    );
    expect(storage.verdict).toBe("short");
    expect(storage.margin).toBeCloseTo(-88.89, 2);
    expect(heat.verdict).toBe("enough");
    expect(heat.margin).toBeCloseTo(9_020, -1);
  });

  // 9.49 kW · 1.25 = 11.87 kVA, 49.4 A at 240 V; the output that is thought of takes its share more.
  test("draws its electricity with the compressor factor, and fits or does not", () => {
    const { electrical } = assessPlant(PLANT, SERVICE, 12_000);
    expect(electrical.voltAmperes).toBeCloseTo(11_867, -1);
    expect(electrical.amps).toBeCloseTo(49.4, 1);
    expect(electrical.verdict).toBe("enough");
    const larger = assessPlant({ ...PLANT, heatBtuPerHour: 161_960 }, SERVICE, 12_000).electrical;
    expect(larger.kilowatts).toBeCloseTo(2 * electrical.kilowatts, 2);
    expect(larger.verdict).toBe("short");
    expect(assessPlant(PLANT, null, null).electrical).toMatchObject({
      amps: null,
      verdict: "unknown",
    });
  });

  // 488.9 gal are 5 tanks of up to 119; 5 · 16.5 + 2 · 14 = 110.5 sq ft; 488.9 · 11.3 = 5,524 lb.
  test("takes the floor of its tanks and heat pumps, and nobody knows until the floor is measured", () => {
    expect(assessPlant(PLANT, SERVICE, null).floor).toMatchObject({
      tanks: 5,
      needed: 110.5,
      verdict: "unknown",
    });
    expect(assessPlant(PLANT, SERVICE, null).floor.fullLb).toBeCloseTo(5_524, 0);
    expect(assessPlant({ ...PLANT, floorSqFt: 100 }, SERVICE, null).floor.verdict).toBe("short");
    expect(assessPlant({ ...PLANT, floorSqFt: 111 }, SERVICE, null).floor.verdict).toBe("enough");
  });
});

describe("a tank with its heat pumps running", () => {
  const still = { ...PLANT, storageF: 120, loopWattsPerHome: 0 };

  // By the table, stored at 120 °F: 40 people draw 4.8 · 40 = 192 gal in their busiest hour and 8 · 40 =
  // 320 in two. 57,750 Btu/h are 100 gal an hour (8.25 · 70). 0.7 · 200 = 140 usable: after 30 minutes
  // 140 + 50 − 116 = 74, an hour 48, two hours 20, three hours 140 + 300 − 440 = 0.
  test("comes closest to running cool in the window that leaves least", () => {
    const run = leastLeft(still, 200, 57_750);
    expect(run.windowMinutes).toBe(180);
    expect(run.leftGal).toBeCloseTo(0, 6);
  });

  test("runs cool by what is missing where it is too small", () => {
    // 70 usable: 70 + 300 − 440.
    expect(leastLeft(still, 100, 57_750).leftGal).toBeCloseTo(-70, 6);
  });

  test("loses to the loop what the loop takes", () => {
    const withLoop = leastLeft({ ...still, loopWattsPerHome: 100 }, 200, 57_750);
    // 20 · 100 W = 6,824 Btu/h, 11.82 gal an hour over three hours.
    expect(withLoop.leftGal).toBeCloseTo(-35.45, 1);
  });
});
