import "server-only";
import { z } from "zod";
import type { AccountSummary } from "@/lib/core/emissions/account-summary";
import type { EmissionLine } from "@/lib/core/emissions/annual-emissions";
import { csvFile, csvLine } from "@/lib/core/exchange/csv";
import {
  type EmissionsRunRecord,
  findEmissionsRun,
  type RunNames,
  readRunEntries,
  readRunEntryPage,
  readRunNames,
  type StoredEntry,
} from "@/lib/data/emissions-runs";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { requireAction, type Viewer } from "./viewer";
import { type WorkbookCell, type WorkbookSheet, writeWorkbook } from "./workbook/write-workbook";

const CSV_PAGE = 2_000;

const ROW_HEADING = [
  "Row",
  "Property",
  "Building",
  "Heater",
  "Home",
  "Technology",
  "Of what",
  "Grid region",
  "From",
  "To",
  "Days",
  "Amount",
  "Unit",
  "Scope",
  "Basis",
  "Reading",
  "Note",
] as const;

/** The rows of a kept account as comma-separated values; null when the viewer has no such account. */
export async function accountCsv(
  viewer: Viewer,
  runId: string,
): Promise<AsyncGenerator<string> | null> {
  requireAction(viewer, "record.read");
  const found = await withSql(viewer, (client) => findDone(client, runId));
  if (!found) return null;
  const { names } = found;
  return (async function* () {
    yield* csvFile([...ROW_HEADING, "kg CO2e, location-based"], []);
    for (let after = 0; ; ) {
      const rows = await withSql(viewer, (client) =>
        readRunEntryPage(client, runId, after, CSV_PAGE),
      );
      for (const row of rows) yield csvLine([...rowCells(row, names), row.kgCo2e]);
      const last = rows.at(-1);
      if (!last || rows.length < CSV_PAGE) return;
      after = last.rowNumber;
    }
  })();
}

/** The auditor's workbook of a kept account; null when the viewer has no such account. */
export function accountWorkbook(
  viewer: Viewer,
  runId: string,
): Promise<{ readonly file: Buffer; readonly year: number } | null> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    const found = await findDone(client, runId);
    if (!found) return null;
    const { run, summary, names } = found;
    const rates = ratesOf(summary);
    const file = await writeWorkbook([
      accountSheet(run, summary, viewer.organizationName),
      rowsSheet(client, runId, names, rates),
      ratesSheet(rates),
      linesSheet(summary.lines),
      factorsSheet(summary.lines),
      yearsSheet(summary),
      assumptionsSheet(summary),
    ]);
    return { file, year: run.year };
  });
}

async function findDone(
  client: TenantClient,
  runId: string,
): Promise<{
  readonly run: EmissionsRunRecord;
  readonly summary: AccountSummary;
  readonly names: RunNames;
} | null> {
  if (!z.uuid().safeParse(runId).success) return null;
  const run = await findEmissionsRun(client, runId);
  if (run?.status !== "done") return null;
  return {
    run,
    summary: run.summary as AccountSummary,
    names: await readRunNames(client, runId),
  };
}

function rowCells(row: StoredEntry, names: RunNames): (string | number | null)[] {
  return [
    row.rowNumber,
    names.properties[row.propertyId] ?? row.propertyId,
    row.buildingId === null ? null : (names.buildings[row.buildingId] ?? row.buildingId),
    row.tag,
    row.home,
    row.technology,
    row.activity,
    row.gridRegion,
    row.from,
    row.to,
    row.days,
    row.amount,
    row.unit,
    row.scope,
    row.basis,
    row.readingId,
    row.note,
  ];
}

/** Amount, activity and region stand in these columns of the sheet of rows. */
const AMOUNT = "L";
const SCOPE = "N";
const KG = "S";

/** Location-based kilograms of one unit of each activity and region, from the lines of the account. */
type Rate = {
  readonly key: string;
  readonly unit: string;
  readonly lines: readonly EmissionLine[];
  readonly kgPerUnit: number;
};

const LB_TO_KG = 0.45359237;

