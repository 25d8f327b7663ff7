import { describe, expect, test } from "vitest";
import { csvFile, csvLine, neutraliseFormula, restoreFormula } from "@/lib/core/exchange/csv";
import { CsvParser } from "@/lib/core/exchange/parse-csv";

const parse = (text: string, delimiter = ",", newline: "\n" | "\r" = "\n") => {
  const parser = new CsvParser({ delimiter, newline, longestRecord: 1000 });
  return [...parser.push(text), ...parser.end()];
};

describe("CsvParser", () => {
  // RFC 4180, section 2, the examples of rules 1 to 7.
  test.each([
    [
      "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
      [
        ["aaa", "bbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    [
      "aaa,bbb,ccc\r\nzzz,yyy,xxx",
      [
        ["aaa", "bbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    [
      '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
      [
        ["aaa", "bbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    [
      '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
      [
        ["aaa", "b\r\nbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    ['"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]],
  ])("reads the RFC's example %j", (text, records) => {
    expect(parse(text)).toEqual(records);
  });

  test("keeps empty cells and empty lines, so that rows are numbered as they are seen", () => {
    expect(parse("a,,\n\n,b")).toEqual([["a", "", ""], [""], ["", "b"]]);
    expect(parse("")).toEqual([]);
  });

  test("forgives what spreadsheet programs forgive", () => {
    expect(parse('40" tall,x')).toEqual([['40" tall', "x"]]);
    expect(parse('"a"b,c')).toEqual([["ab", "c"]]);
    expect(parse('a;"b;c"', ";")).toEqual([["a", "b;c"]]);
    expect(parse("a,b\rc,d", ",", "\r")).toEqual([
      ["a", "b"],
      ["c", "d"],
    ]);
  });

  test("names the record whose quote is never closed", () => {
    expect(() => parse('a\nb,"c\nd')).toThrowError(
      expect.objectContaining({ recordNumber: 2, message: "a quote is never closed" }),
    );
  });

  test("stops gathering at the longest record, with or without a quote", () => {
    const parser = () => new CsvParser({ delimiter: ",", newline: "\n", longestRecord: 10 });

    expect(() => parser().push("x".repeat(11))).toThrow(/more than 10 characters/);
    expect(() => parser().push(`"${"x\n".repeat(11)}`)).toThrow(/more than 10 characters/);
  });
});

describe("writing", () => {
  test("quotes what RFC 4180 says must be quoted", () => {
    expect(csvLine(["a", "b,c", 'd"e', "f\ng", 1.5, true, null, ""])).toBe(
      'a,"b,c","d""e","f\ng",1.5,true,,\r\n',
    );
  });

  // OWASP "CSV Injection", and ASVS 5 requirement 1.2.10: the signs that begin a formula.
  test.each([
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\u0000=1",
    "＝1+1",
    "=cmd|' /C calc'!A0",
  ])("%j is written as text that no spreadsheet program runs", (text) => {
    const safe = neutraliseFormula(text);

    expect(safe).toBe(`'${text}`);
    expect(restoreFormula(safe)).toBe(text);
    expect(csvLine([text])).toMatch(/^"?'/);
  });

  test("leaves numbers and harmless texts alone", () => {
    expect(csvLine([-5, "a-b", "'quoted'", "x=1"])).toBe("-5,a-b,'quoted',x=1\r\n");
    expect(restoreFormula("'tis")).toBe("'tis");
  });

  test("begins a file with the mark by which spreadsheet programs know UTF-8", () => {
    expect([...csvFile(["Maße"], [["ü"]])].join("")).toBe("\uFEFFMaße\r\nü\r\n");
  });
});
