import { mkdtemp, readdir, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import type { HeaterRow } from "@/lib/core/exchange/read-heater-row";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { readHeaterRows, surveyTable } from "@/lib/services/import/read-heater-file";
import { openTable, type TableOptions } from "@/lib/services/import/read-table";
import { dateStyleOfFormat } from "@/lib/services/import/read-xlsx";
import { TABLE_LIMITS, TableError, type TableLimits } from "@/lib/services/import/table-limits";
import { spoolUpload, type TableSource } from "@/lib/services/import/table-source";
import { writeXlsx, writeZip, type XlsxCell, xlsxParts } from "@/test/support/write-xlsx";

const TODAY = "2026-11-25" as CalendarDay;
const fixture = (name: string): TableSource => ({ path: join("test/fixtures/import", name) });
const text = (content: string, encoding: BufferEncoding = "utf8"): TableSource => ({
  bytes: Buffer.from(content, encoding),
});

/** A table's headings and rows, or the sentence with which it is refused. */
async function read(source: TableSource, options: TableOptions = {}) {
  const opened = await openTable(source, options);
  if (!opened.ok) return { refusal: opened.problems[0]?.message };
  const rows: (readonly string[])[] = [];
  const rowNumbers: number[] = [];
  try {
    for await (const batch of opened.value.readRows()) {
      for (const { rowNumber, cells } of batch) {
        rows.push(cells);
        rowNumbers.push(rowNumber);
      }
    }
  } catch (error) {
    if (error instanceof TableError) return { refusal: error.message };
    throw error;
  } finally {
    opened.value.close();
  }
  const { readRows: _readRows, close: _close, ...table } = opened.value;
  return { ...table, rows, rowNumbers };
}

/** Heaters of a file under the guessed mapping. */
async function readHeaters(source: TableSource): Promise<readonly HeaterRow[]> {
  const opened = await openTable(source);
  if (!opened.ok) throw new Error(opened.problems[0]?.message);
  const survey = await surveyTable(opened.value, { today: TODAY });
  if (!survey.ok) throw new Error(survey.problems[0]?.message);
  const mapping = mappingOfGuesses(survey.value.guesses);
  const rows = readHeaterRows(opened.value, mapping, { today: TODAY });
  if (!rows.ok) throw new Error(rows.problems[0]?.message);
  const heaters: HeaterRow[] = [];
  for await (const batch of rows.value) heaters.push(...batch);
  opened.value.close();
  return heaters;
}

const sheet = (...rows: XlsxCell[][]): TableSource => ({
  bytes: writeXlsx({ sheets: [{ name: "Heaters", rows }] }),
});

describe("CSV", () => {
  test("of an invented register becomes records", async () => {
    const heaters = await readHeaters(fixture("register.csv"));

    expect(heaters.flatMap(({ problems }) => problems)).toEqual([]);
    expect(heaters.map(({ record }) => record?.tag)).toEqual([
      "AC-A-101",
      "AC-A-102",
      "AC-A-201",
      "AC-A-202",
    ]);
    expect(heaters[1]?.record).toMatchObject({
      installEarliest: "2014-03-01",
      installLatest: "2014-03-31",
      inputBtuPerHour: 40_000,
      notes: "Replaced after a leak, pan added",
    });
    expect(heaters[2]?.record).toMatchObject({
      technology: "electric-storage",
      inputWatts: 4500,
      place: "exterior-closet",
      drainPan: null,
    });
    expect(heaters[2]?.record?.setpointF).toBeCloseTo(120.2, 8);
    expect(heaters[3]?.record).toMatchObject({
      technology: "heat-pump-storage",
      notes: 'Says "HP" on the door',
    });
  });

  test("of faults names each row with its reason", async () => {
    const heaters = await readHeaters(fixture("faults.csv"));

    expect(heaters.every(({ record }) => record === null)).toBe(true);
    expect(heaters.flatMap(({ problems }) => problems.map(({ message }) => message))).toEqual([
      "row 2: install date 2035-02-01 is in the future",
      'row 3: install date "2/30/2014" is not a day that exists as month/day/year, the order of this column',
      "row 4: fuel electricity contradicts a type that is gas fired",
      "row 5: volume 4000 gal is more than a heater of one home holds (200 gal); say in homes served how many it serves",
      "row 6: input 40 Btu/h is outside 5000 to 400000 Btu/h; if it is in thousands, name the unit in the heading or choose it in the matching",
      'row 7: tag "F-1" is already that of row 2',
      "row 8: property is missing",
      "row 9: tag is missing, and property, building and unit to make one from are not all given",
      "row 10: UEF 3.5 contradicts the type: a heat pump has more than 1, all others at most 1",
      'row 11: type "Cauldron" is not one of: gas, electric or heat pump, tank or tankless',
      "row 12: has a value in column 10, beyond the 9 headings; a value may hold a separator without quotes around it",
      "row 12: input 40 Btu/h is outside 5000 to 400000 Btu/h; if it is in thousands, name the unit in the heading or choose it in the matching",
      "row 13: volume holds the spreadsheet error #REF!",
      'row 13: input "forty" is not a number',
      "row 13: install date 1924-01-01 is before 1940",
    ]);
  });

  test("with titles, semicolons, decimal commas and an old encoding is read as it was meant", async () => {
    const table = await read(fixture("windows-1252-semicolon.csv"));
    const heaters = await readHeaters(fixture("windows-1252-semicolon.csv"));

    expect(table).toMatchObject({
      headerRowNumber: 4,
      dialect: { encoding: "windows-1252", delimiter: ";" },
      headers: ["Property", "Unit", "Type", "Install date", "Volume (L)"],
      rowNumbers: [5, 6],
    });
    expect(heaters[0]?.record).toMatchObject({
      property: "Musterhof Süd",
      building: "Musterhof Süd",
      tag: "Musterhof Süd/12",
      installEarliest: "2014-03-25",
    });
    expect(heaters[0]?.record?.volumeGal).toBeCloseTo(151.4 / 3.785411784, 10);
    expect(heaters[1]?.record?.installEarliest).toBe("2016-05-04");
  });

  test.each(["utf16le", "utf16be", "no mark"])("in UTF-16 is read (%s)", async (kind) => {
    const bytes = Buffer.from(await readFile("test/fixtures/import/utf-16le-tabs.txt"));
    if (kind === "utf16be") bytes.swap16();

    const table = await read({ bytes: kind === "no mark" ? bytes.subarray(2) : bytes });

    expect(table).toMatchObject({
      dialect: { delimiter: "\t" },
      headers: ["Tag", "Property", "Building", "Type", "Volume"],
      rows: [["T-1", "Cité Verte", "B1", "Gas tank", "40"]],
    });
  });

  // WHATWG Encoding Standard, index windows-1252: 0x80 is U+20AC, 0x92 is U+2019, 0xE9 is U+00E9.
  test("in windows-1252 keeps curly apostrophes, the euro and accents", async () => {
    const bytes = Buffer.from("Tag,Notes\nT-1,x\n");
    bytes.writeUInt8(0x92, bytes.indexOf("x"));

    expect(await read({ bytes })).toMatchObject({ rows: [["T-1", "\u2019"]] });
    expect(
      await read({ bytes: Buffer.from([...Buffer.from("Tag,N\nT,"), 0x80, 0xe9]) }),
    ).toMatchObject({ rows: [["T", "€é"]] });
  });

  test("that mixes two encodings is refused, as names would be garbled", async () => {
    const bytes = Buffer.concat([
      Buffer.from("Tag,Notes\nT-1,été à Besançon\n"),
      Buffer.from("T-2,\xe9t\xe9", "latin1"),
    ]);

    expect(await read({ bytes })).toEqual({
      refusal:
        "the file mixes two character encodings, so that names would be garbled; save it as CSV UTF-8 and bring that in",
    });
  });

  test.each([",", ";", "\t", "|"])("is parted by %j", async (delimiter) => {
    const table = await read(
      text(
        ["Tag", "Property", "Type"]
          .join(delimiter)
          .concat("\n", ["T,1", "A", "Gas"].map((cell) => `"${cell}"`).join(delimiter)),
      ),
    );

    expect(table).toMatchObject({ rows: [["T,1", "A", "Gas"]] });
  });

  test("counts a value with line breaks as one row, as spreadsheet programs do", async () => {
    const table = await read(text('Tag,Notes\r\nT-1,"a\r\nb"\r\n\r\nT-2,c\r\n'));

    expect(table).toMatchObject({ rowNumbers: [2, 3, 4] });
  });

  test("with an unclosed quote names the row", async () => {
    expect(await read(fixture("unclosed-quote.csv"))).toEqual({
      refusal: "row 3: a quote is never closed",
    });
  });

  test("takes the row of headings that a person names", async () => {
    const source = text("Tag,Type\nTag,Fuel\nT-1,Gas\n");

    expect(await read(source, { headerRowNumber: 2 })).toMatchObject({
      headers: ["Tag", "Fuel"],
      rows: [["T-1", "Gas"]],
    });
    expect(await read(source, { headerRowNumber: 9 })).toEqual({
      refusal: "row 9 has no cells to be headings",
    });
  });
});

describe("XLSX", () => {
  test("gives every kind of cell as text", async () => {
    const table = await read(
      sheet(
        ["Tag", "Property", "Type", "A", "B", "C", "D", "E", "F", "G"],
        [
          1001,
          { inline: "Alder <&> Court" },
          "Gas",
          true,
          0.1 + 0.2,
          { formula: "A2", result: "seen" },
          { error: "#REF!" },
          { serial: 41703, format: "m/d/yyyy" },
          { serial: 41699, format: "mmm-yy" },
          { serial: 41640, format: "yyyy" },
        ],
        ["T_x000D_", null, "", 1e21],
      ),
    );

    expect(table).toMatchObject({
      rows: [
        [
          "1001",
          "Alder <&> Court",
          "Gas",
          "yes",
          "0.3",
          "seen",
          "#REF!",
          "2014-03-05",
          "2014-03",
          "2014",
        ],
        ["T_x000D_", "", "", "1e+21"],
      ],
    });
  });

  test("keeps a month shown as a month from becoming a day", async () => {
    const [heater] = await readHeaters(
      sheet(
        ["Tag", "Property", "Type", "Install date"],
        ["T-1", "Alder Court", "Gas tank", { serial: 41699, format: "mmm yyyy" }],
      ),
    );

    expect(heater?.record).toMatchObject({
      installEarliest: "2014-03-01",
      installLatest: "2014-03-31",
    });
  });

  // ECMA-376 Part 3, "Date Representation": 2006-02-01 is 38749 in the 1900 and 37287 in the 1904 system.
  test.each([
    [false, 38749],
    [true, 37287],
  ])(
    "with 1904 base %s reads the serial %i as 2006-02-01, with and without a date format",
    async (uses1904, serial) => {
      const heaters = await readHeaters({
        bytes: writeXlsx({
          uses1904,
          sheets: [
            {
              name: "S",
              rows: [
                ["Tag", "Property", "Type", "Install date"],
                ["T-1", "Alder Court", "Gas tank", { serial, format: "dd\\.mm\\.yyyy" }],
                ["T-2", "Alder Court", "Gas tank", serial],
              ],
            },
          ],
        }),
      });

      expect(heaters.map(({ record }) => record?.installEarliest)).toEqual([
        "2006-02-01",
        "2006-02-01",
      ]);
    },
  );

  test.each([
    ["m/d/yyyy", "day"],
    ["[$-409]d-mmm-yy;@", "day"],
    ['yyyy"年"m"月"d"日"', "day"],
    ["mmm-yy", "month"],
    ["mmmm yyyy", "month"],
    ["yyyy", "year"],
    ["0.00", null],
    ["#,##0", null],
    ["General", null],
    ["h:mm AM/PM", null],
    ["[h]:mm", null],
    ['0 "days"', null],
    ["@", null],
  ] as const)("number format %s shows %s", (format, style) => {
    expect(dateStyleOfFormat(format)).toBe(style);
  });

  test("takes the first visible sheet with cells, or the one named, with its own row numbers", async () => {
    const bytes = writeXlsx({
      sheets: [
        {
          name: "Old",
          rows: [
            ["Tag", "Type"],
            ["H-1", "Gas"],
          ],
          isHidden: true,
        },
        { name: "Empty", rows: [] },
        {
          name: "Now",
          rows: [
            ["Tag", "Type"],
            ["T-1", "Gas"],
          ],
          rowNumbers: [3, 41],
        },
      ],
    });

    expect(await read({ bytes })).toMatchObject({
      sheetName: "Now",
      sheetNames: ["Old", "Empty", "Now"],
      headerRowNumber: 3,
      rowNumbers: [41],
    });
    expect(await read({ bytes }, { sheetName: "Old" })).toMatchObject({ rows: [["H-1", "Gas"]] });
    expect(await read({ bytes }, { sheetName: "None" })).toEqual({
      refusal: 'the workbook has no sheet named "None"',
    });
  });

  test("joins the runs of a rich text and leaves out its reading aid", async () => {
    const parts = xlsxParts({
      sheets: [
        {
          name: "S",
          rows: [
            ["Tag", "Type"],
            ["T-1", "Gas"],
          ],
        },
      ],
    });
    const strings = parts.get("xl/sharedStrings.xml") ?? "";
    parts.set(
      "xl/sharedStrings.xml",
      strings.replace(
        '<t xml:space="preserve">Gas</t>',
        '<r><t>Gas </t></r><r><t>tank</t></r><rPh sb="0" eb="1"><t>aid</t></rPh>',
      ),
    );

    expect(await read({ bytes: writeZip(parts) })).toMatchObject({ rows: [["T-1", "Gas tank"]] });
  });

  test("reads the same from a file as from memory, and twice over", async () => {
    const folder = await mkdtemp(join(tmpdir(), "table-"));
    const path = join(folder, "x.csv");
    const bytes = writeXlsx({
      sheets: [
        {
          name: "S",
          rows: [
            ["Tag", "Type"],
            ["T-1", "Gas"],
          ],
        },
      ],
    });
    const spooled = await spoolUpload(chunked(bytes), path);
    const opened = await openTable({ path });
    if (!opened.ok) throw new Error("not opened");
    const seen: string[] = [];
    for (let pass = 0; pass < 2; pass += 1) {
      for await (const rows of opened.value.readRows())
        seen.push(...rows.map(({ cells }) => cells.join()));
    }
    opened.value.close();
    await rm(folder, { recursive: true });

    expect(spooled).toMatchObject({ ok: true, value: { byteCount: bytes.length } });
    expect(seen).toEqual(["T-1,Gas", "T-1,Gas"]);
  });
});

describe("a file that is no table is refused with what to do", () => {
  test.each([
    ["an old workbook, or one with a password", Buffer.from("d0cf11e0a1b11ae1", "hex"), ".xls"],
    ["a PDF", Buffer.from("%PDF-1.7"), "PDF"],
    ["a picture", Buffer.from("89504e470d0a1a0a", "hex"), "picture"],
    ["a web page", Buffer.from("<html><table><tr><td>Tag</td></tr></table>"), "web page"],
    ["XML", Buffer.from('<?xml version="1.0"?><Workbook/>'), "web page or XML"],
    ["JSON", Buffer.from('[{"tag":"T-1"}]'), "JSON"],
    ["bytes", Buffer.from("00ff00fe01020300", "hex"), "not text"],
    ["nothing", Buffer.alloc(0), "empty"],
    ["blank lines", Buffer.from("\n\n  \n"), "no rows"],
    ["a ZIP archive", writeZip(new Map([["a.txt", "x"]])), "ZIP archive but not a workbook"],
    [
      "half a workbook",
      writeXlsx({ sheets: [{ name: "S", rows: [["Tag"]] }] }).subarray(0, 900),
      "damaged",
    ],
    ["a workbook without cells", writeXlsx({ sheets: [{ name: "S", rows: [] }] }), "empty"],
  ])("%s", async (_name, bytes, words) => {
    const result = await read({ bytes });

    expect(result.refusal).toContain(words);
  });
});

describe("an attack is refused in bounded memory", () => {
  const limits = (change: Partial<TableLimits>): TableOptions => ({
    limits: { ...TABLE_LIMITS, ...change },
  });
  const good = () =>
    xlsxParts({
      sheets: [
        {
          name: "S",
          rows: [
            ["Tag", "Type"],
            ["T-1", "Gas"],
          ],
        },
      ],
    });
  const spoiled = (part: string, change: (xml: string) => string) => {
    const parts = good();
    parts.set(part, change(parts.get(part) ?? ""));
    return { bytes: writeZip(parts) };
  };
  const SHEET = "xl/worksheets/sheet1.xml";

  test("a workbook that unpacks to far more than it weighs", async () => {
    const bomb = spoiled(SHEET, (xml) =>
      xml.replace("</sheetData>", `</sheetData>${" ".repeat(20_000_000)}`),
    );

    expect(bomb.bytes.length).toBeLessThan(200_000);
    expect((await read(bomb, limits({ unpackedBytes: 10_000_000 }))).refusal).toContain(
      "unpacks to more than 10 MB",
    );
  });

  test("a workbook that lies about the size it unpacks to", async () => {
    const { bytes } = spoiled(SHEET, (xml) => xml.replace("<row", `${" ".repeat(300_000)}<row`));
    const central = bytes.lastIndexOf(Buffer.from("xl/worksheets/sheet1.xml"));
    bytes.writeUInt32LE(1000, central - 46 + 24);

    expect((await read({ bytes })).refusal).toContain("damaged");
  });

  test("entities that multiply, and entities that fetch", async () => {
    const laughs = `<!DOCTYPE sst [<!ENTITY a "ha">${Array.from({ length: 9 }, (_unused, index) => `<!ENTITY ${"bcdefghij"[index]} "${`&${"abcdefghi"[index]};`.repeat(10)}">`).join("")}]>`;
    for (const doctype of [laughs, '<!DOCTYPE sst [<!ENTITY x SYSTEM "file:///etc/hostname">]>']) {
      const source = spoiled("xl/sharedStrings.xml", (xml) =>
        xml.replace("<sst", `${doctype}<sst`).replace("Gas", "&j;"),
      );

      expect((await read(source)).refusal).toContain("declares a document type");
    }
    expect(
      (await read(spoiled("xl/sharedStrings.xml", (xml) => xml.replace("Gas", "&j;")))).refusal,
    ).toContain("damaged");
  });

  test("elements nested without end, and a tag or text without end", async () => {
    const nested = spoiled(SHEET, (xml) => xml.replace("<row", `${"<a>".repeat(100_000)}<row`));
    const attribute = spoiled(SHEET, (xml) =>
      xml.replace("<row", `<row a="${"x".repeat(3_000_000)}"`),
    );
    const comment = spoiled(SHEET, (xml) =>
      xml.replace("<row", `<!--${"x".repeat(3_000_000)}--><row`),
    );

    for (const source of [nested, attribute, comment]) {
      expect((await read(source)).refusal).toContain("damaged");
    }
  });

  test("a million columns, in either format", async () => {
    const csv = text(`Tag,Type\n${",".repeat(1_000_000)}`);
    const csvWithin = text(`Tag,Type\n${",".repeat(1000)}`);
    const wide = sheet(
      ["Tag", "Type"],
      Array.from({ length: 501 }, () => "x"),
    );
    const beyond = spoiled(SHEET, (xml) => xml.replace('r="A2"', 'r="ZZZZZZ2"'));

    expect((await read(csv)).refusal).toMatch(/^row 2: .*more than 256000 characters/);
    expect((await read(csvWithin)).refusal).toContain("row 2 has more than 500 columns");
    expect((await read(wide)).refusal).toContain("row 2 has more than 500 columns");
    expect((await read(beyond)).refusal).toContain("damaged");
  });

  test("too many rows, too long a cell, too much different text", async () => {
    const rows = Array.from({ length: 50 }, (_unused, index) => [`T-${index}`, "Gas"]);
    const csv = text(`Tag,Type\n${rows.map((row) => row.join()).join("\n")}`);
    const few = limits({ rows: 20 });
    const long = "x".repeat(TABLE_LIMITS.cellLength + 1);

    expect((await read(csv, few)).refusal).toContain("more than 20 rows");
    expect((await read(sheet(["Tag", "Type"], ...rows), few)).refusal).toContain(
      "more than 20 rows",
    );
    expect((await read(text(`Tag,Type\nT-1,${long}`))).refusal).toBe(
      "row 2, column 2: a cell has more than 8,000 characters",
    );
    expect((await read(sheet(["Tag", "Type"], ["T-1", long]))).refusal).toContain(
      "row 2, column 2",
    );
    expect(
      (await read(sheet(["Tag", "Type"], ...rows), limits({ sharedTextLength: 100 }))).refusal,
    ).toContain("more text than can be kept");
  });

  test("a text that is not in the workbook, and bytes that are no text", async () => {
    const missing = spoiled(SHEET, (xml) => xml.replace("<v>3</v>", "<v>99</v>"));
    const parts = new Map<string, string | Uint8Array>(good());
    parts.set(SHEET, Buffer.from([0x3c, 0x61, 0xff, 0xfe, 0x3e]));

    expect((await read(missing)).refusal).toContain("damaged");
    expect((await read({ bytes: writeZip(parts) })).refusal).toContain("damaged");
  });

  test("a file that is too large, known before it is read", async () => {
    const source = text("Tag,Type\nT-1,Gas");

    expect((await read(source, limits({ fileBytes: 10 }))).refusal).toContain("larger than");
  });
});

describe("spoolUpload", () => {
  let folder = "";
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), "spool-"));
  });
  afterAll(async () => {
    await rm(folder, { recursive: true });
  });

  test("stops an endless upload at the limit and keeps nothing of it", async () => {
    let sent = 0;
    async function* endless() {
      for (;;) {
        sent += 65_536;
        yield Buffer.alloc(65_536);
      }
    }

    const spooled = await spoolUpload(endless(), join(folder, "endless"), { fileBytes: 1_000_000 });

    expect(spooled).toMatchObject({ ok: false, problems: [{ path: "file" }] });
    expect(sent).toBeLessThan(1_200_000);
    expect(await readdir(folder)).toEqual([]);
  });

  test("keeps nothing of an upload that breaks off", async () => {
    async function* broken() {
      yield Buffer.from("Tag");
      throw new Error("connection lost");
    }

    await expect(spoolUpload(broken(), join(folder, "broken"))).rejects.toThrow("connection lost");
    expect(await readdir(folder)).toEqual([]);
  });

  test("never writes over a file that is there", async () => {
    const path = join(folder, "once");
    await spoolUpload(chunked(Buffer.from("first")), path);

    await expect(spoolUpload(chunked(Buffer.from("second")), path)).rejects.toThrow();
    expect(await readFile(path, "utf8")).toBe("first");
  });
});

async function* chunked(bytes: Buffer) {
  for (let at = 0; at < bytes.length; at += 1000) yield bytes.subarray(at, at + 1000);
}
