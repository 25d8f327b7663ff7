import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { computeEnergy, type EnergyInput } from "@/lib/core/energy/annual-energy";
import { DRAW_PATTERNS } from "@/lib/core/energy/draw-pattern";
import { costOfMonth, HOURLY_HOT_WATER_SHARE, type Tariff } from "@/lib/core/energy/tariff";
import { isCombustion, isHeatPump, TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { BTU_PER_KWH, BTU_PER_THERM } from "@/lib/core/shared/units";

// A fixed seed: a failure is the same for everyone.
fc.configureGlobal({ seed: 11, numRuns: 200 });

const positive = (min: number, max: number) => fc.double({ min, max, noNaN: true });

const flat: fc.Arbitrary<Tariff> = positive(0, 500).map((centsPerUnit) => ({
  kind: "flat",
  centsPerUnit,
}));
const tiered: fc.Arbitrary<Tariff> = fc
  .tuple(
    positive(0, 200),
    positive(1, 300),
    positive(1, 300),
    fc.array(positive(0, 80), { minLength: 3, maxLength: 3 }),
  )
  .map(([otherUnitsPerMonth, first, second, [a = 0, b = 0, c = 0]]) => ({
    kind: "tiered",
    otherUnitsPerMonth,
    tiers: [
      { upTo: first, centsPerUnit: a },
      { upTo: first + second, centsPerUnit: b },
      { upTo: null, centsPerUnit: c },
    ],
  }));
const timeOfUse: fc.Arbitrary<Tariff> = fc
  .tuple(
    fc.array(positive(0, 80), { minLength: 24, maxLength: 24 }),
    fc.array(positive(0, 80), { minLength: 24, maxLength: 24 }),
  )
  .map(([summer, winter]) => ({
    kind: "time-of-use",
    seasons: [
      { months: [6, 7, 8, 9], centsByHour: summer },
      { months: [1, 2, 3, 4, 5, 10, 11, 12], centsByHour: winter },
    ],
  }));
const tariff = fc.oneof(flat, tiered, timeOfUse);

const input: fc.Arbitrary<EnergyInput> = fc.constantFrom(...TECHNOLOGIES).chain((technology) =>
  fc.record({
    technology: fc.constant(technology),
    fuel: fc.constant(
      isCombustion(technology) ? ("natural-gas" as const) : ("electricity" as const),
    ),
    draw: fc.record({ mixedGallons: positive(0, 200), hotGallons: positive(0, 50) }),
    setpointF: positive(110, 160),
    climate: fc.record({
      annualMeanAirF: positive(30, 80),
      airAmplitudeF: positive(0, 30),
      coldestMonth: fc.integer({ min: 1, max: 12 }),
    }),
    surroundings: fc.record({
      outdoorShare: positive(0, 1),
      indoorAirF: positive(55, 80),
      conditioned: fc.boolean(),
    }),
    rating: fc.record({
      uniformEnergyFactor: isHeatPump(technology) ? positive(2, 4.5) : positive(0.5, 0.96),
      drawPattern: fc.constantFrom(...DRAW_PATTERNS),
      volumeGal: technology.includes("instantaneous") ? fc.constant(null) : positive(20, 120),
      inputBtuPerHour: positive(20_000, 200_000),
    }),
    scaleLoss: positive(0, 0.2).map((central) => ({
      low: central / 2,
      central,
      high: Math.min(0.3, 2 * central),
    })),
    spaceConditioning: fc.constant(null),
    tariffs: fc.record({
      fuel: tariff,
      electricity: tariff,
      gasStandingCentsPerMonth: fc.integer({ min: 0, max: 5_000 }),
      lastGasAppliance: fc.boolean(),
    }),
    assumed: fc.constant([]),
  }),
);

const sum = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);

