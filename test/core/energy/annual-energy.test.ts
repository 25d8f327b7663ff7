import { describe, expect, test } from "vitest";
import {
  computeEnergy,
  type EnergyInput,
  energyInputOf,
  energyInputOfOption,
} from "@/lib/core/energy/annual-energy";
import { deliveredBtuPerDay, gallonsAtSetpoint } from "@/lib/core/energy/hot-water-draw";
import type { Site } from "@/lib/core/heaters/heater";
import { PLACES, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { grainsToMgPerLitre } from "@/lib/core/shared/units";
import { aHeater } from "@/test/support/a-heater";

const SITE: Site = {
  propertyId: "property-1",
  annualMeanAirF: 55,
  airAmplitudeF: 18,
  coldestMonth: 1,
  demandLevel: "medium",
  gasCentsPerTherm: 150,
  electricityCentsPerKwh: 20,
  gasStandingCentsPerMonth: 1_000,
  gridRegion: "US",
};

const HEAT_PUMP = {
  technology: "heat-pump-storage",
  volumeGal: 50,
  uniformEnergyFactor: 3.5,
  inputWatts: 500,
} as const;

const home = (changes: Partial<ReturnType<typeof aHeater>["home"]>) => ({
  ...aHeater().home,
  ...changes,
});

describe("what is assumed", () => {
  test("a bare record is computed and says every value that stands in for an unknown one", () => {
    const { assumed } = computeEnergy(energyInputOf(aHeater(), SITE));
    expect(assumed).toEqual([
      "setpoint 125 °F",
      "heating and cooling of the home not known: heat taken from its rooms not priced",
      "2 people drawing 30 gallons each a day (demand level medium)",
      "uniform energy factor 0.58",
      "rated in the medium draw pattern",
      "no loss to scale, hardness not known",
      "the gas meter serves this heater alone",
    ]);
  });

  test("a full record assumes nothing", () => {
    const heater = aHeater({
      setpointF: 125,
      place: "garage",
      home: home({ occupants: 3 }),
      nameplate: { ...aHeater().nameplate, uniformEnergyFactor: 0.62, firstHourGal: 68 },
      water: { ...aHeater().water, softened: "yes" },
    });
    expect(energyInputOf(heater, SITE, { otherGasAppliances: "yes" }).assumed).toEqual([]);
  });

  test("a recorded value that no such heater can have is put aside, not computed with", () => {
    const heater = aHeater({
      setpointF: 12,
      nameplate: {
        ...aHeater().nameplate,
        uniformEnergyFactor: 58,
        volumeGal: 0,
        inputBtuPerHour: 40,
      },
    });
    const input = energyInputOf(heater, SITE);
    expect(input.rating).toMatchObject({ uniformEnergyFactor: 0.58, volumeGal: 40 });
    expect(input.setpointF).toBe(125);
    expect(input.assumed).toContain("uniform energy factor 0.58 (on record, but impossible: 58)");
    expect(input.assumed).toContain("tank of 40 gallons (on record, but impossible: 0)");
    expect(input.assumed).toContain("burner of 40000 Btu per hour (on record, but impossible: 40)");
    expect(input.assumed).toContain("setpoint 125 °F (on record, but impossible: 12)");
    expect(() => computeEnergy(input)).not.toThrow();
  });

  test("a fuel that does not go with the technology is put aside", () => {
    const gas = energyInputOf(aHeater({ fuel: "electricity" }), SITE);
    const element = energyInputOf(
      aHeater({ technology: "electric-storage", fuel: "propane" }),
      SITE,
    );
    expect(gas.fuel).toBe("natural-gas");
    expect(element.fuel).toBe("electricity");
    expect(element.assumed).toContain("fuel electricity (on record, but impossible: propane)");
  });

  test.each(TECHNOLOGIES)("a %s of which nothing is known has a year", (technology) => {
    const combustion = technology.startsWith("gas");
    const nameplate = { ...aHeater().nameplate, volumeGal: null, inputBtuPerHour: null };
    const fuel = combustion ? "natural-gas" : "electricity";
    const year = computeEnergy(energyInputOf(aHeater({ technology, fuel, nameplate }), SITE));
    expect(combustion ? year.thermsPerYear : year.kwhPerYear).toBeGreaterThan(0);
    expect(year.assumed.length).toBeGreaterThan(2);
  });

  test.each(PLACES)("a heater in a place called %s has a year", (place) => {
    expect(computeEnergy(energyInputOf(aHeater({ place }), SITE)).thermsPerYear).toBeGreaterThan(0);
  });
});

describe("the draw of a home", () => {
  test("people count before bedrooms, bedrooms before the property's demand level", () => {
    const drawOf = (changes: Parameters<typeof home>[0]) =>
      energyInputOf(aHeater({ home: home(changes) }), SITE).draw.mixedGallons;
    expect(drawOf({ occupants: 1, bedrooms: 3 })).toBe(drawOf({ occupants: 1 }));
    expect(drawOf({ bedrooms: 3 })).not.toBe(drawOf({}));
    expect(drawOf({})).toBeGreaterThan(0);
  });

  test("a vacant home still pays for its warm tank", () => {
    const year = computeEnergy(energyInputOf(aHeater({ home: home({ occupants: 0 }) }), SITE));
    expect(year.deliveredBtuPerYear).toBe(0);
    expect(year.thermsPerYear).toBeGreaterThan(20);
    expect(year.systemEfficiency).toBe(0);
  });

  test("a heater for ten homes draws ten times as much as one for one", () => {
    const drawOf = (homesServed: number) =>
      energyInputOf(aHeater({ home: home({ homesServed }) }), SITE).draw.mixedGallons;
    expect(drawOf(10)).toBeCloseTo(10 * drawOf(1), 9);
  });

  test("two heaters in a home share its draw", () => {
    const whole = energyInputOf(aHeater(), SITE).draw;
    const half = energyInputOf(aHeater(), SITE, { shareOfDraw: 0.5 }).draw;
    expect(half.mixedGallons).toBeCloseTo(whole.mixedGallons / 2, 9);
  });

  test("a hotter tank gives fewer gallons to the same shower, not more heat", () => {
    const draw = { mixedGallons: 40, hotGallons: 0 };
    expect(deliveredBtuPerDay(draw, 140, 60)).toBeCloseTo(deliveredBtuPerDay(draw, 120, 60), 9);
    expect(gallonsAtSetpoint(draw, 140, 60)).toBeCloseTo((40 * (105 - 60)) / (140 - 60), 9);
  });
});

describe("scale", () => {
  const hard = {
    ...aHeater().water,
    hardnessMgPerLitre: grainsToMgPerLitre(20),
    softened: "no",
  } as const;
  const today = calendarDay("2025-06-01");

  test("a gas tank never flushed in hard water burns more, within a stated range", () => {
    const clean = computeEnergy(energyInputOf(aHeater(), SITE));
    const scaled = computeEnergy(energyInputOf(aHeater({ water: hard }), SITE, { today }));
    expect(scaled.thermsPerYear).toBeGreaterThan(clean.thermsPerYear);
    expect(scaled.thermsRange[0]).toBeCloseTo(clean.thermsPerYear, 9);
    expect(scaled.thermsRange[1]).toBeGreaterThan(scaled.thermsPerYear);
  });

  test("a flush takes the loss back", () => {
    const care = { ...aHeater().care, lastDone: { flush: today } };
    const input = energyInputOf(aHeater({ water: hard, care }), SITE, { today });
    expect(input.scaleLoss.high).toBe(0);
  });

  test("softened water and elements lose nothing", () => {
    const softened = aHeater({ water: { ...hard, softened: "yes" } });
    const electric = aHeater({ water: hard, technology: "electric-storage", fuel: "electricity" });
    expect(energyInputOf(softened, SITE, { today }).scaleLoss.high).toBe(0);
    expect(energyInputOf(electric, SITE, { today }).scaleLoss.high).toBe(0);
  });

  test("without a day to count from, scale is left out and said to be", () => {
    const input = energyInputOf(aHeater({ water: hard }), SITE);
    expect(input.scaleLoss.high).toBe(0);
    expect(input.assumed).toContain("no loss to scale");
  });
});

describe("a replacement", () => {
  test("draws the same water at the same setpoint and uses less", () => {
    const heater = aHeater({ home: home({ occupants: 3 }) });
    const before = computeEnergy(energyInputOf(heater, SITE));
    const after = computeEnergy(energyInputOfOption(heater, SITE, HEAT_PUMP));
    expect(after.deliveredBtuPerYear).toBeCloseTo(before.deliveredBtuPerYear, 6);
    expect(after.thermsPerYear).toBe(0);
    expect(after.kwhPerYear).toBeGreaterThan(300);
    expect(after.kwhPerYear).toBeLessThan(1500);
  });

  test("by a gas heater keeps the fuel that is there", () => {
    const option = { technology: "gas-instantaneous", volumeGal: null, inputWatts: null } as const;
    const propane = energyInputOfOption(aHeater({ fuel: "propane" }), SITE, {
      ...option,
      uniformEnergyFactor: 0.9,
    });
    expect(propane.fuel).toBe("propane");
  });
});

describe("cost", () => {
  test("the gas standing charge goes with the last gas appliance", () => {
    const gas = computeEnergy(energyInputOf(aHeater(), SITE));
    const heatPump = computeEnergy(energyInputOfOption(aHeater(), SITE, HEAT_PUMP));
    expect(gas.standingCentsPerYear).toBe(12_000);
    expect(heatPump.standingCentsPerYear).toBe(0);
    expect(heatPump.costCentsPerYear).toBeLessThan(gas.costCentsPerYear);
  });

  test("the standing charge stays, and is nobody's saving, where a stove keeps the meter", () => {
    const gas = computeEnergy(energyInputOf(aHeater(), SITE, { otherGasAppliances: "yes" }));
    expect(gas.standingCentsPerYear).toBe(0);
    expect(gas.costCentsPerYear / 150).toBeCloseTo(gas.thermsPerYear, 0);
  });

  test("a flat year costs its units at the price, to the month's cent", () => {
    const site = { ...SITE, gasStandingCentsPerMonth: 0 };
    const year = computeEnergy(energyInputOf(aHeater(), site));
    expect(Math.abs(year.costCentsPerYear - year.thermsPerYear * 150)).toBeLessThanOrEqual(6);
  });
});

describe("the seasons", () => {
  test("more is used in winter, when the mains are cold", () => {
    const { monthly } = computeEnergy(energyInputOf(aHeater(), SITE));
    const february = (monthly.therms[1] as number) / 28;
    const august = (monthly.therms[7] as number) / 31;
    expect(february).toBeGreaterThan(1.1 * august);
  });

  test("a heat pump in a cold closet calls on its element in winter and works harder", () => {
    const cold = { ...SITE, annualMeanAirF: 45, airAmplitudeF: 25 };
    const input = energyInputOfOption(aHeater({ place: "exterior-closet" }), cold, HEAT_PUMP);
    const { monthly } = computeEnergy(input);
    expect(monthly.resistanceShare?.[0]).toBeGreaterThan(0.3);
    expect(monthly.resistanceShare?.[6]).toBeLessThan(0.01);
    expect(monthly.cop?.[0]).toBeLessThan(monthly.cop?.[6] as number);
  });

  test("a plug-in heat pump has no element: it makes less hot water instead, which sizing checks", () => {
    const input = energyInputOfOption(aHeater({ place: "exterior-closet" }), SITE, {
      ...HEAT_PUMP,
      technology: "heat-pump-plug-in",
    });
    expect(computeEnergy(input).monthly.resistanceShare).toEqual(Array(12).fill(0));
  });

  test("a split heat pump works on outdoor air wherever its tank stands", () => {
    const option = { ...HEAT_PUMP, technology: "heat-pump-split" } as const;
    const copOf = (place: "interior-closet" | "roof") =>
      computeEnergy(energyInputOfOption(aHeater({ place }), SITE, option)).monthly.cop;
    expect(copOf("interior-closet")).toEqual(copOf("roof"));
  });
});

describe("the rooms around it", () => {
  const furnace = {
    heatingFuel: "natural-gas",
    heatingEfficiency: 0.8,
    coolingEfficiency: 3,
  } as const;
  const heatPumpIn = (place: "interior-closet" | "garage", context = {}) =>
    computeEnergy(energyInputOfOption(aHeater({ place }), SITE, HEAT_PUMP, context)).spaceEffect;

  test("a heat pump inside takes heat from them; in a garage it does not", () => {
    expect(heatPumpIn("interior-closet").takenBtuPerYear).toBeGreaterThan(1e6);
    expect(heatPumpIn("garage").takenBtuPerYear).toBe(0);
  });

  test("what the heating makes up is not known until the heating is", () => {
    expect(heatPumpIn("interior-closet").thermsPerYear).toBeNull();
    const known = heatPumpIn("interior-closet", { spaceConditioning: furnace });
    expect(known.thermsPerYear).toBeGreaterThan(0);
    expect(known.kwhPerYear).toBeLessThanOrEqual(0);
  });

  test("a gas tank inside warms them", () => {
    const year = computeEnergy(energyInputOf(aHeater(), SITE, { spaceConditioning: furnace }));
    expect(year.spaceEffect.takenBtuPerYear).toBeLessThan(0);
    expect(year.spaceEffect.thermsPerYear).toBeLessThan(0);
  });

  test("the made-up heat never exceeds the heat taken over the furnace's efficiency", () => {
    const effect = heatPumpIn("interior-closet", { spaceConditioning: furnace });
    expect(effect.thermsPerYear).toBeLessThanOrEqual(effect.takenBtuPerYear / 100_000 / 0.8);
  });
});

describe("a programmer's mistake", () => {
  const good = energyInputOf(aHeater(), SITE);
  const mistakes: readonly [string, Partial<EnergyInput>, RegExp][] = [
    ["a negative draw", { draw: { mixedGallons: -1, hotGallons: 0 } }, /draw\.mixedGallons.*-1/],
    ["a setpoint of 60 °F", { setpointF: 60 }, /setpointF.*60/],
    [
      "a gas tank above 1",
      { rating: { ...good.rating, uniformEnergyFactor: 3 } },
      /below 1, got 3/,
    ],
    ["a gas tank on electricity", { fuel: "electricity" }, /electricity does not go/],
    [
      "a burner given in thousands of Btu",
      { rating: { ...good.rating, inputBtuPerHour: 40 } },
      /5000 or more, got 40/,
    ],
    ["a tank without volume", { rating: { ...good.rating, volumeGal: null } }, /volumeGal/],
    [
      "scale beyond all efficiency",
      { scaleLoss: { low: 0, central: 0.5, high: 1 } },
      /scaleLoss\.high.*1/,
    ],
  ];

  test.each(mistakes)("%s is named", (_, changes, message) => {
    expect(() => computeEnergy({ ...good, ...changes })).toThrow(message);
  });

  test("the input is not changed", () => {
    const frozen = Object.freeze({ ...good, draw: Object.freeze({ ...good.draw }) });
    expect(() => computeEnergy(frozen)).not.toThrow();
  });
});
