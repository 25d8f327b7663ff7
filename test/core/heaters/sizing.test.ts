import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  ampsOf,
  branchCircuit,
  checkMeasuredHeadroom,
  circuitsBeforeUpgrade,
  existingDwellingLoadVa,
} from "@/lib/core/heaters/electrical";
import type { Heater } from "@/lib/core/heaters/heater";
import {
  assumedUses,
  checkSizing,
  peakHourDemandGal,
  recoveryGph,
} from "@/lib/core/heaters/sizing";
import { aHeater } from "@/test/support/a-heater";

const sized = (
  nameplate: Partial<Heater["nameplate"]>,
  home: Partial<Heater["home"]> = {},
  technology: Heater["technology"] = "gas-storage",
) =>
  aHeater({
    technology,
    nameplate: { ...aHeater().nameplate, ...nameplate },
    home: { ...aHeater().home, bedrooms: 2, bathrooms: 1, occupants: 2, ...home },
  });

describe("the verdict on a heater's size", () => {
  // Demand 46 gallons: the choice is a rating of 44 to 48 (DOE worksheet, as quoted by energycode.com).
  test.each([
    [48, "enough"],
    [46, "enough"],
    [44, "close"],
    [43, "short"],
  ] as const)("a rating of %i gallons against a demand of 46 is %s", (firstHourGal, verdict) => {
    const uses = { shower: 3, shave: 1, shampoo: 1, "hand-dishwashing": 1 };
    const check = checkSizing(sized({ firstHourGal }), { uses });
    expect(check.verdict).toBe(verdict);
    expect(check.marginGal).toBe(firstHourGal - 46);
    expect(check.firstHourEvidence).toBe("nameplate");
  });

  test("rests on an estimate, and says so, where the nameplate lacks the rating", () => {
    const check = checkSizing(sized({ volumeGal: 40, inputBtuPerHour: 40_000 }));
    expect(check.firstHourEvidence).toBe("estimate");
    expect(check.firstHourGal).toBeCloseTo(68.9, 1);
    expect(check.notes.join(" ")).toMatch(/estimated/);
  });

  test("is unknown, never short, where nothing is known of the people or the tank", () => {
    const nobody = checkSizing(sized({ firstHourGal: 60 }, { occupants: null, bedrooms: null }));
    expect(nobody).toMatchObject({ verdict: "unknown", demandGal: null, marginGal: null });
    const noTank = checkSizing(sized({ volumeGal: null, firstHourGal: null }));
    expect(noTank).toMatchObject({ verdict: "unknown", firstHourGal: null });
  });

  test("takes one person more than the bedrooms where people are not on record, and says so", () => {
    const check = checkSizing(sized({ firstHourGal: 60 }, { occupants: null, bedrooms: 2 }));
    expect(check.demandGal).toBe(peakHourDemandGal(assumedUses(3)));
    expect(check.notes.join(" ")).toMatch(/3 assumed/);
  });

  test("counts the people of several homes by the apartment table", () => {
    const check = checkSizing(
      sized({ firstHourGal: 100 }, { homesServed: 4, occupants: 9, bedrooms: null }),
    );
    expect(check.demandGal).toBeCloseTo(9 * 4.8, 10);
    expect(check.minimum).toBeNull();
  });

  test("compares the storage with the published minimum for the home", () => {
    expect(checkSizing(sized({ volumeGal: 30 })).meetsMinimumStorage).toBe(true);
    expect(checkSizing(sized({ volumeGal: 20 })).meetsMinimumStorage).toBe(false);
    expect(checkSizing(sized({ volumeGal: null })).meetsMinimumStorage).toBeNull();
    expect(
      checkSizing(sized({ volumeGal: 30, inputWatts: 4_500 }, { bedrooms: 3 }, "electric-storage"))
        .meetsMinimumStorage,
    ).toBe(false);
  });

  test("does not rate a tankless heater by its first hour", () => {
    const check = checkSizing(sized({ volumeGal: null }, {}, "gas-instantaneous"));
    expect(check.verdict).toBe("unknown");
    expect(check.notes.join(" ")).toMatch(/flow/);
  });

  test("counts a plug-in heat pump's recovery by its energy factor", () => {
    const plate = { volumeGal: 50, inputBtuPerHour: null, inputWatts: 900 };
    const check = checkSizing(sized({ ...plate, uniformEnergyFactor: 3 }, {}, "heat-pump-plug-in"));
    // 0.7 · 50 + 0.9 kW · 3,412.14 · 3 / (8.25 · 90) = 35 + 12.4 gallons.
    expect(check.firstHourGal).toBeCloseTo(47.4, 1);
  });
});

describe("arguments outside their range", () => {
  test.each([
    [() => peakHourDemandGal({ shower: -1 }), /shower.*-1/],
    [() => recoveryGph(0, 0.8), /inputBtuPerHour.*0/],
    [() => assumedUses(0), /people.*0/],
    [() => ampsOf(-1, { volts: 240, phases: 1 }), /voltAmperes/],
    [() => branchCircuit(4_500, 0), /volts/],
    [() => checkMeasuredHeadroom({ amps: 60, volts: 240, phases: 1 }, -2, 0), /measuredPeakKw/],
    [() => circuitsBeforeUpgrade({ amps: 0, volts: 240, phases: 1 }, 2), /amps/],
    [
      () =>
        existingDwellingLoadVa({ floorAreaSqFt: -1, applianceCircuits: 0, fixedAppliancesVa: 0 }),
      /floorAreaSqFt/,
    ],
  ])("are refused by name (%#)", (call, message) => {
    expect(call).toThrow(message);
  });
});

describe("circuits before an upgrade", () => {
  const services = fc.record({
    amps: fc.integer({ min: 60, max: 3000 }),
    volts: fc.constantFrom(208, 240, 480),
    phases: fc.constantFrom(1 as const, 3 as const),
  });

  test("are the most that fit: that many fit, one more does not", () => {
    fc.assert(
      fc.property(
        services,
        fc.double({ min: 0, max: 600, noNaN: true }),
        fc.integer({ min: 500, max: 6_000 }),
        (service, peakKw, circuitVa) => {
          const circuits = circuitsBeforeUpgrade(service, peakKw, circuitVa);
          const fits = (count: number) =>
            checkMeasuredHeadroom(service, peakKw, count * circuitVa).fits;
          if (circuits > 0) expect(fits(circuits)).toBe(true);
          expect(fits(circuits + 1)).toBe(false);
        },
      ),
    );
  });

  test("are none where the peak fills the service already", () => {
    expect(circuitsBeforeUpgrade({ amps: 100, volts: 240, phases: 1 }, 30)).toBe(0);
  });

  // √3 · 208 V · 100 A = 36.0 kVA.
  test("count all three phases of a three-phase service", () => {
    expect(ampsOf(36_027, { volts: 208, phases: 3 })).toBeCloseTo(100, 1);
  });
});
