import { describe, expect, test } from "vitest";
import { dayOfExcelSerial } from "@/lib/core/exchange/excel-serial";
import { dateOrderOfCell, decideDateOrder, parseDate } from "@/lib/core/exchange/parse-date";

const US = { order: "mdy", todayYear: 2026, uses1904: false } as const;
const read = (text: string, order: "mdy" | "dmy" = "mdy") => {
  const parsed = parseDate(text, { ...US, order });
  return typeof parsed === "string" ? parsed : `${parsed.earliest}..${parsed.latest}`;
};

describe("parseDate", () => {
  test.each([
    ["2014-03-05", "2014-03-05"],
    ["2014-3-5", "2014-03-05"],
    ["2014/03/05", "2014-03-05"],
    ["2014-03-05T00:00:00Z", "2014-03-05"],
    ["2014-03-05 00:00:00", "2014-03-05"],
    ["20140305", "2014-03-05"],
    ["3/5/2014", "2014-03-05"],
    ["03-05-14", "2014-03-05"],
    ["3/5/2014 12:00:00 AM", "2014-03-05"],
    ["Mar 5, 2014", "2014-03-05"],
    ["March 5th 2014", "2014-03-05"],
    ["5-Mar-14", "2014-03-05"],
    ["5 Sept 2014", "2014-09-05"],
    ["Wed, 5 Mar 2014", "2014-03-05"],
    ["2014 Mar 5", "2014-03-05"],
    ["41703", "2014-03-05"],
    ["41703.5", "2014-03-05"],
  ])("reads %s as the day %s", (text, day) => {
    expect(read(text)).toBe(`${day}..${day}`);
  });

  test.each([
    ["Mar 2014", "2014-03-01..2014-03-31"],
    ["Mar-14", "2014-03-01..2014-03-31"],
    ["Feb. '12", "2012-02-01..2012-02-29"],
    ["2014-03", "2014-03-01..2014-03-31"],
    ["3/2014", "2014-03-01..2014-03-31"],
    ["2014", "2014-01-01..2014-12-31"],
    ["'14", "2014-01-01..2014-12-31"],
    ["Q2 2014", "2014-04-01..2014-06-30"],
    ["2014 Q4", "2014-10-01..2014-12-31"],
    ["1990s", "1990-01-01..1999-12-31"],
    ["2012-2014", "2012-01-01..2014-12-31"],
    ["Mar 2012 to 2014", "2012-03-01..2014-12-31"],
    ["before 2010", "null..2009-12-31"],
    ["pre-2010", "null..2009-12-31"],
    ["after 2015", "2016-01-01..null"],
    ["since 2015", "2015-01-01..null"],
    ["~2014", "2013-01-01..2015-12-31"],
    ["2014?", "2013-01-01..2015-12-31"],
    ["approx. Feb 2014", "2014-01-01..2014-03-31"],
  ])("reads %s as the bracket %s and guesses no day", (text, bracket) => {
    expect(read(text)).toBe(bracket);
  });

  test("reads numbers day first where the column says so", () => {
    expect(read("3/5/2014", "dmy")).toBe("2014-05-03..2014-05-03");
    expect(read("25.3.2014", "dmy")).toBe("2014-03-25..2014-03-25");
  });

  test("puts a two-digit year more than ten years ahead into the last century", () => {
    expect(read("1/1/36")).toContain("2036");
    expect(read("1/1/37")).toContain("1937");
    expect(read("1/1/99")).toContain("1999");
  });

  test.each([
    ["2/30/2014", "is not a day that exists"],
    ["2015-02-29", "is not a day that exists"],
    ["25/3/2014", "is not a day that exists"],
    ["13/2014", "is not a month that exists"],
    ["2014-2012", "ends before it begins"],
    ["soon", "is not a date"],
    ["2014 or so, ask Bob", "is not a date"],
    ["0", "is not a date"],
    ["5 Foo 2014", "is not a date"],
  ])("refuses %s because it %s", (text, reason) => {
    expect(read(text)).toBe(reason);
  });
});

describe("dayOfExcelSerial", () => {
  // Ecma International, ECMA-376 Part 3 (primer), "Date Representation": DATEVALUE of these days.
  test.each([
    [false, 1, "1900-01-01"],
    [false, 3687, "1910-02-03"],
    [false, 38749, "2006-02-01"],
    [false, 2958465, "9999-12-31"],
    [true, 0, "1904-01-01"],
    [true, 2225, "1910-02-03"],
    [true, 37287, "2006-02-01"],
    [true, 2957003, "9999-12-31"],
  ])("with 1904 base %s gives serial %i its published day %s", (uses1904, serial, day) => {
    expect(dayOfExcelSerial(serial, uses1904)).toBe(day);
  });

  test("names no day for the 29 February 1900 that never was, nor beyond the calendar's ends", () => {
    expect(dayOfExcelSerial(59, false)).toBe("1900-02-28");
    expect(dayOfExcelSerial(60, false)).toBeNull();
    expect(dayOfExcelSerial(61, false)).toBe("1900-03-01");
    expect(dayOfExcelSerial(0, false)).toBeNull();
    expect(dayOfExcelSerial(-1, true)).toBeNull();
    expect(dayOfExcelSerial(2_958_466, false)).toBeNull();
  });
});

describe("the order of day and month of a column", () => {
  const evidence = (cells: readonly string[]) => {
    const counts = { mdyOnly: 0, dmyOnly: 0, either: 0, pointed: 0 };
    for (const cell of cells) {
      const says = dateOrderOfCell(cell);
      if (says) counts[says] += 1;
    }
    return counts;
  };

  test("is told by the cells that can be read only one way, and the decision is said", () => {
    const decision = decideDateOrder(evidence(["3/4/2014", "25/3/2014", "5/6/15"]));

    expect(decision.order).toBe("dmy");
    expect(decision.statement).toBe(
      "2 cells could be read either way; read as day/month/year, as 1 other can only be",
    );
  });

  test("is month first by habit where no cell tells, day first where points part the numbers", () => {
    expect(decideDateOrder(evidence(["3/4/2014"])).order).toBe("mdy");
    expect(decideDateOrder(evidence(["3.4.2014"])).order).toBe("dmy");
    expect(decideDateOrder(evidence(["3/4/2014"])).statement).toContain("by habit");
  });

  test("follows the majority where cells disagree, and counts the rest", () => {
    const decision = decideDateOrder(evidence(["3/25/2014", "4/25/2014", "25/3/2014"]));

    expect(decision.order).toBe("mdy");
    expect(decision.statement).toContain("1 demand the other order");
  });

  test("needs no word where nothing is open: ISO dates, or the same number twice", () => {
    expect(decideDateOrder(evidence(["2014-03-04", "4/4/2014"])).statement).toBeNull();
  });
});