function ratesOf(summary: AccountSummary): readonly Rate[] {
  const byKey = new Map<string, Map<string, EmissionLine>>();
  for (const line of summary.lines) {
    if (line.method === "market") continue;
    const { activity, region } = line.factor;
    const key =
      activity === "grid-electricity"
        ? `electricity ${region}`
        : activity === "refrigerant"
          ? line.gas
          : activity;
    const lines = byKey.get(key) ?? new Map<string, EmissionLine>();
    lines.set(line.factor.id, line);
    byKey.set(key, lines);
  }
  return [...byKey].map(([key, lines]) => {
    const [first] = lines.values();
    const unit = first?.amountUnit === "mmBtu" ? "therm" : (first?.amountUnit ?? "");
    return {
      key,
      unit,
      lines: [...lines.values()],
      kgPerUnit: [...lines.values()].reduce((sum, line) => sum + kgOfOneUnit(line), 0),
    };
  });
}

function kgOfOneUnit({ factor, gwp }: EmissionLine): number {
  switch (factor.unit) {
    case "kg/mmBtu":
      return 0.1 * factor.value * gwp;
    case "lb/MWh":
      return (factor.value / 1000) * LB_TO_KG * gwp;
    case "kg/kWh":
      return factor.value * gwp;
    case "gwp":
      return factor.value;
  }
}

function formulaOfOneUnit(row: number, { factor }: EmissionLine): string {
  switch (factor.unit) {
    case "kg/mmBtu":
      return `D${row}*F${row}*0.1`;
    case "lb/MWh":
      return `D${row}/1000*${LB_TO_KG}*F${row}`;
    case "kg/kWh":
      return `D${row}*F${row}`;
    case "gwp":
      return `D${row}`;
  }
}

function accountSheet(
  run: EmissionsRunRecord,
  summary: AccountSummary,
  organization: string,
): WorkbookSheet {
  const { kgCo2e } = summary;
  const total = (scope: number, result: number): WorkbookCell => ({
    formula: `SUMIFS(Rows!${KG}:${KG},Rows!${SCOPE}:${SCOPE},${scope})`,
    result,
  });
  return {
    name: "Account",
    widths: [44, 24, 70],
    headingRows: 1,
    rows: [
      [`Emissions of water heating, ${run.year}`, null, null],
      ["Organization", organization, null],
      ["Year", run.year, null],
      ["Base year", run.baseYear, null],
      ["As of", run.asOf, "The day on which the record was read"],
      ["Warming potentials", `IPCC ${summary.gwpSet}, 100 years`, null],
      ["Method", run.method, null],
      ["Fingerprint", run.fingerprint, "SHA-256 over rules, rows and factor rows"],
      [null],
      ["kg CO2e", null, null],
      ["Scope 1", total(1, kgCo2e.scope1), "Sum over the sheet Rows"],
      ["Scope 2, location-based", total(2, kgCo2e.scope2Location), "Sum over the sheet Rows"],
      [
        "Scope 2, market-based",
        {
          formula: 'SUMIFS(Lines!J:J,Lines!A:A,2,Lines!B:B,"market")',
          result: kgCo2e.scope2Market,
        },
        "Sum over the sheet Lines; never added to the location-based figure",
      ],
      [
        "Scope 3, category 13: residents’ meters",
        total(3, kgCo2e.scope3),
        "Sum over the sheet Rows",
      ],
      [
        "Together, location-based",
        { formula: "B11+B12+B14", result: kgCo2e.scope1 + kgCo2e.scope2Location + kgCo2e.scope3 },
        null,
      ],
      [null],
      ["Apart from the account, kg CO2e", null, null],
      [
        "Avoided by the swaps since the base year",
        roundToMilligram(summary.apart.avoidedKg),
        "A comparison; not to be subtracted",
      ],
      [
        "Methane lost before the gas meters",
        summary.apart.upstreamMethane?.kgCo2e ?? "not counted",
        null,
      ],
      [null],
      ...summary.notes.map((note) => [note]),
    ],
  };
}

function rowsSheet(
  client: TenantClient,
  runId: string,
  names: RunNames,
  rates: readonly Rate[],
): WorkbookSheet {
  const indexOf = new Map(rates.map((rate, index) => [rate.key, index]));
  return {
    name: "Rows",
    widths: [7, 22, 16, 14, 10, 18, 14, 10, 11, 11, 6, 14, 8, 7, 12, 12, 30, 16, 16],
    headingRows: 1,
    rows: (async function* (): AsyncGenerator<readonly WorkbookCell[]> {
      yield [...ROW_HEADING, "kg CO2e a unit", "kg CO2e, location-based"];
      let number = 1;
      for await (const page of readRunEntries(client, runId)) {
        for (const row of page) {
          number += 1;
          const key =
            row.activity === "electricity" ? `electricity ${row.gridRegion}` : row.activity;
          const index = indexOf.get(key);
          const rate = index === undefined ? 0 : (rates[index]?.kgPerUnit ?? 0);
          yield [
            ...rowCells(row, names),
            index === undefined ? 0 : { formula: `Rates!$C$${index + 2}`, result: rate },
            { formula: `${AMOUNT}${number}*R${number}`, result: row.kgCo2e },
          ];
        }
      }
    })(),
  };
}

