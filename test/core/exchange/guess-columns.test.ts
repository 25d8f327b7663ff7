import { readFile } from "node:fs/promises";
import { describe, expect, test } from "vitest";
import { normalizeHeading } from "@/lib/core/exchange/cell-words";
import {
  checkMapping,
  headerSignature,
  recallMapping,
  rememberMapping,
} from "@/lib/core/exchange/column-mapping";
import { ColumnProfiler } from "@/lib/core/exchange/column-profile";
import { findHeaderRow, guessColumns, mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import { HEATER_FIELDS, heaterColumn, isHeaterField } from "@/lib/core/exchange/heater-columns";

function guess(headers: readonly string[], rows: readonly (readonly string[])[] = []) {
  const profiler = new ColumnProfiler(headers.length);
  for (const row of rows) profiler.observe(row);
  return guessColumns(headers, profiler.profiles(), { todayYear: 2026 });
}

const fieldsOf = (headers: readonly string[], rows?: readonly (readonly string[])[]) =>
  guess(headers, rows).map(({ match }) => match?.field ?? null);

describe("guessColumns", () => {
  test("knows every column by its own label and by each of its other names", () => {
    for (const field of HEATER_FIELDS) {
      const column = heaterColumn(field);
      for (const name of [column.label, ...column.synonyms]) {
        expect([name, fieldsOf([name])[0]]).toEqual([name, field]);
      }
    }
  });

  test("gives no name to two columns", () => {
    const seen = new Map<string, string>();
    for (const field of HEATER_FIELDS) {
      const { label, synonyms } = heaterColumn(field);
      for (const name of new Set([label, ...synonyms].map(normalizeHeading))) {
        expect([name, seen.get(name)]).toEqual([name, undefined]);
        seen.set(name, field);
      }
    }
  });

  test.each([
    ["Bldg.", "building"],
    ["APT #", "unit"],
    ["Manufactuer", "manufacturer"],
    ["Water Heater Serial Number", "serial"],
    ["WH Location", "place"],
    ["Date Installed (mm/dd/yy)", "installDate"],
    ["Year Installed", "installYear"],
    ["Tank Size (Gallons)", "volume"],
    ["Input BTU/hr", "inputBtuPerHour"],
    ["Exp. Tank?", "expansionControl"],
    ["Last_Flushed", "lastFlush"],
    ["Set Temp °F", "setpoint"],
  ])("takes %s for %s", (heading, field) => {
    expect(fieldsOf([heading])).toEqual([field]);
  });

  test("leaves a column alone whose heading means nothing here", () => {
    expect(fieldsOf(["Rent", "Lease end", "Colour"], [["1200", "2027-01-31", "white"]])).toEqual([
      null,
      null,
      null,
    ]);
  });

  test("is less sure when the cells do not fit the heading, and prefers the column whose cells do", () => {
    const rows = [
      ["yes", "40"],
      ["no", "50"],
      ["yes", "40 gal"],
    ];

    expect(fieldsOf(["Size", "Tank size"], rows)).toEqual([null, "volume"]);
  });

  test("tells type and install date by their cells where the headings are silent", () => {
    const rows = [
      ["Gas tank", "3/15/2014"],
      ["Electric tankless", "Mar 2016"],
    ];

    const guesses = guess(["Column1", "Column2"], rows);

    expect(guesses.map(({ match }) => match?.field)).toEqual(["technology", "installDate"]);
    expect(guesses[0]?.confidence).toBeLessThan(0.6);
  });

  test("keeps a column of a clear heading whose cells do not fit, and says how few do", () => {
    const [column] = guess(["Install date"], [["soon"], ["2014"], ["later"], ["never"]]);

    expect(column?.match?.field).toBe("installDate");
    expect(column?.statements).toEqual(["only 25 % of the cells looked at can be read so"]);
  });

  test("takes units from the heading", () => {
    const units = guess([
      "Volume (L)",
      "Burner input kBtu/h",
      "Setpoint °C",
      "Hardness (gpg)",
      "Element input [kW]",
    ]).map(({ match }) => match?.unit);

    expect(units).toEqual(["L", "kBtu/h", "C", "gpg", "kW"]);
  });

  test("tells litres, Celsius and thousands by size where nothing names them, and says so", () => {
    const [volume, setpoint, burner] = guess(
      ["Volume", "Setpoint", "BTU"],
      [
        ["151", "49", "40"],
        ["189", "60", "36"],
      ],
    );

    expect(volume?.match?.unit).toBe("L");
    expect(volume?.statements[0]).toBe("no unit is named and the middle value is 189; read as L");
    expect(setpoint?.match?.unit).toBe("C");
    expect(burner?.match?.unit).toBe("kBtu/h");
  });

  test("fills property and building down where a grouped sheet names them once", () => {
    const rows = [
      ["Alder Court", "101"],
      ["", "102"],
      ["", "103"],
    ];

    expect(guess(["Property", "Unit"], rows)[0]?.match?.fillDown).toBe(true);
    expect(guess(["Property", "Unit"], rows)[1]?.match?.fillDown).toBe(false);
  });
});

describe("findHeaderRow", () => {
  test("passes over titles and blank lines", () => {
    expect(
      findHeaderRow([
        ["Water heater inventory"],
        [],
        ["Prepared by the office", "", "2026-11-25"],
        ["Property", "Unit", "Type", "Install date"],
        ["Alder Court", "101", "Gas tank", "2014"],
      ]),
    ).toBe(3);
  });

  test("takes the first row of two cells where no heading is known, and none where nothing is", () => {
    expect(findHeaderRow([["x"], ["Foo", "Bar"], ["1", "2"]])).toBe(1);
    expect(findHeaderRow([[], ["", " "]])).toBeNull();
  });
});

describe("a mapping made by hand", () => {
  const headers = ["Ref", "Kind (see key)", "Put in"];
  const mapping = {
    matches: [
      { field: "tag", unit: null, dateOrder: null, fillDown: false },
      null,
      { field: "installDate", unit: null, dateOrder: "dmy", fillDown: false },
    ],
    constants: { property: "Alder Court" },
  } as const;

  test("is found again under the same headings, whatever their order, case and signs", () => {
    expect(headerSignature(headers)).toBe(headerSignature(["PUT IN", "ref.", "kind"]));
    expect(headerSignature(headers)).not.toBe(headerSignature([...headers, "More"]));
  });

  test("overrides every guess", () => {
    const remembered = rememberMapping(headers, mapping);
    const moved = ["Put in", "Ref", "Kind"];

    const guesses = guessColumns(moved, [], { todayYear: 2026, remembered });

    expect(recallMapping(moved, remembered).matches.map((match) => match?.field ?? null)).toEqual([
      "installDate",
      "tag",
      null,
    ]);
    expect(mappingOfGuesses(guesses, remembered).constants).toEqual({ property: "Alder Court" });
    expect(guesses[0]?.match?.dateOrder).toBe("dmy");
    expect(guesses[2]?.match).toBeNull();
  });

  test("is not fooled by headings that are names of object properties", () => {
    const odd = ["constructor", "__proto__", "toString"];

    const remembered = rememberMapping(odd, { matches: [null, null, null], constants: {} });

    expect(recallMapping(odd, remembered).matches).toEqual([null, null, null]);
    expect(isHeaterField("constructor")).toBe(false);
  });

  test("is refused when two columns are the same field, or when no tag can come of it", () => {
    const twice = [mapping.matches[0], mapping.matches[0]];

    expect(checkMapping({ matches: twice, constants: {} }, 2026)).toMatchObject({
      ok: false,
      problems: [{ message: "columns 1 and 2 are both matched to Tag; leave one out" }],
    });
    expect(checkMapping({ matches: [null], constants: {} }, 2026).ok).toBe(false);
    expect(checkMapping(mapping, 2026).ok).toBe(true);
  });
});

test("the page of documentation lists every column by its label", async () => {
  const page = await readFile("docs/formats/heater-import.md", "utf8");

  for (const field of HEATER_FIELDS) expect(page).toContain(`\n| ${heaterColumn(field).label} |`);
});
