import fc from "fast-check";
import { HEATER_FIELDS, heaterColumn } from "@/lib/core/exchange/heater-columns";
import { CsvParser, CsvSyntaxError } from "@/lib/core/exchange/parse-csv";
import { createCellReader } from "@/lib/core/exchange/read-cell";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { surveyTable } from "@/lib/services/import/read-heater-file";
import { openTable } from "@/lib/services/import/read-table";
import { writeXlsx } from "@/test/support/write-xlsx";

const TODAY = "2026-11-25" as CalendarDay;
const SEED = 20_261_125;

/** 100,000 hostile inputs for the parsers: every one is read or refused in words, none crashes or hangs. */
export async function run(): Promise<void> {
  const text = fc.oneof(
    fc.string({ unit: "binary", maxLength: 40 }),
    fc.string({
      unit: fc.constantFrom(...'0123456789/-.,:"\n\r\t;=+@ ', "Mar", "gal", "Btu", "°"),
      maxLength: 40,
    }),
  );
  measure("cells", 60_000, (runs) => {
    const readers = HEATER_FIELDS.map((field) =>
      createCellReader(heaterColumn(field), {
        unit: null,
        dateOrder: "mdy",
        todayYear: 2026,
        uses1904: false,
      }),
    );
    fc.assert(
      fc.property(text, fc.nat(readers.length - 1), (cell, reader) => {
        readers[reader]?.(cell);
      }),
      { numRuns: runs, seed: SEED },
    );
  });
  measure("csv texts", 35_000, (runs) => {
    fc.assert(
      fc.property(text, fc.nat(40), (csv, cut) => {
        const parser = new CsvParser({ delimiter: ",", newline: "\n", longestRecord: 100 });
        try {
          parser.push(csv.slice(0, cut));
          parser.push(csv.slice(cut));
          parser.end();
        } catch (error) {
          if (!(error instanceof CsvSyntaxError)) throw error;
        }
      }),
      { numRuns: runs, seed: SEED },
    );
  });
  const good = writeXlsx({
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
  const edits = fc.array(fc.tuple(fc.nat(good.length - 1), fc.nat(255)), {
    minLength: 1,
    maxLength: 5,
  });
  await measureAsync("whole files", 5000, async (runs) => {
    await fc.assert(
      fc.asyncProperty(
        fc.boolean(),
        edits,
        fc.uint8Array({ maxLength: 300 }),
        async (isWorkbook, changes, noise) => {
          const bytes = isWorkbook ? Buffer.from(good) : noise;
          if (isWorkbook) for (const [at, byte] of changes) bytes[at] = byte;
          const opened = await openTable({ bytes });
          if (!opened.ok) return;
          await surveyTable(opened.value, { today: TODAY });
          opened.value.close();
        },
      ),
      { numRuns: runs, seed: SEED },
    );
  });
}

function measure(label: string, runs: number, work: (runs: number) => void): void {
  const started = performance.now();
  work(runs);
  report(label, runs, performance.now() - started);
}

async function measureAsync(
  label: string,
  runs: number,
  work: (runs: number) => Promise<void>,
): Promise<void> {
  const started = performance.now();
  await work(runs);
  report(label, runs, performance.now() - started);
}

function report(label: string, runs: number, milliseconds: number): void {
  const perInput = (milliseconds / runs) * 1000;
  console.log(`import-fuzz ${label}: ${runs} inputs, 0 crashes, ${perInput.toFixed(0)} µs each`);
}
