import { describe, expect, test } from "vitest";
import type { HeaterRecord } from "@/lib/core/exchange/heater-record";
import { describeChangeValue } from "@/lib/core/exchange/record-changes";
import {
  type HeaterFacts,
  type RecordOnFile,
  UNKNOWN_HOME,
} from "@/lib/core/exchange/record-facts";
import { settleHome, settleKnownRecord, settleNewRecord } from "@/lib/core/exchange/settle-record";
import { calendarDay } from "@/lib/core/shared/calendar-day";

const TODAY = calendarDay("2026-11-25");
const CONTEXT = { today: TODAY, builtYear: null };
const day = calendarDay;

/** A row that gives nothing but its tag and what `given` says. */
function aRow(given: Partial<HeaterRecord> = {}): HeaterRecord {
  return {
    tag: "T-1",
    property: null,
    building: null,
    unit: null,
    floor: null,
    riser: null,
    bedrooms: null,
    bathrooms: null,
    occupants: null,
    homesServed: null,
    technology: null,
    fuel: null,
    installEarliest: null,
    installLatest: null,
    installEvidence: null,
    manufacturer: null,
    model: null,
    serial: null,
    volumeGal: null,
    inputBtuPerHour: null,
    inputWatts: null,
    uniformEnergyFactor: null,
    firstHourGal: null,
    place: null,
    overFinishedSpace: null,
    drainPan: null,
    leakShutoff: null,
    closedSystem: null,
    expansionControl: null,
    mixingValve: null,
    setpointF: null,
    warrantyYears: null,
    hardnessMgPerLitre: null,
    softened: null,
    lastFlush: null,
    lastAnodeReplacement: null,
    status: null,
    retiredEarliest: null,
    retiredLatest: null,
    retirementCause: null,
    notes: null,
    ...given,
  };
}

const FACTS: HeaterFacts = {
  technology: "gas-storage",
  fuel: "natural-gas",
  status: "in-service",
  installEarliest: day("2014-01-01"),
  installLatest: day("2014-12-31"),
  installEvidence: "permit",
  manufacturer: null,
  model: null,
  serial: "S-1",
  volumeGal: 40,
  inputBtuPerHour: 40_000,
  inputWatts: null,
  uniformEnergyFactor: 0.58,
  firstHourGal: null,
  place: "garage",
  overFinishedSpace: "unknown",
  drainPan: "no",
  leakShutoff: "unknown",
  closedSystem: "unknown",
  expansionControl: "unknown",
  mixingValve: "unknown",
  setpointF: 120,
  warrantyYears: null,
  homesServed: 1,
  notes: "Behind the door",
};

function onRecord(
  facts: Partial<HeaterFacts> = {},
  rest: Partial<RecordOnFile> = {},
): RecordOnFile {
  return {
    facts: { ...FACTS, ...facts },
    at: { property: "Alder Court", building: "A", unit: "101" },
    retirement: null,
    lastFlush: null,
    lastAnodeReplacement: null,
    ...rest,
  };
}

const settle = (record: RecordOnFile, given: Partial<HeaterRecord>) =>
  settleKnownRecord(record, aRow(given), CONTEXT);

describe("a row whose tag is on record", () => {
  test("that gives nothing changes nothing", () => {
    const record = onRecord();

    expect(settle(record, {})).toMatchObject({ facts: record.facts, changes: [], problems: [] });
  });

  test("replaces what it gives and tells each field with what stood there", () => {
    const settled = settle(onRecord(), { setpointF: 130, drainPan: "yes", manufacturer: "Maker" });

    expect(settled.changes).toEqual([
      { field: "manufacturer", before: null, after: "Maker" },
      { field: "drainPan", before: "no", after: "yes" },
      { field: "setpointF", before: 120, after: 130 },
    ]);
  });

  test("does not replace a known place by one that has no name here", () => {
    expect(settle(onRecord(), { place: "other" }).facts.place).toBe("garage");
    expect(settle(onRecord(), { place: "attic" }).facts.place).toBe("attic");
  });

  test("names a place in other letters without moving the heater", () => {
    const settled = settle(onRecord(), { property: "ALDER COURT", building: "a", unit: " 101" });

    expect(settled).toMatchObject({ at: { property: "Alder Court", unit: "101" }, changes: [] });
  });

  test("moves the heater only with a home to move to", () => {
    expect(settle(onRecord(), { building: "B" }).problems).toEqual([
      "building changes from A to B, and no unit there is given",
    ]);
    expect(settle(onRecord(), { property: "Birch Hill" }).problems).toContain(
      "property changes from Alder Court to Birch Hill, and no building is given",
    );
    expect(settle(onRecord(), { building: "B", unit: "1" })).toMatchObject({
      at: { property: "Alder Court", building: "B", unit: "1" },
      problems: [],
    });
  });

  test("takes a burner's input off a heater that is no burner after all", () => {
    const settled = settle(onRecord({ uniformEnergyFactor: null }), {
      technology: "electric-storage",
      fuel: "electricity",
      inputWatts: 4500,
    });

    expect(settled.facts).toMatchObject({ inputBtuPerHour: null, inputWatts: 4500 });
  });

  test("is refused when its fuel or its UEF contradicts the type on record", () => {
    expect(settle(onRecord(), { fuel: "electricity" }).problems).toEqual([
      "fuel contradicts the type on record; give the type too",
    ]);
    expect(settle(onRecord(), { uniformEnergyFactor: 3.4 }).problems).toEqual([
      "UEF 3.4 contradicts the type on record: a heat pump has more than 1, all others at most 1",
    ]);
  });

  test("that describes a later heater under the tag is refused", () => {
    const later = { installEarliest: day("2024-01-01"), installLatest: day("2024-12-31") };

    expect(settle(onRecord(), { ...later, serial: "S-2" }).problems[0]).toContain(
      "another serial number than on record",
    );
    expect(
      settle(onRecord({ uniformEnergyFactor: null }), {
        ...later,
        technology: "heat-pump-storage",
        fuel: "electricity",
      }).problems[0],
    ).toContain("another type than on record");
    // A later day alone is a correction, and another plate of the same day too.
    expect(settle(onRecord(), later).problems).toEqual([]);
    expect(settle(onRecord(), { serial: "S-2" }).problems).toEqual([]);
  });
});

