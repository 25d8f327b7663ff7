import { createReadStream } from "node:fs";
import { open, rm, stat } from "node:fs/promises";
import { Readable } from "node:stream";
import { failure, type Outcome, success } from "@/lib/core/shared/outcome";
import { megabytes, TABLE_LIMITS, type TableLimits } from "./table-limits";

/** A file to read: on disk, or in memory where it is small. It may be read more than once. */
export type TableSource = { readonly path: string } | { readonly bytes: Uint8Array };

export async function sizeOfSource(source: TableSource): Promise<number> {
  return "bytes" in source ? source.bytes.byteLength : (await stat(source.path)).size;
}

export function streamSource(source: TableSource, start = 0): Readable {
  if (!("bytes" in source)) return createReadStream(source.path, { start, highWaterMark: 262_144 });
  const { bytes } = source;
  return Readable.from(chunksOf(bytes.subarray(start)), { objectMode: false });
}

function* chunksOf(bytes: Uint8Array): Generator<Buffer> {
  for (let at = 0; at < bytes.byteLength; at += 65_536) {
    const end = Math.min(at + 65_536, bytes.byteLength);
    yield Buffer.from(bytes.buffer, bytes.byteOffset + at, end - at);
  }
}

/** The first bytes of the file, fewer where it is shorter. */
export async function headOfSource(source: TableSource, length: number): Promise<Buffer> {
  if ("bytes" in source) return Buffer.from(source.bytes.subarray(0, length));
  const file = await open(source.path, "r");
  try {
    const { bytesRead, buffer } = await file.read(Buffer.alloc(length), 0, length, 0);
    return buffer.subarray(0, bytesRead);
  } finally {
    await file.close();
  }
}

/**
 * Writes an upload to `path` as it comes and stops at the size limit, so that nothing of a file that
 * is too large is kept. Workbooks need a file: their directory stands at the end.
 */
export async function spoolUpload(
  chunks: AsyncIterable<Uint8Array>,
  path: string,
  limits: Pick<TableLimits, "fileBytes"> = TABLE_LIMITS,
): Promise<Outcome<{ readonly path: string; readonly byteCount: number }>> {
  const file = await open(path, "wx", 0o600);
  let byteCount = 0;
  let isComplete = false;
  try {
    for await (const chunk of chunks) {
      byteCount += chunk.byteLength;
      if (byteCount > limits.fileBytes) {
        return failure({ path: "file", message: tooLarge(limits.fileBytes) });
      }
      await file.writeFile(chunk);
    }
    isComplete = true;
    return success({ path, byteCount });
  } finally {
    await file.close();
    if (!isComplete) await rm(path, { force: true });
  }
}

export function tooLarge(limitBytes: number): string {
  return `the file is larger than ${megabytes(limitBytes)}; split it and bring in the parts`;
}
