import { mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { readHeaterRows, surveyTable } from "@/lib/services/import/read-heater-file";
import { openTable } from "@/lib/services/import/read-table";
import { writeXlsx } from "@/test/support/write-xlsx";

const TODAY = "2026-11-25" as CalendarDay;
const ROWS = 50_000;
const HEADINGS = [
  "Property",
  "Building",
  "Unit",
  "Floor",
  "Riser",
  "Bedrooms",
  "Baths",
  "Asset tag",
  "Type",
  "Fuel",
  "Install date",
  "Source of date",
  "Make",
  "Model",
  "Serial no",
  "Tank size",
  "Input",
  "UEF",
  "Location",
  "Pan",
];

/** Rows of an invented owner: twenty columns, dates in four forms, a few faults. */
function* rows(): Generator<string[]> {
  yield HEADINGS;
  for (let index = 0; index < ROWS; index += 1) {
    const gas = index % 3 !== 0;
    const month = 1 + (index % 12);
    const day = 1 + (index % 28);
    const year = 2004 + (index % 22);
    const dates = [
      `${month}/${day}/${year}`,
      `${year}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}`,
      `${year}`,
      `${month}/${day}/${year % 100}`,
    ];
    yield [
      `Property ${index % 24}`,
      `Building ${index % 90}`,
      `${100 + (index % 400)}`,
      `${1 + (index % 9)}`,
      `R${index % 6}`,
      `${1 + (index % 3)}`,
      "1.5",
      `T-${index}`,
      gas ? "Gas tank" : "Electric tank",
      gas ? "Natural gas" : "Electric",
      dates[index % 4] ?? "",
      index % 5 ? "invoice" : "",
      `Maker ${index % 7}`,
      `M-${index % 40}`,
      `SN${index * 7919}`,
      index % 2 ? "40 gal" : "50",
      gas ? "40,000" : "4500",
      gas ? "0.58" : "0.92",
      "Hall closet, by the kitchen",
      index % 4 ? "yes" : "n",
    ];
  }
}

async function measure(label: string, bytes: Uint8Array, scanMs: number): Promise<void> {
  const opened = await openTable({ bytes });
  if (!opened.ok) throw new Error(opened.problems[0]?.message);
  const started = performance.now();
  const survey = await surveyTable(opened.value, { today: TODAY });
  if (!survey.ok) throw new Error(survey.problems[0]?.message);
  const surveyed = performance.now();
  const read = readHeaterRows(opened.value, mappingOfGuesses(survey.value.guesses), {
    today: TODAY,
  });
  if (!read.ok) throw new Error(read.problems[0]?.message);
  let records = 0;
  let refused = 0;
  for await (const rows of read.value) {
    for (const row of rows) {
      if (row.record) records += 1;
      else refused += 1;
    }
  }
  const done = performance.now();
  opened.value.close();
  const total = done - started;
  console.log(
    `import-parse ${label}: ${ROWS} rows x ${HEADINGS.length} columns, ${(bytes.length / 1e6).toFixed(1)} MB: survey ${Math.round(surveyed - started)} ms, read and check ${Math.round(done - surveyed)} ms; ${(total / scanMs).toFixed(1)}x of splitting the text (${Math.round(scanMs)} ms); ${records} records, ${refused} refused`,
  );
}

/** Reading and checking a large file, as a multiple of splitting the same text into cells and no more. */
export async function run(): Promise<void> {
  const table = [...rows()];
  const text = table
    .map((cells) => cells.map((cell) => (cell.includes(",") ? `"${cell}"` : cell)).join(","))
    .join("\r\n");
  const started = performance.now();
  let cells = 0;
  for (const line of text.split("\r\n")) cells += line.split(",").length;
  const scanMs = performance.now() - started;
  if (cells < ROWS) throw new Error("nothing was split");
  await measure("csv", Buffer.from(text), scanMs);
  await measure("xlsx", writeXlsx({ sheets: [{ name: "Heaters", rows: table }] }), scanMs);
}
