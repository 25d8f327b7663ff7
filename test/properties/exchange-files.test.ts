import { parse } from "csv-parse/sync";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type CsvCell, csvFile, csvLine, neutraliseFormula } from "@/lib/core/exchange/csv";
import { mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import { HEATER_CSV_HEADING, heaterCsvCells } from "@/lib/core/exchange/heater-csv";
import type { HeaterRecord } from "@/lib/core/exchange/heater-record";
import { CsvParser } from "@/lib/core/exchange/parse-csv";
import type { HeaterRow } from "@/lib/core/exchange/read-heater-row";
import {
  INSTALL_EVIDENCE,
  isCombustion,
  isHeatPump,
  PLACES,
  RETIREMENT_CAUSES,
  TECHNOLOGIES,
} from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, dayNumber, dayOfNumber } from "@/lib/core/shared/calendar-day";
import { readHeaterRows, surveyTable } from "@/lib/services/import/read-heater-file";
import { openTable, type TableOptions } from "@/lib/services/import/read-table";
import { TABLE_LIMITS, TableError } from "@/lib/services/import/table-limits";
import type { TableSource } from "@/lib/services/import/table-source";
import { writeXlsx, writeZip, type XlsxCell, xlsxParts } from "@/test/support/write-xlsx";

const TODAY = "2026-11-25" as CalendarDay;
const day = fc
  .integer({ min: dayNumber("1990-01-01" as CalendarDay), max: dayNumber(TODAY) })
  .map(dayOfNumber);
/** Text as a record keeps it: no control characters, single spaces, not a word for "not known". */
const kept = (maxLength: number) =>
  fc
    .string({ unit: fc.constantFrom(..."abcXYZ019 =+-@'\",;#&<>ü日"), minLength: 1, maxLength })
    .map((text) => text.replace(/\s+/g, " ").trim())
    .filter((text) => /[a-zX-Z019ü日]/.test(text));
const maybe = <T>(arbitrary: fc.Arbitrary<T>) => fc.option(arbitrary, { nil: null });
const answer = maybe(fc.constantFrom("yes" as const, "no" as const));
const decimal = (min: number, max: number) => fc.double({ min, max, noNaN: true });

/** Records that a row can give: consistent in themselves, everything else left to chance. */
const record: fc.Arbitrary<HeaterRecord> = fc
  .record({
    property: kept(30),
    building: kept(20),
    unit: maybe(kept(10)),
    floor: maybe(fc.integer({ min: -3, max: 60 })),
    riser: maybe(kept(5)),
    bedrooms: maybe(fc.integer({ min: 0, max: 6 })),
    bathrooms: maybe(fc.constantFrom(1, 1.5, 2, 2.5)),
    occupants: maybe(fc.integer({ min: 0, max: 9 })),
    homesServed: maybe(fc.integer({ min: 1, max: 100 })),
    technology: fc.constantFrom(...TECHNOLOGIES),
    burnerFuel: fc.constantFrom("natural-gas" as const, "propane" as const, "fuel-oil" as const),
    install: fc.tuple(maybe(day), maybe(day)),
    installEvidence: maybe(fc.constantFrom(...INSTALL_EVIDENCE)),
    manufacturer: maybe(kept(20)),
    model: maybe(kept(20)),
    serial: maybe(kept(20)),
    volumeGal: maybe(decimal(6, 199)),
    power: maybe(decimal(0.1, 1)),
    uniformEnergyFactor: maybe(decimal(0.1, 0.9)),
    firstHourGal: maybe(decimal(1, 300)),
    place: maybe(fc.constantFrom(...PLACES)),
    answers: fc.tuple(answer, answer, answer, answer, answer, answer, answer),
    setpointF: maybe(decimal(100, 160)),
    warrantyYears: maybe(fc.constantFrom(0, 6, 9, 12)),
    hardnessMgPerLitre: maybe(decimal(0, 500)),
    flush: maybe(fc.integer({ min: 0, max: 100 })),
    retirement: maybe(fc.tuple(fc.integer({ min: 0, max: 50 }), fc.boolean())),
    retirementCause: fc.constantFrom(...RETIREMENT_CAUSES),
    notes: maybe(kept(60)),
  })
  .map((made): HeaterRecord => {
    const [first, second] = made.install;
    const ordered =
      first !== null && second !== null && first > second ? [second, first] : [first, second];
    const [installEarliest, installLatest] = ordered as [CalendarDay | null, CalendarDay | null];
    const burns = isCombustion(made.technology);
    const isTankless = made.technology.endsWith("instantaneous");
    const lastCare = installLatest ?? installEarliest ?? TODAY;
    const care =
      made.flush === null
        ? null
        : dayOfNumber(Math.min(dayNumber(lastCare) + made.flush, dayNumber(TODAY)));
    const retiredLatest = made.retirement && dayOfNumber(dayNumber(lastCare));
    const efficiency = made.uniformEnergyFactor;
    const [
      overFinishedSpace,
      drainPan,
      leakShutoff,
      closedSystem,
      expansionControl,
      mixingValve,
      softened,
    ] = made.answers;
    return {
      tag: "",
      property: made.property,
      building: made.building,
      unit: made.unit,
      floor: made.floor,
      riser: made.riser,
      bedrooms: made.bedrooms,
      bathrooms: made.bathrooms,
      occupants: made.occupants,
      homesServed: made.homesServed,
      technology: made.technology,
      fuel: burns ? made.burnerFuel : "electricity",
      installEarliest,
      installLatest,
      installEvidence: made.installEvidence,
      manufacturer: made.manufacturer,
      model: made.model,
      serial: made.serial,
      volumeGal: isTankless ? null : made.volumeGal,
      inputBtuPerHour: burns && made.power ? made.power * 100_000 : null,
      inputWatts: !burns && made.power ? made.power * 10_000 : null,
      uniformEnergyFactor:
        efficiency && (isHeatPump(made.technology) ? efficiency + 2 : Math.max(0.2, efficiency)),
      firstHourGal: made.firstHourGal,
      place: made.place,
      overFinishedSpace,
      drainPan,
      leakShutoff,
      closedSystem,
      expansionControl,
      mixingValve,
      softened,
      setpointF: made.setpointF,
      warrantyYears: made.warrantyYears,
      hardnessMgPerLitre: made.hardnessMgPerLitre,
      lastFlush: care,
      lastAnodeReplacement: care,
      status: made.retirement ? "retired" : null,
      retiredEarliest: made.retirement?.[1] ? retiredLatest : retiredLatest && installEarliest,
      retiredLatest,
      retirementCause: made.retirement ? made.retirementCause : null,
      notes: made.notes,
    };
  });
