import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { EntrySums, entryWeigher, inventoryOfEntries } from "@/lib/core/emissions/account-entries";
import {
  annualEmissions,
  type EmissionsInput,
  locationTotal,
  type MarketContracts,
  type ScopeTotals,
  totalsOf,
} from "@/lib/core/emissions/annual-emissions";
import { PUBLISHED_BOOK, REFRIGERANTS } from "@/lib/core/emissions/factors";
import { GWP_SETS } from "@/lib/core/emissions/gases";
import { GRID_REGION_NAMES } from "@/lib/core/emissions/grid-rates";
import { computeInventory, type InventoryItem } from "@/lib/core/emissions/inventory";
import { INSTRUMENT_KINDS, type Instrument } from "@/lib/core/emissions/market-instruments";
import { emissionPath, type PathHeater } from "@/lib/core/emissions/path";
import { CHANGE_CAUSES } from "@/lib/core/emissions/property-account";
import type { MeterReading } from "@/lib/core/energy/meter-readings";
import { UNKNOWN_PROPERTY_ENERGY } from "@/lib/core/energy/property-energy";
import { dayFromParts, dayOfNumber } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";
import { accountOf, aLife, aPropertyRecord, HEAT_PUMP } from "@/test/support/a-property-record";

// A fixed seed: a failure is the same for everyone.
fc.configureGlobal({ seed: 11, numRuns: 200 });

/** Half a gram in kilograms. */
const HALF_GRAM = 0.0005;

const share = fc.double({ min: 0, max: 1, noNaN: true });
const region = fc.constantFrom(...Object.keys(GRID_REGION_NAMES));
const year = fc.integer({ min: 2015, max: 2045 });

const place = fc.constantFrom("north", "south");

const instrument: fc.Arbitrary<Instrument> = fc.record({
  place: fc.option(place),
  id: fc.uuid(),
  kind: fc.constantFrom(...INSTRUMENT_KINDS),
  covers: fc.oneof(
    fc.record({ kwh: fc.double({ min: 0, max: 50_000, noNaN: true }) }),
    fc.record({ share }),
  ),
  kgCo2ePerKwh: fc.double({ min: 0, max: 1, noNaN: true }),
  vintage: year,
  market: fc.constantFrom("US", "US", "US", "elsewhere"),
  conveysRate: fc.boolean(),
  soleClaim: fc.boolean(),
  retired: fc.boolean(),
  source: fc.constant("generated"),
});

/** Every quality flag set, so that most of the contracts are used. */
const goodInstrument = instrument.map((some) => ({
  ...some,
  conveysRate: true,
  soleClaim: true,
  retired: true,
}));

const contracts: fc.Arbitrary<MarketContracts> = fc.record({
  market: fc.constant("US"),
  residualMix: fc.option(
    fc.record({
      kgCo2ePerKwh: fc.double({ min: 0, max: 1, noNaN: true }),
      vintage: year,
      source: fc.constant("generated"),
    }),
  ),
  instruments: fc.array(fc.oneof(instrument, goodInstrument), { maxLength: 5 }),
});

const item: fc.Arbitrary<Omit<InventoryItem, "id">> = fc
  .record({
    fuel: fc.constantFrom("natural-gas", "propane", "fuel-oil", "electricity"),
    thermsPerYear: fc.double({ min: 0, max: 5_000, noNaN: true }),
    kwhPerYear: fc.double({ min: 0, max: 50_000, noNaN: true }),
    gridRegion: region,
    place,
    meteredBy: fc.record({
      fuel: fc.constantFrom("owner", "resident"),
      electricity: fc.constantFrom("owner", "resident"),
    }),
    refrigerant: fc.record({
      refrigerant: fc.constantFrom(...REFRIGERANTS),
      chargeKg: fc.double({ min: 0, max: 10, noNaN: true }),
      annualLeakShare: share,
      endOfLifeLossShare: share,
    }),
  } as const)
  .map((some) => (some.fuel === "electricity" ? { ...some, thermsPerYear: 0 } : some));

const items = fc
  .array(item, { maxLength: 12 })
  .map((list): InventoryItem[] => list.map((one, index) => ({ ...one, id: `item-${index}` })));

