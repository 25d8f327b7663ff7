import { describe, expect, test } from "vitest";
import {
  copRatio,
  type HeatPump,
  type HeatPumpDay,
  heatPumpDay,
  heatPumpTankLoss,
  resistanceShareOf,
} from "@/lib/core/energy/heat-pump";

const PUMP: HeatPump = {
  ratedCop: 4,
  lossBtuPerHourF: 3.6,
  volumeGal: 50,
  hasElement: true,
  coldestAirF: 40,
};

const DAY: HeatPumpDay = {
  deliveredBtu: 30_000,
  tankF: 125,
  airF: 67.5,
  evaporatorAirF: 67.5,
  airSpreadF: 0,
  inletF: 58,
  gallonsPerDay: 50,
};

describe("a heat pump's day", () => {
  test("closes its balance: electricity and air heat make what is drawn and lost", () => {
    for (const evaporatorAirF of [30, 50, 67.5, 90]) {
      const flows = heatPumpDay(PUMP, { ...DAY, evaporatorAirF, airSpreadF: 9 });
      expect(flows.inputBtu + flows.takenFromAirBtu).toBeCloseTo(
        DAY.deliveredBtu + flows.lostToAirBtu,
        6,
      );
    }
  });

  test("at the rating conditions it has its rated coefficient", () => {
    expect(heatPumpDay(PUMP, DAY).cop).toBeCloseTo(4, 9);
  });

  test("never does worse than an element", () => {
    const flows = heatPumpDay(
      { ...PUMP, ratedCop: 1.2, coldestAirF: -40 },
      {
        ...DAY,
        evaporatorAirF: 10,
      },
    );
    expect(flows.cop).toBe(1);
  });

  test("works better in warm air, with cold mains and at a lower setpoint", () => {
    const at = { airF: 67.5, inletF: 58, setpointF: 125 };
    expect(copRatio(at)).toBeCloseTo(1, 9);
    expect(copRatio({ ...at, airF: 80 })).toBeGreaterThan(1);
    expect(copRatio({ ...at, inletF: 45 })).toBeGreaterThan(1);
    expect(copRatio({ ...at, setpointF: 140 })).toBeLessThan(1);
  });
});

describe("the share of the element", () => {
  test("is nothing in warm air with a day's draw of up to one and a quarter tanks", () => {
    expect(resistanceShareOf(PUMP, { ...DAY, gallonsPerDay: 62.5 })).toBe(0);
    expect(resistanceShareOf(PUMP, { ...DAY, gallonsPerDay: 112.5 })).toBeCloseTo(0.05, 9);
    expect(resistanceShareOf(PUMP, { ...DAY, gallonsPerDay: 5_000 })).toBeCloseTo(0.3, 9);
  });

  test("is one half when the air is as cold as the compressor stands, and all of it far below", () => {
    const cold = { ...DAY, airSpreadF: 9 };
    expect(resistanceShareOf(PUMP, { ...cold, evaporatorAirF: 40 })).toBeCloseTo(0.5, 9);
    expect(resistanceShareOf(PUMP, { ...cold, evaporatorAirF: 0 })).toBeGreaterThan(0.99);
    expect(resistanceShareOf(PUMP, { ...DAY, evaporatorAirF: 39.9 })).toBe(1);
  });

  // Normal distribution: 15.87 % lie one standard deviation below the mean.
  test("follows a normal spread of the hours", () => {
    const share = resistanceShareOf(PUMP, { ...DAY, airSpreadF: 9, evaporatorAirF: 49 });
    expect(share).toBeCloseTo(0.1587, 4);
  });

  test("is nothing without an element", () => {
    expect(resistanceShareOf({ ...PUMP, hasElement: false }, { ...DAY, evaporatorAirF: 0 })).toBe(
      0,
    );
  });
});

test.each([
  [50, 3.6],
  [58, 3.6],
  [58.1, 4],
  [73, 4],
  [80, 4.7],
  [100, 4.7],
])("a heat pump's tank of %f gallons loses %f Btu per hour and °F", (gallons, loss) => {
  expect(heatPumpTankLoss(gallons)).toBe(loss);
});
