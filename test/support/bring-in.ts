import type { ColumnMapping } from "@/lib/core/exchange/column-mapping";
import { csvLine } from "@/lib/core/exchange/csv";
import { DEFAULT_IMPORT_OPTIONS, type ImportOptions } from "@/lib/core/exchange/import-batch";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { ImportBatch } from "@/lib/data/imports";
import {
  checkBatch,
  commitBatch,
  readBatch,
  receiveFile,
  undoImport,
} from "@/lib/services/bring-in";
import type { Viewer } from "@/lib/services/viewer";

/** Steps of bringing a file in, as a person takes them; any problem fails the test. */
export class FileOfHeaters {
  private constructor(
    readonly viewer: Viewer,
    readonly batchId: string,
    readonly today: CalendarDay,
  ) {}

  static async upload(
    viewer: Viewer,
    file: string | Uint8Array,
    today: CalendarDay,
    fileName = "heaters.csv",
  ): Promise<FileOfHeaters> {
    const received = await receiveFile(viewer, { fileName, chunks: inPieces(file) }, today);
    if (!received.ok) throw new Error(JSON.stringify(received.problems));
    return new FileOfHeaters(viewer, received.value.batchId, today);
  }

  async read(): Promise<ImportBatch> {
    const batch = await readBatch(this.viewer, this.batchId);
    if (!batch) throw new Error("the batch is gone");
    return batch;
  }

  /** Checks under the guessed mapping, or under what `correct` makes of it. */
  async check(
    correct: (mapping: ColumnMapping) => ColumnMapping = (mapping) => mapping,
  ): Promise<ImportBatch> {
    const { mapping } = await this.read();
    const checked = await checkBatch(this.viewer, this.batchId, correct(mapping), this.today);
    if (!checked.ok) throw new Error(JSON.stringify(checked.problems));
    return this.read();
  }

  async commit(options: Partial<ImportOptions> = {}): Promise<ImportBatch> {
    const all = { ...DEFAULT_IMPORT_OPTIONS, ...options };
    const committed = await commitBatch(this.viewer, this.batchId, all, this.today);
    if (!committed.ok) throw new Error(JSON.stringify(committed.problems));
    return this.read();
  }

  async undo(): Promise<ImportBatch> {
    const undone = await undoImport(this.viewer, this.batchId, this.today);
    if (!undone.ok) throw new Error(JSON.stringify(undone.problems));
    return this.read();
  }
}

/** Uploads, checks and brings in at once. */
export async function bringIn(
  viewer: Viewer,
  file: string | Uint8Array,
  today: CalendarDay,
  options: Partial<ImportOptions> = {},
): Promise<FileOfHeaters> {
  const upload = await FileOfHeaters.upload(viewer, file, today);
  await upload.check();
  const { status, message } = await upload.commit(options);
  if (status !== "committed") throw new Error(`not brought in: ${message}`);
  return upload;
}

/** A file as text: headings, then rows by heading; what a row does not give is empty. */
export function csvOf(rows: readonly Readonly<Record<string, string | number>>[]): string {
  const headings = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  return [headings, ...rows.map((row) => headings.map((heading) => row[heading] ?? ""))]
    .map(csvLine)
    .join("");
}

/** A file comes over the network in pieces. */
export async function* inPieces(file: string | Uint8Array): AsyncGenerator<Uint8Array> {
  const bytes = typeof file === "string" ? new TextEncoder().encode(file) : file;
  for (let at = 0; at < bytes.length; at += 10_000) yield bytes.subarray(at, at + 10_000);
}
