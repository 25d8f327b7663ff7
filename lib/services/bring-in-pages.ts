import "server-only";
import { z } from "zod";
import { REFUSAL_HEADINGS } from "@/lib/core/exchange/column-mapping";
import { csvLine } from "@/lib/core/exchange/csv";
import { heaterColumn } from "@/lib/core/exchange/heater-columns";
import { VERDICT_LETTERS } from "@/lib/core/exchange/import-batch";
import {
  type ChangeField,
  changeLabel,
  describeChangeValue,
} from "@/lib/core/exchange/record-changes";
import {
  findBatch,
  type ImportBatch,
  type ImportBatchLine,
  listBatches,
  listNotes,
  listRefusals,
  readChunk,
  readRows,
  readVerdicts,
} from "@/lib/data/imports";
import { type TenantClient, withSql } from "@/lib/data/tenant";
import { mayDo } from "./permissions";
import { ServiceError } from "./service-error";
import { requireAction, type Viewer } from "./viewer";

export type { ImportBatch, ImportBatchLine } from "@/lib/data/imports";

/** Batches that the list shows; older ones stay on record. */
const BATCHES_LISTED = 200;

export type ImportList = {
  readonly batches: readonly ImportBatchLine[];
  readonly mayImport: boolean;
};

/** The files that were brought, the latest first. */
export function readImportList(viewer: Viewer): Promise<ImportList> {
  requireAction(viewer, "record.read");
  return withSql(viewer, async (client) => ({
    batches: await listBatches(client, BATCHES_LISTED),
    mayImport: mayDo(viewer.role, "import.run"),
  }));
}

/** What a preview or a result can list row by row. */
export const ROW_LISTS = ["refused", "changed", "added", "same"] as const;
export type RowList = (typeof ROW_LISTS)[number];

/** One change of a row, in words. */
export type ChangeLine = {
  readonly field: ChangeField;
  readonly label: string;
  readonly before: string;
  readonly after: string;
};

export type ImportRowLine = {
  readonly rowNumber: number;
  /** The row's own cells of the matched columns, in the order of `headings`. */
  readonly cells: readonly string[];
  readonly reasons: readonly string[];
  readonly heaterId: string | null;
  readonly tag: string | null;
  readonly changes: readonly ChangeLine[];
};

export type ImportPage = {
  readonly batch: ImportBatch;
  readonly mayImport: boolean;
  readonly list: {
    readonly name: RowList;
    readonly headings: readonly string[];
    readonly lines: readonly ImportRowLine[];
    readonly lineCount: number;
    readonly page: number;
    readonly pageCount: number;
  };
};

const PAGE_ROWS = 50;

/** A batch with one page of its rows; null when the viewer's organisation has no such batch. */
export function readImportPage(
  viewer: Viewer,
  batchId: string,
  { list, page }: { readonly list: RowList | null; readonly page: number },
): Promise<ImportPage | null> {
  requireAction(viewer, "record.read");
  if (!z.uuid().safeParse(batchId).success) return Promise.resolve(null);
  return withSql(viewer, async (client) => {
    const batch = await findBatch(client, batchId);
    if (!batch) return null;
    const counts: Readonly<Record<RowList, number>> = {
      refused: batch.refusedCount,
      changed: batch.changedCount,
      added: batch.addedCount,
      same: batch.unchangedCount,
    };
    const name = list ?? ROW_LISTS.find((one) => counts[one] > 0) ?? "added";
    const lineCount = batch.fingerprint === null ? 0 : counts[name];
    const pageCount = Math.max(1, Math.ceil(lineCount / PAGE_ROWS));
    const shown = Math.min(Math.max(1, page), pageCount);
    const offset = (shown - 1) * PAGE_ROWS;
    const lines =
      lineCount === 0
        ? []
        : name === "refused" || name === "changed"
          ? await readNotedLines(client, batch, name, offset)
          : await readPlainLines(client, batch, name, offset);
    return {
      batch,
      mayImport: mayDo(viewer.role, "import.run"),
      list: { name, headings: matchedHeadings(batch), lines, lineCount, page: shown, pageCount },
    };
  });
}

function matchedIndexes({ mapping }: ImportBatch): readonly number[] {
  return mapping.matches.flatMap((match, index) => (match ? [index] : []));
}

function matchedHeadings(batch: ImportBatch): readonly string[] {
  return batch.mapping.matches.flatMap((match) => (match ? [heaterColumn(match.field).label] : []));
}