/** One rate a row, each the sum of its gases in the sheet Factors. */
function ratesSheet(rates: readonly Rate[]): WorkbookSheet {
  return {
    name: "Rates",
    widths: [26, 10, 20, 60],
    headingRows: 1,
    rows: [
      ["Of what", "Unit", "kg CO2e a unit", "Made of"],
      ...rates.map((rate): WorkbookCell[] => [
        rate.key,
        rate.unit,
        {
          formula: rate.lines
            .map(({ factor }) => `SUMIFS(Factors!G:G,Factors!A:A,"${factor.id}")`)
            .join("+"),
          result: rate.kgPerUnit,
        },
        rate.lines.map(({ factor }) => factor.id).join(", "),
      ]),
    ],
  };
}

function linesSheet(lines: readonly EmissionLine[]): WorkbookSheet {
  return {
    name: "Lines",
    widths: [8, 12, 14, 12, 14, 10, 14, 34, 10, 16],
    headingRows: 1,
    rows: [
      [
        "Scope",
        "Method",
        "Basis",
        "Gas",
        "Amount",
        "Unit",
        "kg of the gas",
        "Factor",
        "GWP",
        "kg CO2e",
      ],
      ...lines.map((line, index): WorkbookCell[] => [
        line.scope,
        line.method,
        line.basis,
        line.gas,
        line.amount,
        line.amountUnit,
        line.kg,
        line.factor.id,
        line.gwp,
        { formula: `G${index + 2}*I${index + 2}`, result: line.kgCo2e },
      ]),
    ],
  };
}

function factorsSheet(lines: readonly EmissionLine[]): WorkbookSheet {
  const rows = [...new Map(lines.map((line) => [line.factor.id, line])).values()];
  return {
    name: "Factors",
    widths: [38, 18, 10, 14, 12, 10, 18, 10, 60, 12],
    headingRows: 1,
    rows: [
      [
        "Factor",
        "Of what",
        "Gas",
        "Value",
        "Unit",
        "GWP",
        "kg CO2e a therm, kWh or kg",
        "Vintage",
        "Source",
        "Evidence",
      ],
      ...rows.map((line, index): WorkbookCell[] => [
        line.factor.id,
        line.factor.activity,
        line.gas,
        line.factor.value,
        line.factor.unit,
        line.gwp,
        { formula: formulaOfOneUnit(index + 2, line), result: kgOfOneUnit(line) },
        line.factor.vintage,
        line.factor.source,
        line.factor.evidence,
      ]),
    ],
  };
}

function yearsSheet(summary: AccountSummary): WorkbookSheet {
  return {
    name: "Years",
    widths: [8, 14, 14, 14, 14, 14, 14, 14, 14, 14, 14],
    headingRows: 1,
    rows: [
      [
        "Year",
        "Scope 1, kg",
        "Scope 2 location, kg",
        "Scope 2 market, kg",
        "Scope 3, kg",
        "Change by swaps",
        "by grid and fuel factors",
        "by care",
        "by occupancy",
        "by homes added or given up",
        "meters against the model",
      ],
      ...summary.achieved.map(({ year, kgCo2e, change }): WorkbookCell[] => [
        year,
        ...[
          kgCo2e.scope1,
          kgCo2e.scope2Location,
          kgCo2e.scope2Market,
          kgCo2e.scope3,
          change.swaps,
          change.grid,
          change.care,
          change.occupancy,
          change.structure,
          change.unexplained,
        ].map(roundToMilligram),
      ]),
    ],
  };
}

/** What is left of sums that cancel (1e-10 kg) is no emission. */
function roundToMilligram(kg: number): number {
  return Math.round(kg * 1e6) / 1e6 + 0;
}

function assumptionsSheet(summary: AccountSummary): WorkbookSheet {
  return {
    name: "Assumptions",
    widths: [90, 12],
    headingRows: 1,
    rows: [
      ["What was assumed", "Heaters"],
      ...summary.assumed.map(({ words, heaters }): WorkbookCell[] => [words, heaters]),
    ],
  };
}
