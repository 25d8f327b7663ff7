import { describe, expect, test } from "vitest";
import { EntrySums, inventoryOfEntries } from "@/lib/core/emissions/account-entries";
import { locationTotal } from "@/lib/core/emissions/annual-emissions";
import { factorBookOf, PUBLISHED_BOOK, PUBLISHED_FACTORS } from "@/lib/core/emissions/factors";
import type { PropertyAccount, PropertyYear } from "@/lib/core/emissions/property-account";
import { computeEnergy, energyInputOf } from "@/lib/core/energy/annual-energy";
import type { MeterReading } from "@/lib/core/energy/meter-readings";
import { UNKNOWN_PROPERTY_ENERGY } from "@/lib/core/energy/property-energy";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { accountOf, aLife, aPropertyRecord, HEAT_PUMP } from "@/test/support/a-property-record";

/** 53.1145 kg CO2e per mmBtu of natural gas (40 CFR 98 tables C-1 and C-2, AR5). */
const KG_PER_THERM = 5.31145;
/** RFCW of eGRID2022, as quoted: 0.45616 kg CO2e per kWh. */
const RFCW_KG_PER_KWH = 0.45616;

const { site } = aPropertyRecord();
const thermsOf = (life: ReturnType<typeof aLife>, year: number) =>
  computeEnergy(energyInputOf(life.heater, site, { today: calendarDay(`${year}-07-01`) }))
    .thermsPerYear;
const kwhOf = (life: ReturnType<typeof aLife>) =>
  computeEnergy(energyInputOf(life.heater, site, {})).kwhPerYear;

/** Entries of the reporting year, 2025. */
const entriesOf = ({ years }: PropertyAccount) => year(years, 2025).entries;

const year = (years: readonly PropertyYear[], wanted: number) =>
  years.find((each) => each.year === wanted) as PropertyYear;

const aReading = (changes: Partial<MeterReading> = {}): MeterReading => ({
  id: "reading",
  fuel: "natural-gas",
  buildingId: null,
  from: calendarDay("2025-01-01"),
  to: calendarDay("2025-12-31"),
  units: 300,
  otherUnits: 0,
  ...changes,
});

describe("a property that changes nothing", () => {
  test("emits the model's year every year, one row a heater", () => {
    const gas = aLife({ id: "gas" });
    const account = accountOf({ lives: [gas] });
    const { years } = account;
    const entries = entriesOf(account);
    expect(years.map((each) => each.year)).toEqual([2022, 2023, 2024, 2025]);
    for (const each of years) {
      expect(each.kgCo2e).toBeCloseTo(thermsOf(gas, each.year) * KG_PER_THERM, 3);
      expect(each.change.swaps).toBe(0);
    }
    expect(entries).toHaveLength(1);
    expect(entries[0]).toMatchObject({
      heaterId: "gas",
      activity: "natural-gas",
      unit: "therm",
      scope: 3,
      days: 365,
      basis: "modelled",
      readingId: null,
    });
  });

  test("loses by scale what nobody flushes, and gains it back with a flush", () => {
    const hard = { ...aLife({ id: "gas" }).heater.water, hardnessMgPerLitre: 300 };
    const flushed = {
      ...aLife({ id: "gas" }).heater.care,
      flushDays: [calendarDay("2025-01-10")],
      lastDone: { flush: calendarDay("2025-01-10") },
    };
    const neglected = accountOf({ lives: [aLife({ id: "gas", water: hard })] });
    const cared = accountOf({ lives: [aLife({ id: "gas", water: hard, care: flushed })] });
    expect(year(neglected.years, 2024).change.care).toBeGreaterThan(0);
    expect(year(cared.years, 2025).change.care).toBeLessThan(0);
    const { change, kgCo2e } = year(cared.years, 2025);
    expect(change.care).toBeCloseTo(kgCo2e - year(cared.years, 2022).kgCo2e, 6);
  });
});