describe("the install bracket of a heater on record", () => {
  const bracket = (from: string | null, to: string | null) => ({
    installEarliest: from === null ? null : day(from),
    installLatest: to === null ? null : day(to),
  });
  const bracketAfter = (given: Partial<HeaterRecord>) => {
    const { facts, assumptions } = settle(onRecord(), given);
    return [facts.installEarliest, facts.installLatest, facts.installEvidence, ...assumptions];
  };

  test("is not widened by a row that knows less", () => {
    expect(bracketAfter(bracket("2010-01-01", "2019-12-31"))).toEqual([
      "2014-01-01",
      "2014-12-31",
      "permit",
    ]);
    expect(bracketAfter(bracket(null, "2019-12-31"))).toEqual([
      "2014-01-01",
      "2014-12-31",
      "permit",
    ]);
  });

  test("is narrowed to the days that both allow, and keeps its evidence", () => {
    expect(bracketAfter(bracket("2014-06-01", "2015-05-31"))).toEqual([
      "2014-06-01",
      "2014-12-31",
      "permit",
    ]);
    expect(bracketAfter(bracket("2014-06-01", "2014-06-01"))).toEqual([
      "2014-06-01",
      "2014-06-01",
      "permit",
    ]);
  });

  test("gives way to the row where the two contradict, and then rests on the list alone", () => {
    expect(bracketAfter(bracket("2016-03-05", "2016-03-05"))).toEqual([
      "2016-03-05",
      "2016-03-05",
      "staff-estimate",
      "evidence-none-named",
    ]);
    // An open end is closed with today, or 40 years before the other (our rule).
    expect(bracketAfter(bracket("2016-01-01", null)).slice(0, 2)).toEqual(["2016-01-01", TODAY]);
    expect(bracketAfter(bracket(null, "2009-12-31")).slice(0, 2)).toEqual([
      "1969-12-31",
      "2009-12-31",
    ]);
  });

  test("takes the evidence that the row names", () => {
    expect(
      bracketAfter({ ...bracket("2016-03-05", "2016-03-05"), installEvidence: "invoice" }),
    ).toEqual(["2016-03-05", "2016-03-05", "invoice"]);
  });
});

describe("the end of a heater's service", () => {
  const retired = (from: string | null, to: string, more: Partial<HeaterRecord> = {}) => ({
    status: "retired" as const,
    retiredEarliest: from === null ? null : day(from),
    retiredLatest: day(to),
    ...more,
  });

  test("comes with its cause, or with Other and a word about it", () => {
    expect(
      settle(onRecord(), retired("2025-05-01", "2025-05-01", { retirementCause: "leak" })),
    ).toMatchObject({
      facts: { status: "retired" },
      retirement: { earliest: "2025-05-01", latest: "2025-05-01", cause: "leak" },
      assumptions: [],
    });
    expect(settle(onRecord(), retired("2025-05-01", "2025-05-01"))).toMatchObject({
      retirement: { cause: "other" },
      assumptions: ["cause-other"],
    });
  });

  test("without a beginning begins at the install day", () => {
    expect(settle(onRecord(), retired(null, "2020-12-31")).retirement).toMatchObject({
      earliest: "2014-01-01",
      latest: "2020-12-31",
    });
  });

  test("on record is not widened, and not taken back", () => {
    const record = onRecord(
      { status: "retired" },
      { retirement: { earliest: day("2025-05-01"), latest: day("2025-05-01"), cause: "leak" } },
    );

    expect(settle(record, retired("2025-01-01", "2025-12-31")).changes).toEqual([]);
    expect(settle(record, { status: "in-service" }).problems).toHaveLength(1);
    expect(settle(record, { retirementCause: "damage" }).changes).toEqual([
      { field: "retirementCause", before: "leak", after: "damage" },
    ]);
  });

  test("cannot come before the install day on record", () => {
    expect(settle(onRecord(), retired("2013-05-01", "2013-05-01")).problems).toEqual([
      "retirement date 2013-05-01 is before the install date 2014-01-01 to 2014-12-31",
    ]);
  });

  test("is not told by a cause alone", () => {
    expect(settle(onRecord(), { retirementCause: "leak" })).toMatchObject({
      facts: { status: "in-service" },
      changes: [],
      assumptions: ["cause-left-out"],
    });
  });
});

