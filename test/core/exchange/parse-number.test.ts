import { describe, expect, test } from "vitest";
import { parseMeasured, parseNumber } from "@/lib/core/exchange/parse-number";
import { findUnit, UNIT_CODES, UNITS } from "@/lib/core/exchange/quantities";

describe("parseNumber", () => {
  test.each([
    ["40", 40],
    ["1,200", 1200],
    ["40,000", 40_000],
    ["1 200", 1200],
    ["1.200,5", 1200.5],
    ["1.200.300", 1_200_300],
    ["0,92", 0.92],
    ["0,920", 0.92],
    ["151,4", 151.4],
    [".58", 0.58],
    ["-1", -1],
    ["4.5e3", 4500],
  ])("reads %s as %d", (text, value) => {
    expect(parseNumber(text)).toBe(value);
  });

  test.each(["", "forty", "1,2,3", "4 5", "--4", "0x10", "1e999", "Infinity", "NaN"])(
    "takes %j for no number",
    (text) => {
      expect(parseNumber(text)).toBeNull();
    },
  );
});

describe("parseMeasured", () => {
  test.each([
    ["40 gal", "volume", 40, "gal"],
    ["40gal.", "volume", 40, "gal"],
    ["151 L", "volume", 151, "L"],
    ["40 U.S. gal", "volume", 40, "gal"],
    ["~40 gallons", "volume", 40, "gal"],
    ["40,000 BTU/hr", "power", 40_000, "Btu/h"],
    ["40K BTU", "power", 40_000, "Btu/h"],
    ["40k", "power", 40_000, null],
    ["40 MBH", "power", 40, "kBtu/h"],
    ["4.5 kW", "power", 4.5, "kW"],
    ["4500W", "power", 4500, "W"],
    ["120°F", "temperature", 120, "F"],
    ["49 °C", "temperature", 49, "C"],
    ["120°", "temperature", 120, null],
    ["7 gpg", "hardness", 7, "gpg"],
    ["120 ppm", "hardness", 120, "mg/L"],
    ["6 yrs", "duration", 6, "year"],
  ] as const)("reads %s", (text, quantity, value, unit) => {
    expect(parseMeasured(text, quantity)).toEqual({ value, unit });
  });

  test("says what it does not know instead of dropping it", () => {
    expect(parseMeasured("40 gal tall", "volume")).toContain('"gal tall"');
    expect(parseMeasured("40 kW", "volume")).toContain('"kW"');
    expect(parseMeasured("3 bed", null)).toContain('"bed"');
    expect(parseMeasured("big", "volume")).toBe("is not a number");
  });
});

describe("units", () => {
  // NIST SP 811, appendix B.8: 1 gal (US) = 3.785411784 L; 1 Btu_IT/h = 0.2930711 W.
  test("come to the record's units by the published factors", () => {
    expect(UNITS.L.toRecord(3.785411784)).toBeCloseTo(1, 12);
    expect(UNITS.W.toRecord(0.2930711)).toBeCloseTo(1, 6);
    expect(UNITS.kW.toRecord(4.5)).toBeCloseTo(4.5 / 0.0002930711, 0);
    expect(UNITS["kBtu/h"].toRecord(40)).toBe(40_000);
    expect(UNITS.C.toRecord(60)).toBe(140);
    expect(UNITS.gpg.toRecord(10)).toBeCloseTo(171.18, 2);
    expect(UNITS.month.toRecord(18)).toBe(1.5);
  });

  test("each word names one unit, whatever the case and points", () => {
    for (const code of UNIT_CODES) {
      for (const word of UNITS[code].words) {
        expect(findUnit(` ${word.toUpperCase()}. `, UNITS[code].quantity)).toBe(code);
      }
    }
  });
});