describe("a swap on record", () => {
  const gas = aLife({ id: "gas" }, { retired: "2024-07-01" });
  const pump = aLife({ id: "pump", ...HEAT_PUMP }, { installed: "2024-07-01", after: "gas" });
  const { years } = accountOf({ lives: [gas, pump] });

  test("counts from its day: both heaters in its year, the new one alone after", () => {
    const after = year(years, 2025);
    expect(after.entries.map(({ heaterId, activity }) => [heaterId, activity])).toEqual([
      ["pump", "electricity"],
      ["pump", "R-134a"],
    ]);
    // 1 % of an assumed 0.75 kg of R-134a leaks: 9.75 kg CO2e (AR5: 1300).
    expect(after.kgCo2e).toBeCloseTo(kwhOf(pump) * RFCW_KG_PER_KWH + 9.75, 1);
    expect(year(years, 2024)).toMatchObject({ swaps: 1, swapsToHeatPump: 1, heaters: 2 });
    const before = year(years, 2023).kgCo2e;
    expect(year(years, 2024).kgCo2e).toBeLessThan(before);
    expect(year(years, 2024).kgCo2e).toBeGreaterThan(after.kgCo2e);
  });

  test("is what the whole change comes from, when the grid's factor stays", () => {
    const { change, kgCo2e } = year(years, 2025);
    expect(change.swaps).toBeCloseTo(kgCo2e - year(years, 2022).kgCo2e, 6);
    expect(change).toMatchObject({ grid: 0, care: 0, occupancy: 0, structure: 0 });
  });

  test("avoids the difference to the heater that it replaced, apart from the account", () => {
    const { kgCo2e, kgCo2eWithoutSwaps } = year(years, 2025);
    expect(kgCo2eWithoutSwaps).toBeCloseTo(thermsOf(gas, 2022) * KG_PER_THERM, 1);
    expect(kgCo2eWithoutSwaps).toBeGreaterThan(kgCo2e);
  });
});

describe("what else changes", () => {
  test("a cleaner grid is told as the grid's, not as the swaps'", () => {
    const book = factorBookOf([
      ...PUBLISHED_FACTORS,
      ...(["co2", "ch4", "n2o"] as const).map((gas) => ({
        id: `own/${gas}`,
        activity: "grid-electricity" as const,
        region: "RFCW",
        gas,
        value: gas === "co2" ? 500.0265 : 0,
        unit: "lb/MWh" as const,
        vintage: 2025,
        source: "entered",
        evidence: "entered" as const,
      })),
    ]);
    const { years } = accountOf({ lives: [aLife({ id: "pump", ...HEAT_PUMP })] }, { book });
    const { change, kgCo2e } = year(years, 2025);
    expect(change.grid).toBeLessThan(0);
    expect(change.grid).toBeCloseTo(kgCo2e - year(years, 2022).kgCo2e, 6);
  });

  test("fewer people draw less water, and the standing loss stays", () => {
    const energy = { ...UNKNOWN_PROPERTY_ENERGY, occupiedShare: { "2025": 0.5 } };
    const { years } = accountOf({ energy });
    const full = year(years, 2022).kgCo2e;
    const half = year(years, 2025);
    expect(half.kgCo2e).toBeLessThan(full);
    expect(half.kgCo2e).toBeGreaterThan(full / 2);
    expect(half.change.occupancy).toBeCloseTo(half.kgCo2e - full, 6);
  });

  test("a property bought is structure, and before it was bought it is not in the account", () => {
    const energy = { ...UNKNOWN_PROPERTY_ENERGY, heldFrom: calendarDay("2024-01-01") };
    const { years } = accountOf({ energy });
    expect(year(years, 2023).kgCo2e).toBe(0);
    const { change, kgCo2e } = year(years, 2025);
    expect(kgCo2e).toBeGreaterThan(0);
    expect(change.structure).toBeCloseTo(kgCo2e, 6);
    expect(change.swaps).toBe(0);
  });
});

