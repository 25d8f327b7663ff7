import { describe, expect, test } from "vitest";
import type { ColumnMapping } from "@/lib/core/exchange/column-mapping";
import { ColumnProfiler } from "@/lib/core/exchange/column-profile";
import { guessColumns, mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import { createHeaterRowReader, type HeaterRow } from "@/lib/core/exchange/read-heater-row";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

const TODAY = "2026-11-25" as CalendarDay;

type Extra = {
  readonly constants?: ColumnMapping["constants"];
  readonly isKnownTag?: (tag: string) => boolean;
};

/** Reads rows below headings as a file would be read, rows counting from 2. */
function readRows(
  headers: readonly string[],
  rows: readonly (readonly string[])[],
  { constants = {}, isKnownTag }: Extra = {},
): readonly (HeaterRow | null)[] {
  const profiler = new ColumnProfiler(headers.length);
  for (const row of rows) profiler.observe(row);
  const guesses = guessColumns(headers, profiler.profiles(), { todayYear: 2026 });
  const mapping = { ...mappingOfGuesses(guesses), constants };
  const read = createHeaterRowReader(headers, mapping, {
    today: TODAY,
    uses1904: false,
    ...(isKnownTag ? { isKnownTag } : {}),
  });
  return rows.map((cells, index) => read({ rowNumber: index + 2, cells }));
}

/** One row given by heading, with what a row needs unless it is given. */
function readRow(given: Readonly<Record<string, string>>, extra: Extra = {}): HeaterRow {
  const cells = { Tag: "T-1", Property: "Alder Court", Building: "A", Type: "Gas tank", ...given };
  const [row] = readRows(Object.keys(cells), [Object.values(cells)], extra);
  if (!row) throw new Error("the row was passed over");
  return row;
}

const reasons = (row: HeaterRow | null | undefined) => row?.problems.map(({ message }) => message);

describe("a good row", () => {
  test("becomes a record in the record's units", () => {
    const { record, problems } = readRow({
      Unit: "101",
      Floor: "2nd",
      Baths: "1.5",
      Fuel: "NG",
      "Install date": "3/15/2014",
      "Volume (L)": "151.41647136",
      Input: "40 MBH",
      UEF: "0.58",
      "First-hour rating": "67 gal",
      Location: "Hall closet",
      Pan: "✓",
      "Expansion tank": "n",
      Setpoint: "60 C",
      Warranty: "72 months",
      "Hardness (gpg)": "10",
      Softener: "no",
      "Last flush": "2025-05-01",
      Notes: "first line\r\nsecond line",
    });

    expect(problems).toEqual([]);
    expect(record).toMatchObject({
      tag: "T-1",
      unit: "101",
      floor: 2,
      bathrooms: 1.5,
      technology: "gas-storage",
      fuel: "natural-gas",
      installEarliest: "2014-03-15",
      installLatest: "2014-03-15",
      inputBtuPerHour: 40_000,
      inputWatts: null,
      uniformEnergyFactor: 0.58,
      firstHourGal: 67,
      place: "interior-closet",
      drainPan: "yes",
      expansionControl: "no",
      setpointF: 140,
      warrantyYears: 6,
      softened: "no",
      lastFlush: "2025-05-01",
      leakShutoff: null,
      notes: "first line\nsecond line",
    });
    expect(record?.volumeGal).toBeCloseTo(40, 8);
    // 1 grain per gallon = 17.118 mg/L, by the units' definitions.
    expect(record?.hardnessMgPerLitre).toBeCloseTo(171.18, 2);
  });

  test.each(["", "?", "n/a", "N.A.", "unknown", "TBD", "--", "#N/A", " - "])(
    "keeps %j as not known, never as zero or no",
    (word) => {
      const { record } = readRow({ Volume: word, Pan: word, Setpoint: word, Model: word });

      expect(record).toMatchObject({
        volumeGal: null,
        drainPan: null,
        setpointF: null,
        model: null,
      });
    },
  );

  test("takes a zero volume or input for one that was not given", () => {
    expect(readRow({ Volume: "0", Input: "0" }).record).toMatchObject({
      volumeGal: null,
      inputBtuPerHour: null,
    });
  });

  test("reads a bare input in Btu/h for a burner and in watts for an element", () => {
    expect(readRow({ Input: "40,000" }).record?.inputBtuPerHour).toBe(40_000);
    expect(readRow({ Type: "Electric tank", Input: "4500" }).record?.inputWatts).toBe(4500);
    expect(readRow({ Type: "Electric tank", Input: "4.5 kW" }).record?.inputWatts).toBeCloseTo(
      4500,
      8,
    );
  });
});

test.each([
  ["2nd floor", 2],
  ["Fl. 3", 3],
  ["G", 1],
  ["-1", -1],
  ["Level -2", -2],
  ["B2", -2],
  ["Basement", -1],
])("floor %j is %i", (text, floor) => {
  expect(readRow({ Floor: text }).record?.floor).toBe(floor);
});

describe("technology", () => {
  test.each([
    ["Gas tank", "", "gas-storage", "natural-gas"],
    ["Tank", "Propane", "gas-storage", "propane"],
    ["NG tankless", "", "gas-instantaneous", "natural-gas"],
    ["On-demand", "Electric", "electric-instantaneous", "electricity"],
    ["Hybrid electric", "Electric", "heat-pump-storage", "electricity"],
    ["HPWH 120V", "", "heat-pump-plug-in", "electricity"],
    ["Split heat pump", "", "heat-pump-split", "electricity"],
    ["Heat pump, central plant", "", "heat-pump-central", "electricity"],
  ])("of %j with fuel %j is %s on %s", (type, fuel, technology, expectedFuel) => {
    expect(readRow({ Type: type, Fuel: fuel }).record).toMatchObject({
      technology,
      fuel: expectedFuel,
    });
  });

  test("is a tank when only the volume tells, and the row says that it was taken so", () => {
    const row = readRow({ Type: "Gas", Volume: "40" });

    expect(row.record?.technology).toBe("gas-storage");
    expect(row.assumptions).toEqual(["storage-by-volume", "natural-gas"]);
  });

  test("is not guessed when nothing tells", () => {
    expect(reasons(readRow({ Type: "Gas" }))).toEqual([
      "row 2: type does not say tank or tankless, and no volume tells",
    ]);
    expect(reasons(readRow({ Type: "Steam boiler" }))?.[0]).toContain(
      'type "Steam boiler" is not one of',
    );
  });

  test("must not contradict the fuel, the volume or the energy factor", () => {
    expect(reasons(readRow({ Fuel: "Electric" }))).toEqual([
      "row 2: fuel electricity contradicts a type that is gas fired",
    ]);
    expect(reasons(readRow({ Type: "Propane tank", Fuel: "Natural gas" }))).toEqual([
      "row 2: fuel natural gas contradicts a type that names propane",
    ]);
    expect(reasons(readRow({ Type: "Gas tankless", Volume: "40" }))?.[0]).toContain(
      "contradicts a type that is tankless",
    );
    expect(reasons(readRow({ UEF: "3.5" }))?.[0]).toContain("UEF 3.5 contradicts the type");
    expect(reasons(readRow({ Type: "Hybrid", UEF: "0.92" }))?.[0]).toContain(
      "UEF 0.92 contradicts",
    );
  });
});

describe("install day", () => {
  test("in the future is refused in these words", () => {
    expect(readRow({ "Install date": "2035-02-01" }).problems).toEqual([
      { path: "Install date", message: "row 2: install date 2035-02-01 is in the future" },
    ]);
  });

  test("of this year stays a bracket that ends today", () => {
    expect(readRow({ "Install year": "2026" }).record).toMatchObject({
      installEarliest: "2026-01-01",
      installLatest: TODAY,
    });
  });

  test("narrows to what date, year and limits say together, and is refused when they disagree", () => {
    const both = readRow({ "Installed after": "2012", "Installed before": "Mar 2014" });

    expect(both.record).toMatchObject({
      installEarliest: "2012-01-01",
      installLatest: "2014-03-31",
    });
    expect(reasons(readRow({ "Install date": "2014-03-15", "Install year": "2012" }))).toEqual([
      "row 2: install year 2012-01-01 to 2012-12-31 contradicts install date 2014-03-15",
    ]);
  });

  test("comes from an age in whole years as the year it leaves open", () => {
    expect(readRow({ Age: "8 yrs" }).record).toMatchObject({
      installEarliest: "2017-11-26",
      installLatest: "2018-11-25",
    });
  });

  test("stays open at the end that is not known", () => {
    expect(readRow({ "Install date": "before 2010" }).record).toMatchObject({
      installEarliest: null,
      installLatest: "2009-12-31",
    });
    expect(readRow({}).record).toMatchObject({ installEarliest: null, installLatest: null });
  });

  test("before 1940 is a slip", () => {
    expect(reasons(readRow({ "Install date": "1/1/1924" }))?.[0]).toContain("is before 1940");
  });

  test("must not come after care or retirement", () => {
    const row = readRow({
      "Install date": "2014-03-15",
      "Last flush": "2013-01-01",
      "Retired on": "2012-01-01",
    });

    expect(reasons(row)).toEqual([
      "row 2: retirement date 2012-01-01 is before the install date 2014-03-15",
      "row 2: last flush 2013-01-01 is before the install date 2014-03-15",
    ]);
  });

  test("bounds a day of care that is known to the year only", () => {
    const row = readRow({ "Install date": "2014-03-15", "Last flush": "2014" });

    expect(row.record?.lastFlush).toBe("2014-03-15");
    expect(row.assumptions).toContain("care-day-earliest");
  });
});

describe("tags and places", () => {
  test("a double names both rows, whatever the case", () => {
    const rows = readRows(
      ["Tag", "Property", "Building", "Type"],
      [
        ["T-1", "Alder Court", "A", "Gas tank"],
        ["t-1", "Alder Court", "A", "Gas tank"],
      ],
    );

    expect(rows[0]?.problems).toEqual([]);
    expect(reasons(rows[1])).toEqual(['row 3: tag "t-1" is already that of row 2']);
  });

  test("a missing tag is made from property, building and unit", () => {
    const row = readRow({ Tag: "", Unit: "101" });

    expect(row.record?.tag).toBe("Alder Court/A/101");
    expect(row.assumptions).toContain("tag-made");
  });

  test("a missing tag that cannot be made is refused, and so are missing places", () => {
    expect(reasons(readRow({ Tag: "" }))?.[0]).toContain("tag is missing");
    expect(reasons(readRow({ Property: "" }))).toEqual(["row 2: property is missing"]);
    expect(reasons(readRow({ Building: "" }))).toEqual(["row 2: building is missing"]);
  });

  test("without a column for it the building is the property", () => {
    const [row] = readRows(["Tag", "Property", "Type"], [["T-1", "Alder Court", "Gas tank"]]);

    expect(row?.record?.building).toBe("Alder Court");
    expect(row?.assumptions).toContain("building-is-property");
  });

  test("a row of a tag on record may hold nothing but the change", () => {
    const [row] = readRows(["Tag", "Last flush"], [["T-1", "2026-10-01"]], {
      isKnownTag: (tag) => tag === "T-1",
    });

    expect(row?.problems).toEqual([]);
    expect(row?.record).toMatchObject({
      lastFlush: "2026-10-01",
      property: null,
      technology: null,
    });
  });

  test("a value for the whole file stands where a cell has none", () => {
    const rows = readRows(
      ["Tag", "Building", "Type"],
      [
        ["T-1", "A", "Gas tank"],
        ["T-2", "A", ""],
      ],
      { constants: { property: "Alder Court", technology: "Electric tank" } },
    );

    expect(rows.map((row) => [row?.record?.property, row?.record?.technology])).toEqual([
      ["Alder Court", "gas-storage"],
      ["Alder Court", "electric-storage"],
    ]);
  });

  test("a grouped sheet is filled down", () => {
    const rows = readRows(
      ["Property", "Building", "Unit", "Type"],
      [
        ["Alder Court", "A", "101", "Gas tank"],
        ["", "", "102", "Gas tank"],
        ["", "", "103", "Gas tank"],
        ["Birch Row", "B", "1", "Gas tank"],
      ],
    );

    expect(rows.map((row) => row?.record?.tag)).toEqual([
      "Alder Court/A/101",
      "Alder Court/A/102",
      "Alder Court/A/103",
      "Birch Row/B/1",
    ]);
  });
});

describe("a bad row", () => {
  test("names every problem, not only the first", () => {
    const row = readRow({
      "Install date": "2/30/2014",
      Volume: "4000 gal",
      UEF: "nine",
      Pan: "maybe",
    });

    expect(row.record).toBeNull();
    expect(reasons(row)).toEqual([
      'row 2: install date "2/30/2014" is not a day that exists as month/day/year, the order of this column',
      'row 2: UEF "nine" is not a number',
      'row 2: drain pan "maybe" is not one of: yes or no',
      "row 2: volume 4000 gal is more than a heater of one home holds (200 gal); say in homes served how many it serves",
    ]);
  });

  test("is one whose numbers are out of the plausible range", () => {
    expect(reasons(readRow({ Input: "40" }))).toEqual([
      "row 2: input 40 Btu/h is outside 5000 to 400000 Btu/h; if it is in thousands, name the unit in the heading or choose it in the matching",
    ]);
    expect(reasons(readRow({ Setpoint: "20 F" }))?.[0]).toContain("outside 70 to 190 °F");
    expect(reasons(readRow({ Bedrooms: "2.5" }))?.[0]).toContain("is not a whole number");
    expect(readRow({ Volume: "4000 gal", "Homes served": "80" }).problems).toEqual([]);
  });

  test("is one with a control character, an overlong text or a spreadsheet error", () => {
    expect(reasons(readRow({ Model: "M\u0000" }))?.[0]).toContain("control character");
    expect(reasons(readRow({ Model: "M\u202Egnp.exe" }))?.[0]).toContain("control character");
    expect(reasons(readRow({ Model: "\uD800" }))?.[0]).toContain("control character");
    expect(reasons(readRow({ Model: "x".repeat(81) }))?.[0]).toContain(
      "has 81 characters; at most 80",
    );
    expect(reasons(readRow({ Volume: "#REF!" }))).toEqual([
      "row 2: volume holds the spreadsheet error #REF!",
    ]);
  });

  test("is one with cells beyond the headings, as an unquoted comma makes them", () => {
    const [row] = readRows(
      ["Tag", "Property", "Building", "Type"],
      [["T-1", "Alder Court", "A", "Gas tank", "000"]],
    );

    expect(reasons(row)?.[0]).toContain("has a value in column 5, beyond the 4 headings");
  });

  test("is one that is retired without a day", () => {
    expect(reasons(readRow({ Status: "Retired" }))).toEqual([
      "row 2: status is retired, and no retirement date is given",
    ]);
    expect(readRow({ "Date removed": "2020-05", Cause: "Leaking" }).record).toMatchObject({
      status: "retired",
      retiredEarliest: "2020-05-01",
      retiredLatest: "2020-05-31",
      retirementCause: "leak",
    });
  });
});

test("empty rows and repeated headings are passed over", () => {
  const headers = ["Tag", "Property", "Building", "Type"];

  expect(readRows(headers, [["", " ", "", ""], [], headers])).toEqual([null, null, null]);
});