const gwpSet = fc.constantFrom(...GWP_SETS);

function add(totals: readonly ScopeTotals[]): ScopeTotals {
  return totals.reduce(
    (sum, one) => ({
      scope1: sum.scope1 + one.scope1,
      scope2Location: sum.scope2Location + one.scope2Location,
      scope2Market: sum.scope2Market + one.scope2Market,
      scope3: sum.scope3 + one.scope3,
    }),
    { scope1: 0, scope2Location: 0, scope2Market: 0, scope3: 0 },
  );
}

function expectSame(a: ScopeTotals, b: ScopeTotals): void {
  for (const scope of Object.keys(a) as (keyof ScopeTotals)[]) {
    expect(Math.abs(a[scope] - b[scope]), scope).toBeLessThan(HALF_GRAM);
  }
}

describe("an inventory", () => {
  test("is the sum of its items, of its lines and of its gases, to the gram", () => {
    fc.assert(
      fc.property(items, year, gwpSet, contracts, (list, inYear, set, market) => {
        const inventory = computeInventory({
          items: list,
          year: inYear,
          gwpSet: set,
          contracts: market,
        });
        expectSame(inventory.kgCo2e, add(inventory.items.map((one) => one.kgCo2e)));
        expectSame(inventory.kgCo2e, totalsOf(inventory.lines));
        const byGas = Object.values(inventory.kgCo2eByGas).reduce((a, b) => a + b, 0);
        const { scope1, scope2Location, scope3 } = inventory.kgCo2e;
        expect(Math.abs(byGas - (scope1 + scope2Location + scope3))).toBeLessThan(HALF_GRAM);
      }),
    );
  });

  test("does not depend on the order of its items", () => {
    fc.assert(
      fc.property(items, year, contracts, (list, inYear, market) => {
        const given = computeInventory({ items: list, year: inYear, contracts: market });
        const turned = computeInventory({
          items: [...list].reverse(),
          year: inYear,
          contracts: market,
        });
        expectSame(given.kgCo2e, turned.kgCo2e);
      }),
    );
  });

  test("by location never changes when contracts do", () => {
    fc.assert(
      fc.property(items, year, contracts, contracts, (list, inYear, one, other) => {
        const of = (market: MarketContracts) =>
          computeInventory({ items: list, year: inYear, contracts: market }).kgCo2e;
        expect(of(one).scope2Location).toBe(of(other).scope2Location);
        expect(of(one).scope1).toBe(of(other).scope1);
        expect(of(one).scope3).toBe(of(other).scope3);
      }),
    );
  });

  test("by market is never negative, and every kilowatt hour is accounted for once", () => {
    fc.assert(
      fc.property(items, year, contracts, (list, inYear, market) => {
        const inventory = computeInventory({ items: list, year: inYear, contracts: market });
        expect(inventory.kgCo2e.scope2Market).toBeGreaterThanOrEqual(0);
        const ownerKwh = list
          .filter((one) => one.meteredBy?.electricity === "owner")
          .reduce((sum, one) => sum + one.kwhPerYear, 0);
        const accounted = inventory.lines
          .filter((line) => line.method === "market")
          // The grid average has one line for each gas over the same kilowatt hours.
          .filter((line) => line.gas === "co2" || line.gas === "co2e")
          .reduce((sum, line) => sum + line.amount, 0);
        expect(Math.abs(accounted - ownerKwh)).toBeLessThan(1e-6 * Math.max(1, ownerKwh));
      }),
    );
  });

  test("of all-resident meters has nothing in scope 2 and leaves the sum as it was", () => {
    fc.assert(
      fc.property(items, year, (list, inYear) => {
        const meters = (who: "owner" | "resident") =>
          computeInventory({
            items: list.map((one) => ({ ...one, meteredBy: { fuel: who, electricity: who } })),
            year: inYear,
          }).kgCo2e;
        const owner = meters("owner");
        const resident = meters("resident");
        expect(resident.scope2Location).toBe(0);
        expect(
          Math.abs(owner.scope1 + owner.scope2Location - (resident.scope1 + resident.scope3)),
        ).toBeLessThan(HALF_GRAM);
      }),
    );
  });
});

