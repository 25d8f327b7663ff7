import { describe, expect, test } from "vitest";
import { annualEmissions, type MarketContracts } from "@/lib/core/emissions/annual-emissions";
import {
  allocateInstruments,
  type Instrument,
  qualityProblems,
} from "@/lib/core/emissions/market-instruments";

const USE = { year: 2024, market: "US" };

function anInstrument(changes: Partial<Instrument> = {}): Instrument {
  return {
    id: "A",
    kind: "certificate",
    covers: { kwh: 1_000 },
    kgCo2ePerKwh: 0,
    vintage: 2024,
    market: "US",
    conveysRate: true,
    soleClaim: true,
    retired: true,
    source: "test",
    ...changes,
  };
}

describe("the quality of an instrument", () => {
  // GHG Protocol Scope 2 Guidance (2015), table 7.1: claim, sole claim and retirement as quoted; the
  // closeness of the vintage is ours to read, one year.
  test("a sound one has nothing against it", () => {
    expect(qualityProblems(anInstrument(), USE)).toEqual([]);
    expect(qualityProblems(anInstrument({ vintage: 2023 }), USE)).toEqual([]);
    expect(qualityProblems(anInstrument({ vintage: 2025 }), USE)).toEqual([]);
  });

  test.each([
    [{ conveysRate: false }, /emission rate/],
    [{ soleClaim: false }, /only claim/],
    [{ retired: false }, /retired/],
    [{ vintage: 2022 }, /vintage 2022 is too far from 2024/],
    [{ market: "EU" }, /EU, not in US/],
  ])("%o is a reason to refuse it", (changes, reason) => {
    expect(qualityProblems(anInstrument(changes), USE).join()).toMatch(reason);
  });

  test("every reason is given, not the first alone", () => {
    expect(
      qualityProblems(anInstrument({ retired: false, soleClaim: false, market: "EU" }), USE),
    ).toHaveLength(3);
  });
});

describe("laying instruments over electricity", () => {
  test("certificates go first, then contracts, then the supplier's rate", () => {
    const { used } = allocateInstruments(
      1_500,
      [
        anInstrument({ id: "supplier", kind: "supplier-rate", covers: { share: 1 } }),
        anInstrument({ id: "contract", kind: "contract", covers: { kwh: 800 } }),
        anInstrument({ id: "certificate", covers: { kwh: 500 } }),
      ],
      USE,
    );
    expect(used.map(({ instrument, kwh }) => [instrument.id, kwh])).toEqual([
      ["certificate", 500],
      ["contract", 800],
      ["supplier", 200],
    ]);
  });

  test("what is refused covers nothing and is listed with its reasons", () => {
    const { used, refused, uncoveredKwh } = allocateInstruments(
      1_000,
      [anInstrument({ retired: false })],
      USE,
    );
    expect(used).toEqual([]);
    expect(uncoveredKwh).toBe(1_000);
    expect(refused[0]?.reasons).toEqual(["is not tracked and retired for the reporter"]);
  });

  test("a negative rate is a mistake, not an offset", () => {
    expect(() => allocateInstruments(1, [anInstrument({ kgCo2ePerKwh: -0.1 })], USE)).toThrow(
      /kgCo2ePerKwh.*-0\.1/,
    );
  });
});

describe("the market-based account", () => {
  const account = (contracts?: MarketContracts) =>
    annualEmissions({
      thermsPerYear: 0,
      kwhPerYear: 10_000,
      fuel: "electricity",
      gridRegion: "CAMX",
      year: 2023,
      ...(contracts && { contracts }),
    });
  const residualMix = { kgCo2ePerKwh: 0.25, vintage: 2023, source: "entered" };
  const sound = anInstrument({ vintage: 2023, covers: { share: 0.4 } });

  test("takes the residual mix for what no instrument covers", () => {
    const { kgCo2e, notes } = account({ market: "US", residualMix, instruments: [sound] });
    expect(kgCo2e.scope2Market).toBeCloseTo(6_000 * 0.25, 9);
    expect(notes).toEqual([]);
  });

  test("takes the grid average where no residual mix is published, and says so", () => {
    const { kgCo2e, notes } = account({ market: "US", residualMix: null, instruments: [sound] });
    expect(kgCo2e.scope2Market).toBeCloseTo(0.6 * kgCo2e.scope2Location, 9);
    expect(notes.join()).toMatch(/no residual mix/);
  });

  test("equals the location-based one without contracts, and says so", () => {
    const { kgCo2e, notes } = account();
    expect(kgCo2e.scope2Market).toBeCloseTo(kgCo2e.scope2Location, 9);
    expect(notes.join()).toMatch(/no contracts/);
  });

  test("names a refused instrument", () => {
    const { notes } = account({
      market: "US",
      residualMix,
      instruments: [anInstrument({ id: "old", vintage: 2019 })],
    });
    expect(notes.join()).toMatch(/old was not used: its vintage 2019/);
  });
});