/** Rows with reasons or changes. */
async function readNotedLines(
  client: TenantClient,
  batch: ImportBatch,
  name: "refused" | "changed",
  offset: number,
): Promise<readonly ImportRowLine[]> {
  const verdict = name === "refused" ? "refuse" : "change";
  const notes = await listNotes(client, batch.id, verdict, { limit: PAGE_ROWS, offset });
  const rows = await readRows(
    client,
    batch.id,
    notes.map(({ rowNumber }) => rowNumber),
  );
  const cellsOf = new Map(rows.map(({ rowNumber, cells }) => [rowNumber, cells]));
  const indexes = matchedIndexes(batch);
  return notes.map(({ rowNumber, problems, heaterId, tag, changes }) => ({
    rowNumber,
    cells: indexes.map((index) => cellsOf.get(rowNumber)?.[index] ?? ""),
    // Each reason begins with the row, which the list names already.
    reasons: (problems ?? []).map(({ message }) => message.replace(/^row \d+: /, "")),
    heaterId,
    tag,
    changes: (changes ?? []).map(({ field, before, after }) => ({
      field,
      label: changeLabel(field),
      before: describeChangeValue(field, before),
      after: describeChangeValue(field, after),
    })),
  }));
}

/** Rows of which there is nothing to say: found by their letters. */
async function readPlainLines(
  client: TenantClient,
  batch: ImportBatch,
  name: "added" | "same",
  offset: number,
): Promise<readonly ImportRowLine[]> {
  const letter = VERDICT_LETTERS[name === "added" ? "add" : "same"];
  const indexes = matchedIndexes(batch);
  const lines: ImportRowLine[] = [];
  let skip = offset;
  for (const { number, verdicts } of await readVerdicts(client, batch.id)) {
    const inChunk = verdicts.split(letter).length - 1;
    if (skip >= inChunk) {
      skip -= inChunk;
      continue;
    }
    const chunk = await readChunk(client, batch.id, number);
    for (const [at, { rowNumber, cells }] of (chunk?.rows ?? []).entries()) {
      if (verdicts[at] !== letter) continue;
      if (skip > 0) {
        skip -= 1;
        continue;
      }
      lines.push({
        rowNumber,
        cells: indexes.map((index) => cells[index] ?? ""),
        reasons: [],
        heaterId: null,
        tag: null,
        changes: [],
      });
      if (lines.length === PAGE_ROWS) return lines;
    }
  }
  return lines;
}

/**
 * The refused rows as a file: the original cells, with the row's number and its reasons in front. Put
 * right, the file can be brought in as it is.
 *
 * @throws {ServiceError} `not-found` when the viewer's organisation has no such batch
 */
export async function readRefusedCsv(
  viewer: Viewer,
  batchId: string,
): Promise<{ readonly fileName: string; readonly lines: AsyncGenerator<string> }> {
  requireAction(viewer, "record.read");
  const batch = await withSql(viewer, async (client) =>
    z.uuid().safeParse(batchId).success ? findBatch(client, batchId) : null,
  );
  if (!batch) throw new ServiceError("not-found", "There is no such file here.");
  const stem = batch.fileName.replace(/\.[A-Za-z0-9]{1,5}$/, "");
  return { fileName: `${stem} - refused rows.csv`, lines: refusedLines(viewer, batch) };
}

async function* refusedLines(viewer: Viewer, batch: ImportBatch): AsyncGenerator<string> {
  const headers = batch.columns.map(({ guess }) => guess.header);
  yield `\uFEFF${csvLine([...REFUSAL_HEADINGS, ...headers])}`;
  // Apart from the rows above it, a row must name what they named for it.
  const filledDown = batch.mapping.matches.flatMap((match, index) =>
    match?.fillDown ? [index] : [],
  );
  const above: string[] = [];
  for (let number = 0; ; number += 1) {
    const { chunk, reasonOf } = await withSql(viewer, (client) =>
      readRefusals(client, batch.id, number),
    );
    if (!chunk) return;
    for (const { rowNumber, cells } of chunk.rows) {
      for (const index of filledDown) if (cells[index]?.trim()) above[index] = cells[index];
      const reason = reasonOf.get(rowNumber);
      if (reason === undefined) continue;
      const filled = cells.map((cell, index) =>
        cell.trim() === "" && filledDown.includes(index) ? (above[index] ?? "") : cell,
      );
      yield csvLine([rowNumber, reason, ...filled]);
    }
  }
}

async function readRefusals(client: TenantClient, batchId: string, number: number) {
  const chunk = await readChunk(client, batchId, number);
  const hasRefused = chunk?.verdicts?.includes(VERDICT_LETTERS.refuse) ?? false;
  const notes = hasRefused && chunk ? await listRefusals(client, batchId, chunk.rows) : [];
  const reasonOf = new Map(
    notes.map(({ rowNumber, problems }) => [
      rowNumber,
      (problems ?? []).map(({ message }) => message).join("; "),
    ]),
  );
  return { chunk, reasonOf };
}