describe("one heater's account", () => {
  test("grows in proportion to its energy", () => {
    fc.assert(
      fc.property(item, year, (some, inYear) => {
        const input: EmissionsInput = { ...some, year: inYear };
        const one = annualEmissions(input).kgCo2e;
        const two = annualEmissions({
          ...input,
          thermsPerYear: 2 * input.thermsPerYear,
          kwhPerYear: 2 * input.kwhPerYear,
          refrigerant: {
            ...(input.refrigerant as NonNullable<EmissionsInput["refrigerant"]>),
            chargeKg: 2 * (input.refrigerant?.chargeKg ?? 0),
          },
        }).kgCo2e;
        expectSame(two, add([one, one]));
      }),
    );
  });
});

describe("a path", () => {
  const use = fc.record({
    thermsPerYear: fc.double({ min: 0, max: 500, noNaN: true }),
    kwhPerYear: fc.double({ min: 0, max: 5_000, noNaN: true }),
    fuel: fc.constant("natural-gas" as const),
  });
  const heater: fc.Arbitrary<PathHeater> = fc.record({
    id: fc.uuid(),
    gridRegion: region,
    before: use,
    swap: fc.option(
      fc.record({ year: fc.integer({ min: 2024, max: 2032 }), shareBefore: share, after: use }),
    ),
  });
  const outlook = fc.array(
    fc.record({
      year: fc.integer({ min: 2024, max: 2034 }),
      shareOfTable: fc.double({ min: 0, max: 1.5, noNaN: true }),
    }),
    { maxLength: 4 },
  );
  const years = [2024, 2026, 2028, 2030, 2034];

  test("splits every year's change into swaps and grid that add up to it", () => {
    fc.assert(
      fc.property(fc.array(heater, { maxLength: 8 }), outlook, (heaters, gridOutlook) => {
        for (const { change } of emissionPath({ years, heaters, gridOutlook })) {
          expect(Math.abs(change.swaps + change.grid - change.total)).toBeLessThan(HALF_GRAM);
        }
      }),
    );
  });

  test("puts nothing on the grid when it does not change, nor on swaps when there are none", () => {
    fc.assert(
      fc.property(fc.array(heater, { maxLength: 8 }), outlook, (heaters, gridOutlook) => {
        const level = [{ year: 2024, shareOfTable: 1 }];
        for (const { change } of emissionPath({ years, heaters, gridOutlook: level })) {
          expect(Math.abs(change.grid)).toBeLessThan(HALF_GRAM);
        }
        const kept = heaters.map((one) => ({ ...one, swap: null }));
        for (const { change } of emissionPath({ years, heaters: kept, gridOutlook })) {
          expect(Math.abs(change.swaps)).toBeLessThan(HALF_GRAM);
        }
      }),
    );
  });

  test("year by year is the sum of the heaters' own paths", () => {
    fc.assert(
      fc.property(fc.array(heater, { maxLength: 6 }), outlook, (heaters, gridOutlook) => {
        const whole = emissionPath({ years, heaters, gridOutlook });
        const alone = heaters.map((one) => emissionPath({ years, heaters: [one], gridOutlook }));
        whole.forEach((at, index) => {
          expectSame(
            at.inventory.kgCo2e,
            add(alone.map((path) => path[index]?.inventory.kgCo2e as ScopeTotals)),
          );
        });
      }),
    );
  });
});