describe("a day of care", () => {
  test("is added when it is later than the last on record", () => {
    const record = onRecord({}, { lastFlush: day("2025-06-01") });

    expect(settle(record, { lastFlush: day("2025-06-01") }).care.lastFlush).toBeNull();
    expect(settle(record, { lastFlush: day("2024-01-01") }).changes).toEqual([]);
    expect(settle(record, { lastFlush: day("2025-06-02") })).toMatchObject({
      care: { lastFlush: "2025-06-02" },
      changes: [{ field: "lastFlush", before: "2025-06-01", after: "2025-06-02" }],
    });
  });

  test("cannot come before the heater was installed", () => {
    expect(settle(onRecord(), { lastAnodeReplacement: day("2013-06-01") }).problems).toEqual([
      "last anode replacement 2013-06-01 is before the install date 2014-01-01 to 2014-12-31",
    ]);
  });
});

describe("a row whose tag is new", () => {
  const NEW = {
    property: "Alder Court",
    building: "A",
    technology: "gas-storage",
    fuel: "natural-gas",
  } as const;

  test("leaves unknown what it does not give: never no and never zero", () => {
    const { facts } = settleNewRecord(aRow(NEW), CONTEXT);

    expect(facts).toMatchObject({
      drainPan: "unknown",
      setpointF: null,
      volumeGal: null,
      place: "other",
      homesServed: 1,
      status: "in-service",
    });
  });

  test("closes an install bracket at the retirement, which the heater cannot have outlived", () => {
    const { facts } = settleNewRecord(
      aRow({
        ...NEW,
        installEarliest: day("2010-01-01"),
        status: "retired",
        retiredEarliest: day("2019-05-01"),
        retiredLatest: day("2019-05-31"),
      }),
      CONTEXT,
    );

    expect(facts).toMatchObject({ installEarliest: "2010-01-01", installLatest: "2019-05-31" });
  });

  test("does not begin before its building, nor more than 40 years ago", () => {
    const from = (builtYear: number | null) =>
      settleNewRecord(aRow(NEW), { today: TODAY, builtYear }).facts.installEarliest;

    expect(from(2001)).toBe("2001-01-01");
    expect(from(1930)).toBe("1986-11-25");
    expect(from(null)).toBe("1986-11-25");
  });

  test("must have a property, building and type", () => {
    expect(() => settleNewRecord(aRow(), CONTEXT)).toThrow(/T-1/);
  });
});

describe("a home", () => {
  test("takes what a row gives and keeps what it leaves empty", () => {
    const before = { ...UNKNOWN_HOME, floor: 1, bedrooms: 2 };

    expect(settleHome(before, aRow({ floor: 2, bedrooms: 2, riser: "R1" }))).toEqual({
      home: { ...before, floor: 2, riser: "R1" },
      changes: [
        { field: "floor", before: 1, after: 2 },
        { field: "riser", before: null, after: "R1" },
      ],
    });
  });
});

describe("a change in words", () => {
  test("has units, names for codes, and the shortest way to say a bracket", () => {
    expect(describeChangeValue("inputBtuPerHour", 40_000)).toBe("40,000 Btu/h");
    expect(describeChangeValue("technology", "heat-pump-storage")).toBe("Heat pump, 240 V");
    expect(describeChangeValue("setpointF", null)).toBe("not on record");
    expect(describeChangeValue("install", [day("2014-01-01"), day("2014-12-31")])).toBe("2014");
    expect(describeChangeValue("install", [day("2016-02-01"), day("2016-02-29")])).toBe("2016-02");
    expect(describeChangeValue("install", [day("2016-02-01"), day("2016-02-01")])).toBe(
      "2016-02-01",
    );
    expect(describeChangeValue("install", [day("2016-02-01"), day("2016-03-31")])).toBe(
      "2016-02-01 to 2016-03-31",
    );
    expect(describeChangeValue("notes", "x".repeat(200))).toHaveLength(120);
  });
});