/** Tags are their row's own, and as tricky as other texts. */
const records = fc
  .array(fc.tuple(record, kept(10)), { minLength: 1, maxLength: 5 })
  .map((rows) => rows.map(([made, tag], index) => ({ ...made, tag: `${tag}${index}` })));

const inSheet = (cell: CsvCell): XlsxCell =>
  typeof cell === "string" ? neutraliseFormula(cell) : cell;

async function readHeaters(
  source: TableSource,
  options: TableOptions = {},
): Promise<readonly HeaterRow[]> {
  const opened = await openTable(source, options);
  if (!opened.ok) throw new TableError(opened.problems[0]?.message ?? "");
  try {
    const survey = await surveyTable(opened.value, { today: TODAY });
    if (!survey.ok) throw new TableError(survey.problems[0]?.message ?? "");
    const rows = readHeaterRows(opened.value, mappingOfGuesses(survey.value.guesses), {
      today: TODAY,
    });
    if (!rows.ok) throw new TableError(rows.problems[0]?.message ?? "");
    const heaters: HeaterRow[] = [];
    for await (const batch of rows.value) heaters.push(...batch);
    return heaters;
  } finally {
    opened.value.close();
  }
}

describe("heaters that go out and come in again are the same", () => {
  test("as CSV", async () => {
    await fc.assert(
      fc.asyncProperty(records, async (heaters) => {
        const file = [...csvFile(HEATER_CSV_HEADING, heaters.map(heaterCsvCells))].join("");
        const read = await readHeaters({ bytes: Buffer.from(file) });

        expect(read.flatMap(({ problems }) => problems)).toEqual([]);
        expect(read.map((row) => row.record)).toEqual(heaters);
      }),
      { numRuns: 120 },
    );
  });

  // The CSV opened in a spreadsheet program and saved as a workbook keeps the apostrophes.
  test("as XLSX, saved from that CSV", async () => {
    await fc.assert(
      fc.asyncProperty(records, async (heaters) => {
        const rows: XlsxCell[][] = [
          [...HEATER_CSV_HEADING],
          ...heaters.map((heater) => heaterCsvCells(heater).map(inSheet)),
        ];
        const read = await readHeaters({
          bytes: writeXlsx({ sheets: [{ name: "Heaters", rows }] }),
        });
        // A workbook shows fifteen digits, and so much is kept of it.
        const shown = (made: HeaterRecord) =>
          JSON.parse(
            JSON.stringify(made, (_key, value) =>
              typeof value === "number" ? Number(value.toPrecision(15)) : value,
            ),
          );

        expect(read.flatMap(({ problems }) => problems)).toEqual([]);
        expect(read.map((row) => row.record)).toEqual(heaters.map(shown));
      }),
      { numRuns: 60 },
    );
  });
});

