import { describe, expect, test } from "vitest";
import { demoBaseYear } from "@/demo-seed/emissions-rules";
import { generateDemo } from "@/demo-seed/generate";
import { makeIds } from "@/demo-seed/ids";
import { hasReadings, makeEnergy, makeReadings, trueMeterFactor } from "@/demo-seed/meters";
import { DemoRandom } from "@/demo-seed/random";
import { TRUE_METERS } from "@/demo-seed/truth";
import { isGridRegion, PUBLISHED_BOOK } from "@/lib/core/emissions/factors";
import type { Calibration } from "@/lib/core/energy/calibration";
import { addDays, calendarDay, daysBetween } from "@/lib/core/shared/calendar-day";
import { accountOf, aLife, aPropertyRecord, HEAT_PUMP } from "@/test/support/a-property-record";

const TODAY = calendarDay("2026-11-20");
const METERED = [...TRUE_METERS.factorByPosition.keys()];
const ids = makeIds(1);

/** A swap in the time read: gas to the summer of 2024, a heat pump after. */
const lives = [
  aLife({ id: "gas" }, { retired: "2024-07-10" }),
  aLife({ id: "pump", ...HEAT_PUMP }, { installed: "2024-07-10", after: "gas" }),
  aLife({ id: "other" }),
];

function readingsOf(index: number, seed: number) {
  const random = new DemoRandom(seed);
  const energy = makeEnergy(random, index, TODAY);
  const record = aPropertyRecord({ lives, energy });
  return { record, rows: makeReadings(random, ids.meterReading, record, { index, today: TODAY }) };
}

/** What the account makes of the readings, as it reads them from the record. */
function calibrationOf(index: number, seed: number): Calibration {
  const { record, rows } = readingsOf(index, seed);
  const readings = rows.map((row) => ({
    ...row,
    buildingId: null,
    from: row.fromDay,
    to: row.toDay,
  }));
  const { calibration } = accountOf({ ...record, readings }, { lastYear: 2026 });
  if (!calibration) throw new Error("no calibration");
  return calibration;
}

describe("the demo's meters", () => {
  test.each(METERED)(
    "of position %i are read each month of three years, each day once",
    (index) => {
      const { rows } = readingsOf(index, 1);
      const gas = rows.filter(({ fuel }) => fuel === "natural-gas");
      expect(gas).toHaveLength(36);
      expect(gas[0]?.fromDay).toBe("2023-11-01");
      expect(gas.at(-1)?.toDay).toBe("2026-10-31");
      for (const [place, row] of gas.entries()) {
        if (place > 0) expect(row.fromDay).toBe(addDays(gas[place - 1]?.toDay ?? TODAY, 1));
        expect(daysBetween(row.fromDay, row.toDay)).toBeLessThan(31);
      }
      // Electricity is read from the month of the heat pump on.
      expect(rows.find(({ fuel }) => fuel === "electricity")?.fromDay).toBe("2024-07-01");
    },
  );

  // A band of 90 % holds the truth in nine of ten; of 160 at least 131 (four standard errors).
  test("let calibration find the stated factor within its band in nine of ten", () => {
    let held = 0;
    for (const index of METERED) {
      const factor = trueMeterFactor(index) ?? 0;
      for (let seed = 1; seed <= 20; seed++) {
        const { factor: found, band90 } = calibrationOf(index, seed);
        const [low, high] = band90 ?? [0, 0];
        expect(Math.abs(found / factor - 1)).toBeLessThan(0.04);
        if (low <= factor && factor <= high) held += 1;
      }
    }
    expect(held).toBeGreaterThan(130);
    expect(held).toBeLessThan(160);
  });

  test("are the owner's in a third of the properties, with readings in the first 24 alone", () => {
    const positions = Array.from({ length: 72 }, (_, index) => index);
    expect(positions.filter((index) => trueMeterFactor(index) !== null)).toHaveLength(24);
    expect(positions.filter(hasReadings)).toEqual(METERED);
    for (const index of positions) {
      const { meters } = makeEnergy(new DemoRandom(1), index, TODAY);
      expect(meters.fuel === "owner").toBe(trueMeterFactor(index) !== null);
    }
  });

  test("stand in towns of three grid regions that have published factors", () => {
    const { properties } = generateDemo({ seed: 1, today: TODAY });
    const regions = new Set(properties.map(({ gridRegion }) => gridRegion));
    expect(regions.size).toBe(3);
    for (const region of regions) expect(isGridRegion(PUBLISHED_BOOK, region)).toBe(true);
    for (const { city, gridRegion } of properties) {
      const sameTown = properties.filter((row) => row.city === city);
      expect(new Set(sameTown.map((row) => row.gridRegion))).toEqual(new Set([gridRegion]));
    }
  });

  test("have a base year with published factors and four years behind it", () => {
    expect(demoBaseYear(TODAY)).toBe(2022);
    expect(demoBaseYear(calendarDay("2035-01-01"))).toBe(2022);
    expect(demoBaseYear(calendarDay("2024-01-01"))).toBe(2020);
  });
});
