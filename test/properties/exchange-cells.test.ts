import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { csvLine, neutraliseFormula, restoreFormula } from "@/lib/core/exchange/csv";
import { HEATER_FIELDS, heaterColumn } from "@/lib/core/exchange/heater-columns";
import { CsvParser } from "@/lib/core/exchange/parse-csv";
import { parseDate } from "@/lib/core/exchange/parse-date";
import { parseMeasured, parseNumber } from "@/lib/core/exchange/parse-number";
import { createCellReader } from "@/lib/core/exchange/read-cell";
import { dayOfNumber, monthOf, yearOf } from "@/lib/core/shared/calendar-day";

/** Texts rich in the signs that part cells, begin formulas or end lines. */
const trickyText = fc.string({
  unit: fc.oneof(
    {
      weight: 3,
      arbitrary: fc.constantFrom('"', ",", ";", "\n", "\r", "\t", "'", "=", "+", "-", "@", " "),
    },
    { weight: 2, arbitrary: fc.constantFrom("a", "1", "ü", "\u{1F6BF}", "＝") },
    { weight: 1, arbitrary: fc.string({ minLength: 1, maxLength: 1, unit: "binary" }) },
  ),
  maxLength: 12,
});
const tables = fc.array(fc.array(trickyText, { minLength: 1, maxLength: 5 }), { maxLength: 6 });

function parseInPieces(text: string, cuts: readonly number[] = []): string[][] {
  const parser = new CsvParser({ delimiter: ",", newline: "\n", longestRecord: 10_000 });
  const records: string[][] = [];
  let from = 0;
  for (const cut of [...cuts]
    .map((share) => Math.floor(share * text.length))
    .sort((a, b) => a - b)) {
    records.push(...parser.push(text.slice(from, cut)));
    from = cut;
  }
  return [...records, ...parser.push(text.slice(from)), ...parser.end()];
}

describe("CSV", () => {
  test("what is written is read back, and no cell begins a formula", () => {
    fc.assert(
      fc.property(tables, (table) => {
        const written = table.map(csvLine).join("");
        const read = parseInPieces(written);

        expect(read.map((cells) => cells.map(restoreFormula))).toEqual(table);
        for (const cell of read.flat()) expect(cell).not.toMatch(/^[=+\-@\t\r\n＝＋－＠]/);
      }),
      { numRuns: 1000 },
    );
  });

  test("the pieces in which a text comes make no difference", () => {
    const cuts = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 5 });
    fc.assert(
      fc.property(tables, cuts, (table, shares) => {
        const written = table.map(csvLine).join("");

        expect(parseInPieces(written, shares)).toEqual(parseInPieces(written));
      }),
      { numRuns: 1000 },
    );
  });

  test("any text at all is read or refused by name, in whatever pieces", () => {
    fc.assert(
      fc.property(trickyText, fc.double({ min: 0, max: 1, noNaN: true }), (text, cut) => {
        const outcome = (cuts: readonly number[]) => {
          try {
            return parseInPieces(text, cuts);
          } catch (error) {
            return String(error);
          }
        };

        expect(outcome([cut])).toEqual(outcome([]));
      }),
      { numRuns: 2000 },
    );
  });

  test("neutralising twice is undone twice", () => {
    fc.assert(
      fc.property(trickyText, (text) => {
        const twice = neutraliseFormula(neutraliseFormula(text));

        expect(restoreFormula(restoreFormula(twice))).toBe(text);
      }),
    );
  });
});

const days = fc.integer({ min: -25_000, max: 40_000 }).map(dayOfNumber);
const US = { order: "mdy", todayYear: 2026, uses1904: false } as const;
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

describe("dates", () => {
  test("every way of writing a day is the same day", () => {
    fc.assert(
      fc.property(days, (day) => {
        const [year, month, date] = [yearOf(day), monthOf(day), Number(day.slice(8))];
        const name = MONTHS[month - 1];
        const forms: readonly (readonly [string, "mdy" | "dmy"])[] = [
          [day, "dmy"],
          [`${day}T08:30:00`, "mdy"],
          [`${month}/${date}/${year}`, "mdy"],
          [`${date}.${month}.${year}`, "dmy"],
          [`${date}-${name}-${year}`, "mdy"],
          [`${name} ${date}, ${year}`, "dmy"],
          [day.replaceAll("-", ""), "mdy"],
        ];
        for (const [text, order] of forms) {
          expect([text, parseDate(text, { ...US, order })]).toEqual([
            text,
            { earliest: day, latest: day },
          ]);
        }
      }),
    );
  });

  test("a month and a year hold each of their days", () => {
    fc.assert(
      fc.property(days, (day) => {
        const name = MONTHS[monthOf(day) - 1];
        for (const text of [
          day.slice(0, 7),
          `${name} ${yearOf(day)}`,
          `${yearOf(day)}`,
          `~${yearOf(day)}`,
        ]) {
          const bracket = parseDate(text, US);
          if (typeof bracket === "string") throw new Error(`${text} ${bracket}`);
          expect(bracket.earliest && bracket.earliest <= day).toBe(true);
          expect(bracket.latest && bracket.latest >= day).toBe(true);
        }
      }),
    );
  });

  test("any text is a bracket in order or a reason, never a crash", () => {
    const dateLike = fc.string({
      unit: fc.constantFrom(
        ..."0123456789/-.: ~?'<>",
        "Mar",
        "Q",
        "to",
        "before ",
        "about ",
        "s",
        "pre-",
      ),
      maxLength: 12,
    });
    fc.assert(
      fc.property(
        fc.oneof(dateLike, fc.string({ unit: "binary" })),
        fc.boolean(),
        (text, uses1904) => {
          const parsed = parseDate(text, { ...US, uses1904 });
          if (typeof parsed === "string") return;
          if (parsed.earliest && parsed.latest) expect(parsed.earliest <= parsed.latest).toBe(true);
        },
      ),
      { numRuns: 5000 },
    );
  });
});

describe("numbers", () => {
  test("a number as it is printed is the same number, grouped or not, with its unit or without", () => {
    fc.assert(
      fc.property(fc.double({ min: -1e12, max: 1e12, noNaN: true }), (value) => {
        expect(parseNumber(String(value))).toBe(value === 0 ? Number(String(value)) : value);
      }),
    );
    fc.assert(
      fc.property(fc.integer({ min: -1e9, max: 1e9 }), (value) => {
        expect(parseNumber(value.toLocaleString("en-US"))).toBe(value);
        expect(parseMeasured(`${value.toLocaleString("en-US")} gal`, "volume")).toEqual({
          value,
          unit: "gal",
        });
      }),
    );
  });
});

test("any text in any column is a value or a reason, never a crash, and the same when asked again", () => {
  const columns = fc.constantFrom(...HEATER_FIELDS);
  const units = fc.constantFrom("gal", "L", "kW", "C", null);
  fc.assert(
    fc.property(
      columns,
      units,
      fc.oneof(trickyText, fc.string({ unit: "binary" })),
      (field, unit, text) => {
        const read = createCellReader(heaterColumn(field), {
          unit,
          dateOrder: "mdy",
          todayYear: 2026,
          uses1904: false,
        });
        const first = read(text);

        expect(read(text)).toEqual(first);
        if ("value" in first && typeof first.value === "number")
          expect(first.value).toBeTypeOf("number");
        if ("problem" in first) expect(first.problem).toContain(heaterColumn(field).noun);
      },
    ),
    { numRuns: 5000 },
  );
});