describe("a property's account", () => {
  const shareOfHomes = fc.double({ min: 0, max: 1.5, noNaN: true });
  const home = fc.record({
    occupants: fc.integer({ min: 0, max: 6 }),
    isShared: fc.boolean(),
    /** Day of a swap to a heat pump or to another gas tank; null for none. */
    swap: fc.option(
      fc.record({
        day: fc.integer({ min: 18_900, max: 20_450 }).map(dayOfNumber),
        toHeatPump: fc.boolean(),
      }),
    ),
    hardnessMgPerLitre: fc.option(fc.integer({ min: 0, max: 400 })),
  });
  const reading = fc
    .record({
      fuel: fc.constantFrom("natural-gas" as const, "electricity" as const),
      month: fc.integer({ min: 1, max: 12 }),
      inYear: fc.integer({ min: 2022, max: 2025 }),
      units: fc.double({ min: 0, max: 500, noNaN: true }),
    })
    .map(
      ({ fuel, month, inYear, units }): MeterReading => ({
        id: `${fuel} ${inYear}-${month}`,
        fuel,
        buildingId: null,
        from: dayFromParts(inYear, month, 1),
        to: dayFromParts(inYear, month, 28),
        units,
        otherUnits: 0,
      }),
    );
  const record = fc
    .record({
      homes: fc.array(home, { minLength: 1, maxLength: 5 }),
      readings: fc.uniqueArray(reading, { maxLength: 6, selector: ({ id }) => id }),
      usesCalibration: fc.boolean(),
      occupied: shareOfHomes,
      gridRegion: region,
    })
    .map((given) => ({
      readings: given.readings,
      site: { ...aPropertyRecord().site, gridRegion: given.gridRegion },
      energy: {
        ...UNKNOWN_PROPERTY_ENERGY,
        usesCalibration: given.usesCalibration,
        occupiedShare: { "2024": given.occupied },
      },
      lives: given.homes.flatMap(({ occupants, isShared, swap, hardnessMgPerLitre }, index) => {
        const common = {
          home: { ...aHeater().home, occupants },
          water: { ...aHeater().water, hardnessMgPerLitre },
          unitId: isShared ? null : `home ${index}`,
        };
        const old = aLife({ ...common, id: `old ${index}` }, { retired: swap?.day ?? null });
        if (!swap) return [old];
        const next = { ...common, ...(swap.toHeatPump ? HEAT_PUMP : {}), id: `new ${index}` };
        return [old, aLife(next, { installed: swap.day, after: old.heater.id })];
      }),
    }));

  test("tells every year's change by causes that add up to it, to the gram", () => {
    fc.assert(
      fc.property(record, (changes) => {
        const { years } = accountOf(changes);
        const base = years[0]?.kgCo2e ?? 0;
        for (const { change, kgCo2e } of years) {
          const sum = CHANGE_CAUSES.reduce((total, cause) => total + change[cause], 0);
          expect(Math.abs(sum - (kgCo2e - base))).toBeLessThan(HALF_GRAM);
        }
      }),
      { numRuns: 60 },
    );
  });

  test("without meters leaves nothing unexplained", () => {
    fc.assert(
      fc.property(record, (changes) => {
        for (const { change } of accountOf({ ...changes, readings: [] }).years) {
          expect(Math.abs(change.unexplained)).toBeLessThan(HALF_GRAM);
        }
      }),
      { numRuns: 60 },
    );
  });

  test("is the sum of its entries, and as an inventory the same to the gram", () => {
    fc.assert(
      fc.property(record, contracts, (changes, market) => {
        for (const { year: inYear, entries, kgCo2e } of accountOf(changes).years) {
          const sums = new EntrySums();
          for (const entry of entries) sums.add(entry);
          const common = { year: inYear, gwpSet: "AR5" as const, book: PUBLISHED_BOOK };
          const of = (given: MarketContracts) =>
            inventoryOfEntries(sums, { ...common, contracts: given }).kgCo2e;
          const plain = of({ market: "US", residualMix: null, instruments: [] });
          expect(Math.abs(locationTotal(plain) - kgCo2e)).toBeLessThan(HALF_GRAM);
          expect(of(market).scope2Location).toBe(plain.scope2Location);
          const weigh = entryWeigher(common);
          const byEntry = entries.reduce((sum, entry) => sum + weigh(entry), 0);
          expect(Math.abs(byEntry - kgCo2e)).toBeLessThan(HALF_GRAM);
        }
      }),
      { numRuns: 60 },
    );
  });

  test("takes from a meter all that it read, whoever's heaters it read", () => {
    fc.assert(
      fc.property(record, (changes) => {
        const entries = accountOf(changes).years.flatMap((each) => each.entries);
        for (const each of changes.readings) {
          const units = entries
            .filter((entry) => entry.readingId === each.id)
            .reduce((sum, entry) => sum + entry.amount, 0);
          expect(Math.abs(units - each.units)).toBeLessThan(1e-6 * Math.max(1, each.units));
        }
      }),
      { numRuns: 60 },
    );
  });
});