describe("meters", () => {
  test("give the energy of the days that they read, the model that of the others, in rows apart", () => {
    const reading = aReading({ to: calendarDay("2025-06-30"), units: 100 });
    const { years } = accountOf({ readings: [reading] });
    const rows = year(years, 2025).entries;
    expect(rows.map(({ basis, days, readingId }) => [basis, days, readingId])).toEqual([
      ["modelled", 184, null],
      ["metered", 181, "reading"],
    ]);
    expect(rows[1]?.amount).toBeCloseTo(100, 9);
    const share = year(years, 2025).meteredShare;
    expect(share).toBeCloseTo(100 / (100 + (rows[0]?.amount ?? 0)), 9);
  });

  test("are shared out between heaters as the model would have it, to the last unit", () => {
    const few = aLife({ id: "few" });
    const many = aLife({
      id: "many",
      home: { ...few.heater.home, occupants: 6 },
    });
    const [a, b] = entriesOf(accountOf({ lives: [few, many], readings: [aReading()] }));
    expect((a?.amount ?? 0) + (b?.amount ?? 0)).toBeCloseTo(300, 9);
    expect((b?.amount ?? 0) / (a?.amount ?? 1)).toBeCloseTo(
      thermsOf(many, 2025) / thermsOf(few, 2025),
      6,
    );
  });

  test("say what the model does not explain", () => {
    const { years } = accountOf({ readings: [aReading()] });
    const { change, kgCo2e } = year(years, 2025);
    expect(kgCo2e).toBeCloseTo(300 * KG_PER_THERM, 2);
    expect(change.unexplained).toBeCloseTo(kgCo2e - year(years, 2022).kgCo2e, 6);
  });

  test("calibrate the other years only when that is asked for, and then by name", () => {
    const readings = [aReading({ from: calendarDay("2024-01-01"), to: calendarDay("2024-12-31") })];
    const plain = accountOf({ readings });
    expect(plain.calibration?.factor).toBeCloseTo(300 / thermsOf(aLife({ id: "gas" }), 2024), 6);
    expect(entriesOf(plain).map((row) => row.basis)).toEqual(["modelled"]);
    const energy = { ...UNKNOWN_PROPERTY_ENERGY, usesCalibration: true };
    const calibrated = accountOf({ readings, energy });
    expect(entriesOf(calibrated).map((row) => row.basis)).toEqual(["calibrated"]);
    expect(
      (entriesOf(calibrated)[0]?.amount ?? 0) / (entriesOf(plain)[0]?.amount ?? 1),
    ).toBeCloseTo(plain.calibration?.factor ?? 0, 9);
    expect(year(calibrated.years, 2024).kgCo2e).toBe(year(plain.years, 2024).kgCo2e);
  });

  test("that read a fuel no heater on record burns are kept as rows without a heater", () => {
    const entries = entriesOf(
      accountOf({ readings: [aReading({ fuel: "electricity", units: 50 })] }),
    );
    expect(entries.find((entry) => entry.heaterId === null)).toMatchObject({
      activity: "electricity",
      amount: 50,
      basis: "metered",
    });
  });
});

const inventoryOf = (entries: PropertyYear["entries"], inYear: number) => {
  const sums = new EntrySums();
  for (const entry of entries) sums.add(entry);
  return inventoryOfEntries(sums, {
    year: inYear,
    gwpSet: "AR5",
    book: PUBLISHED_BOOK,
    contracts: { market: "US", residualMix: null, instruments: [] },
  });
};

describe("the account as an inventory", () => {
  test("has the same total, by scope of the meter's holder", () => {
    const pump = aLife({ id: "pump", ...HEAT_PUMP });
    const shared = aLife({ id: "shared", unitId: null });
    const energy = {
      ...UNKNOWN_PROPERTY_ENERGY,
      meters: { fuel: "resident" as const, electricity: "owner" as const },
    };
    const { years, assumed } = accountOf({ lives: [aLife({ id: "gas" }), pump, shared], energy });
    const { entries, kgCo2e } = year(years, 2025);
    const inventory = inventoryOf(entries, 2025);
    expect(locationTotal(inventory.kgCo2e)).toBeCloseTo(kgCo2e, 6);
    expect(inventory.kgCo2e.scope3).toBeCloseTo(
      thermsOf(aLife({ id: "gas" }), 2025) * KG_PER_THERM,
      2,
    );
    expect(inventory.kgCo2e.scope2Location).toBeCloseTo(kwhOf(pump) * RFCW_KG_PER_KWH, 1);
    expect(inventory.kgCo2e.scope1).toBeGreaterThan(
      thermsOf(aLife({ id: "shared" }), 2025) * KG_PER_THERM * 0.1,
    );
    expect(assumed.get("refrigerant and its charge, by technology")).toBe(1);
  });

  test("counts every home whose meter was assumed to be the resident's", () => {
    const { assumed } = accountOf({ lives: [aLife({ id: "a" }), aLife({ id: "b" })] });
    expect(assumed.get("the home's own meters, bought by the resident")).toBe(2);
  });

  test("refuses years out of order", () => {
    expect(() => accountOf({}, { baseYear: 2026 })).toThrow(/baseYear 2026/);
  });
});
