import "server-only";
import { z } from "zod";
import { type CsvCell, csvLine } from "@/lib/core/exchange/csv";
import {
  EMPTY_FILTER,
  REGISTER_COLUMN_LABELS,
  type RegisterColumn,
  type RegisterQuery,
} from "@/lib/core/heaters/register-query";
import type { RegisterAnchor, RegisterOutline, RegisterRow } from "@/lib/core/heaters/register-row";
import {
  HEATER_STATUS_LABELS,
  INSTALL_EVIDENCE_LABELS,
  TECHNOLOGY_LABELS,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Outcome } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  hasLines,
  type RegisterPlaces,
  readBatch,
  readGroupWindow,
  readOutline,
  readPlaces,
  readWindow,
  refreshForWindow,
  refreshRegister,
} from "@/lib/data/register";
import { withSql } from "@/lib/data/tenant";
import { ensureFreshRisk, type RiskFreshness } from "./risk-scoring";
import { requireAction, type Viewer } from "./viewer";

export type RegisterPage = {
  /** None when the register is grouped: its groups are counted first. */
  readonly rows: readonly RegisterRow[];
  readonly places: RegisterPlaces;
  /** False for an organisation without any heater. */
  readonly hasHeaters: boolean;
};

/** The first rows of the register and what it can be narrowed to. */
export function readRegisterPage(
  viewer: Viewer,
  query: RegisterQuery,
  today: CalendarDay,
): Promise<RegisterPage> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    await refreshForWindow(client);
    const rows = query.group === "none" ? await readWindow(client, query, today, null) : [];
    return {
      rows,
      places: await readPlaces(client, query.filter.propertyId),
      hasHeaters: rows.length > 0 || (await hasLines(client)),
    };
  });
}

export type RegisterExtent = RegisterOutline & { readonly risk: RiskFreshness };

/** How many heaters the register holds, where its windows begin, and of when their risk is. */
export function readRegisterExtent(
  viewer: Viewer,
  query: RegisterQuery,
  today: CalendarDay,
): Promise<RegisterExtent> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => {
    await refreshRegister(client);
    const outline = await readOutline(client, query, today);
    return { ...outline, risk: await ensureFreshRisk(client, viewer, today) };
  });
}

const LARGEST_OFFSET = 1_000_000;

/** Which window is asked for: from an anchor on, or from a row of a group on. */
const windowSchema = z.union([
  z.object({
    anchor: z.tuple([z.int().min(0).max(9), z.string().max(500), z.string().max(500)]),
  }),
  z.object({
    groupIds: z.array(z.guid()).min(1).max(100),
    offset: z.int().min(0).max(LARGEST_OFFSET),
  }),
]);

/** One window of rows. `at` is the request as it came. */
export async function readRegisterWindow(
  viewer: Viewer,
  query: RegisterQuery,
  today: CalendarDay,
  at: unknown,
): Promise<Outcome<readonly RegisterRow[]>> {
  requireAction(viewer, "record.read");
  const parsed = parseWith(windowSchema, at);
  if (!parsed.ok) return parsed;
  const place = parsed.value;
  const value = await withSql(viewer, async (client) => {
    await refreshForWindow(client);
    return "anchor" in place
      ? readWindow(client, query, today, place.anchor)
      : readGroupWindow(client, query, today, place);
  });
  return { ok: true, value };
}

const CSV_BATCH = 2_000;

/**
 * The register as CSV, its chosen columns, read in batches while it is sent. With `ids`, those heaters
 * whatever the filter: a selection outlives it.
 */
export function streamRegisterCsv(
  viewer: Viewer,
  query: RegisterQuery,
  today: CalendarDay,
  ids: readonly string[] | null,
): ReadableStream<Uint8Array> {
  requireAction(viewer, "record.read");
  const encoder = new TextEncoder();
  const columns = query.columns.flatMap((column) => CSV_COLUMNS[column]);
  const asked = ids ? { ...query, filter: { ...EMPTY_FILTER, status: null } } : query;
  let after: RegisterAnchor | null = null;
  let isFirst = true;
  return new ReadableStream({
    async pull(controller) {
      const batch = await withSql(viewer, async (client) => {
        await refreshRegister(client);
        return readBatch(client, asked, today, { after, limit: CSV_BATCH, ids });
      });
      // The byte order mark tells spreadsheet programs that the text is UTF-8.
      const heading = isFirst ? `\uFEFF${csvLine(columns.map(({ heading }) => heading))}` : "";
      const lines = batch.rows.map((row) => csvLine(columns.map(({ cell }) => cell(row))));
      controller.enqueue(encoder.encode(heading + lines.join("")));
      isFirst = false;
      after = batch.next;
      if (after === null) controller.close();
    },
  });
}

type CsvColumn = { readonly heading: string; readonly cell: (row: RegisterRow) => CsvCell };

const rounded = (value: number | null, decimals: number): number | null =>
  value === null ? null : Number(value.toFixed(decimals));

function one(
  column: RegisterColumn,
  cell: CsvColumn["cell"],
  unit: string | null = null,
): readonly CsvColumn[] {
  const label = REGISTER_COLUMN_LABELS[column];
  return [{ heading: unit === null ? label : `${label} (${unit})`, cell }];
}

/** The columns of the file for each column of the register; the headings carry the units. */
const CSV_COLUMNS: Readonly<Record<RegisterColumn, readonly CsvColumn[]>> = {
  tag: one("tag", (row) => row.tag),
  property: one("property", (row) => row.propertyName),
  building: one("building", (row) => row.buildingName),
  home: one("home", (row) => row.unitLabel),
  floor: one("floor", (row) => row.floor),
  riser: one("riser", (row) => row.riser),
  technology: one("technology", (row) => TECHNOLOGY_LABELS[row.technology]),
  maker: one("maker", (row) => row.manufacturer),
  model: one("model", (row) => row.model),
  volume: one("volume", (row) => row.volumeGal, "gal"),
  install: [
    { heading: "Installed, earliest", cell: (row) => row.installEarliest },
    { heading: "Installed, latest", cell: (row) => row.installLatest },
    { heading: "Install evidence", cell: (row) => INSTALL_EVIDENCE_LABELS[row.installEvidence] },
  ],
  age: one("age", (row) => rounded(row.ageYears, 1), "years"),
  hardness: one("hardness", (row) => row.hardnessMgPerLitre, "mg/L as CaCO3"),
  chance: one(
    "chance",
    (row) => rounded(row.failureProbability === null ? null : 100 * row.failureProbability, 2),
    "%",
  ),
  loss: one(
    "loss",
    (row) => rounded(row.expectedLossCents === null ? null : row.expectedLossCents / 100, 2),
    "US$ a year",
  ),
  lastVisit: one("lastVisit", (row) => row.lastVisitOn),
  status: one("status", (row) => HEATER_STATUS_LABELS[row.status]),
};