describe("a year of energy", () => {
  test("is the sum of its months, money to the cent", () => {
    fc.assert(
      fc.property(input, (some) => {
        const year = computeEnergy(some);
        expect(sum(year.monthly.therms)).toBeCloseTo(year.thermsPerYear, 6);
        expect(sum(year.monthly.kwh)).toBeCloseTo(year.kwhPerYear, 6);
        expect(sum(year.monthly.deliveredBtu)).toBeCloseTo(year.deliveredBtuPerYear, 0);
        expect(sum(year.monthly.costCents)).toBe(year.costCentsPerYear);
        expect(Number.isInteger(year.costCentsPerYear)).toBe(true);
      }),
    );
  });

  test("never delivers more heat than a heater that is no heat pump has used", () => {
    fc.assert(
      fc.property(
        input.filter(({ technology }) => !isHeatPump(technology)),
        (some) => {
          const year = computeEnergy(some);
          const used = year.thermsPerYear * BTU_PER_THERM + year.kwhPerYear * BTU_PER_KWH;
          expect(used + 1).toBeGreaterThan(year.deliveredBtuPerYear * (1 - 1e-9));
        },
      ),
    );
  });

  test("uses fuel in combustion and electricity elsewhere, never both", () => {
    fc.assert(
      fc.property(input, (some) => {
        const year = computeEnergy(some);
        if (isCombustion(some.technology)) expect(year.kwhPerYear).toBe(0);
        else expect(year.thermsPerYear).toBe(0);
      }),
    );
  });

  test("grows when more water is drawn", () => {
    fc.assert(
      fc.property(input, positive(1, 50), (some, more) => {
        const { mixedGallons, hotGallons } = some.draw;
        const less = computeEnergy(some);
        const greater = computeEnergy({
          ...some,
          draw: { mixedGallons: mixedGallons + more, hotGallons },
        });
        expect(greater.thermsPerYear + greater.kwhPerYear).toBeGreaterThan(
          less.thermsPerYear + less.kwhPerYear,
        );
      }),
    );
  });

  // A hotter tank holds more warm water, so that a heat pump with an element calls on it less often:
  // there alone a higher setpoint can spare energy.
  test("does not shrink when the setpoint rises, where no element stands by", () => {
    const withoutElement = ({ technology }: EnergyInput) =>
      !isHeatPump(technology) || technology === "heat-pump-plug-in";
    fc.assert(
      fc.property(input.filter(withoutElement), positive(1, 20), (some, more) => {
        const cooler = computeEnergy(some);
        const hotter = computeEnergy({ ...some, setpointF: some.setpointF + more });
        expect(hotter.thermsPerYear + hotter.kwhPerYear).toBeGreaterThanOrEqual(
          (cooler.thermsPerYear + cooler.kwhPerYear) * (1 - 1e-9),
        );
      }),
    );
  });

  test("has the central scale loss between its low and high end", () => {
    fc.assert(
      fc.property(input, (some) => {
        const { thermsPerYear, thermsRange } = computeEnergy(some);
        expect(thermsRange[0]).toBeLessThanOrEqual(thermsPerYear + 1e-9);
        expect(thermsRange[1]).toBeGreaterThanOrEqual(thermsPerYear - 1e-9);
      }),
    );
  });

  test("is the same year wherever its coldest month lies, but for the lengths of months", () => {
    fc.assert(
      fc.property(input, (some) => {
        const north = computeEnergy({ ...some, climate: { ...some.climate, coldestMonth: 1 } });
        const south = computeEnergy({ ...some, climate: { ...some.climate, coldestMonth: 7 } });
        const ratio =
          (north.thermsPerYear + north.kwhPerYear + 1) /
          (south.thermsPerYear + south.kwhPerYear + 1);
        expect(Math.abs(ratio - 1)).toBeLessThan(0.02);
      }),
    );
  });

  test("of a heat pump has no element at work where the air is warm and draws are small", () => {
    fc.assert(
      fc.property(
        input.filter(({ technology }) => technology === "heat-pump-storage"),
        (some) => {
          const year = computeEnergy({
            ...some,
            draw: { mixedGallons: 10, hotGallons: 0 },
            surroundings: { outdoorShare: 0, indoorAirF: 70, conditioned: true },
          });
          expect(year.monthly.resistanceShare?.every((share) => share === 0)).toBe(true);
        },
      ),
    );
  });
});

describe("a tariff", () => {
  const month = fc.integer({ min: 1, max: 12 });

  test("charges nothing for nothing and never less for more", () => {
    fc.assert(
      fc.property(tariff, month, positive(0, 500), positive(0, 500), (some, at, units, more) => {
        expect(costOfMonth(some, 0, at)).toBe(0);
        expect(costOfMonth(some, units + more, at)).toBeGreaterThanOrEqual(
          costOfMonth(some, units, at) - 1e-6,
        );
      }),
    );
  });

  test("with one price in every tier or hour is a flat one", () => {
    fc.assert(
      fc.property(month, positive(0, 900), positive(0, 80), (at, units, cents) => {
        const flatCost = units * cents;
        const sameTiers: Tariff = {
          kind: "tiered",
          otherUnitsPerMonth: 120,
          tiers: [
            { upTo: 200, centsPerUnit: cents },
            { upTo: null, centsPerUnit: cents },
          ],
        };
        const sameHours: Tariff = {
          kind: "time-of-use",
          seasons: [
            {
              months: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12],
              centsByHour: Array.from({ length: 24 }, () => cents),
            },
          ],
        };
        expect(costOfMonth(sameTiers, units, at)).toBeCloseTo(flatCost, 5);
        expect(costOfMonth(sameHours, units, at)).toBeCloseTo(flatCost, 5);
      }),
    );
  });

  test("profile of the day is a whole day", () => {
    expect(HOURLY_HOT_WATER_SHARE).toHaveLength(24);
    expect(sum(HOURLY_HOT_WATER_SHARE)).toBeCloseTo(1, 10);
  });
});