test("well-formed CSV is read as an independent parser reads it", () => {
  const cell = fc.string({ unit: fc.constantFrom(..."ab1 \",;\n\r'="), maxLength: 8 });
  fc.assert(
    fc.property(
      fc.array(fc.array(cell, { minLength: 1, maxLength: 5 }), { minLength: 1, maxLength: 6 }),
      (table) => {
        const text = table.map(csvLine).join("");
        const parser = new CsvParser({ delimiter: ",", newline: "\n", longestRecord: 10_000 });
        const independent: string[][] = parse(text, {
          relax_column_count: true,
          record_delimiter: "\r\n",
        });

        expect([...parser.push(text), ...parser.end()]).toEqual(independent);
      },
    ),
    { numRuns: 1000 },
  );
});

describe("whatever is sent is read or refused in a sentence", () => {
  const small: TableOptions = { limits: { ...TABLE_LIMITS, unpackedBytes: 5_000_000 } };
  const readOrRefuse = async (bytes: Uint8Array) => {
    try {
      await readHeaters({ bytes }, small);
    } catch (error) {
      if (!(error instanceof TableError)) throw error;
      expect(error.message.length).toBeGreaterThan(10);
    }
  };
  const register: XlsxCell[][] = [
    ["Tag", "Property", "Type", "Install date"],
    ["T-1", "Alder Court", "Gas tank", { serial: 41703, format: "m/d/yyyy" }],
    ["T-2", "Alder Court", "Electric tank", "Mar 2014"],
  ];

  test("bytes of any kind", async () => {
    await fc.assert(fc.asyncProperty(fc.uint8Array({ maxLength: 400 }), readOrRefuse), {
      numRuns: 500,
    });
  });

  test("a workbook with bytes changed", async () => {
    const good = writeXlsx({ sheets: [{ name: "S", rows: register }] });
    const changes = fc.array(fc.tuple(fc.nat(good.length - 1), fc.nat(255)), {
      minLength: 1,
      maxLength: 6,
    });
    await fc.assert(
      fc.asyncProperty(changes, async (edits) => {
        const bytes = Buffer.from(good);
        for (const [at, byte] of edits) bytes[at] = byte;
        await readOrRefuse(bytes);
      }),
      { numRuns: 120 },
    );
  });

  test("a workbook whose parts are cut, doubled or filled with rubbish", async () => {
    const parts = xlsxParts({ sheets: [{ name: "S", rows: register }] });
    const names = [...parts.keys()];
    const rubbish = fc.string({
      unit: fc.constantFrom(
        "<",
        ">",
        "/",
        "&",
        ";",
        '"',
        "c",
        "row",
        ' r="',
        "<v>",
        "</v>",
        "<c",
        "&#0;",
        "&#x41;",
        "]]>",
        "<![CDATA[",
        "9",
      ),
      maxLength: 10,
    });
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...names),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.nat(20),
        rubbish,
        async (name, at, cut, filling) => {
          const spoiled = new Map(parts);
          const xml = parts.get(name) ?? "";
          const place = Math.floor(at * xml.length);
          spoiled.set(name, xml.slice(0, place) + filling + xml.slice(place + cut));
          await readOrRefuse(writeZip(spoiled));
        },
      ),
      { numRuns: 120 },
    );
  });

  test("a table of any texts under known headings", async () => {
    const headings = fc.subarray(HEATER_CSV_HEADING as string[], { minLength: 3 });
    const cells = fc.array(
      fc.array(fc.string({ unit: "binary", maxLength: 12 }), { maxLength: 45 }),
      { maxLength: 5 },
    );
    await fc.assert(
      fc.asyncProperty(headings, cells, async (heading, rows) => {
        const file = [csvLine(heading), ...rows.map(csvLine)].join("");
        await readOrRefuse(Buffer.from(file));
      }),
      { numRuns: 120 },
    );
  });
});
