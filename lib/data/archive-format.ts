import { createHash, type Hash } from "node:crypto";
import { createReadStream, createWriteStream } from "node:fs";
import type { Readable, Transform, Writable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { createGunzip, createGzip } from "node:zlib";
import { z } from "zod";

/**
 * The archive: one gzip file of records. A record is a line of JSON, followed by as many raw bytes as
 * it announces. `archive` opens it; each table is `table`, its rows in PostgreSQL's COPY text as `chunk`
 * records, and `end` with their number and SHA-256; `close` carries the SHA-256 of every byte before it,
 * so that a file cut short or changed anywhere is known before anything of it is used.
 */
export const ARCHIVE_FORMAT = 1;

const migration = z.object({ name: z.string(), checksum: z.string() });
const record = z.discriminatedUnion("kind", [
  z.object({
    kind: z.literal("archive"),
    program: z.literal("tanklore"),
    format: z.number().int(),
    madeAt: z.string(),
    postgres: z.string(),
    migrations: z.array(migration),
  }),
  z.object({ kind: z.literal("table"), name: z.string(), columns: z.array(z.string()).min(1) }),
  z.object({ kind: z.literal("chunk"), bytes: z.number().int().positive() }),
  z.object({ kind: z.literal("end"), rows: z.number().int().nonnegative(), sha256: z.string() }),
  z.object({
    kind: z.literal("sequences"),
    values: z.array(z.object({ name: z.string(), lastValue: z.string() })),
  }),
  z.object({
    kind: z.literal("jobs"),
    jobs: z.array(z.object({ queue: z.string(), data: z.unknown() })),
  }),
  z.object({ kind: z.literal("close"), tables: z.number().int(), sha256: z.string() }),
]);

export type ArchiveRecord = z.infer<typeof record>;
export type ArchiveHeader = Extract<ArchiveRecord, { kind: "archive" }>;
export type ArchiveTable = Extract<ArchiveRecord, { kind: "table" }>;

/** The archive cannot be used, and nothing was changed; the message says why. */
export class ArchiveError extends Error {}

/** Writes an archive's records to a file, in the order given. */
export class ArchiveWriter {
  private readonly gzip = createGzip({ level: 6 });
  private readonly whole = createHash("sha256");
  private readonly written: Promise<void>;
  private tables = 0;

  constructor(file: string) {
    this.written = pipeline(this.gzip, createWriteStream(file, { flags: "wx", mode: 0o600 }));
    // The failure reaches the caller at its next write or at the end.
    this.written.catch(() => undefined);
  }

  async write(entry: Exclude<ArchiveRecord, { kind: "chunk" | "close" }>): Promise<void> {
    if (entry.kind === "table") this.tables += 1;
    await this.push(Buffer.from(`${JSON.stringify(entry)}\n`));
  }

  /** Takes a table's rows in COPY text, then writes how many there were and their digest. */
  async writeRows(rows: Readable): Promise<number> {
    const digest = createHash("sha256");
    let count = 0;
    for await (const chunk of rows as AsyncIterable<Buffer>) {
      digest.update(chunk);
      count += countLines(chunk);
      await this.push(Buffer.from(`${JSON.stringify({ kind: "chunk", bytes: chunk.length })}\n`));
      await this.push(chunk);
    }
    await this.write({ kind: "end", rows: count, sha256: digest.digest("hex") });
    return count;
  }

  async close(): Promise<void> {
    const sha256 = this.whole.copy().digest("hex");
    this.gzip.end(`${JSON.stringify({ kind: "close", tables: this.tables, sha256 })}\n`);
    await this.written;
  }

  private async push(bytes: Buffer): Promise<void> {
    this.whole.update(bytes);
    if (this.gzip.write(bytes)) return;
    const drained = new Promise<void>((resolve) => this.gzip.once("drain", resolve));
    await Promise.race([drained, this.written]);
  }
}

/** What reads an archive; `rows` may take a table's COPY text and answers when it has ended. */
export type ArchiveReader = {
  readonly onHeader: (header: ArchiveHeader) => void | Promise<void>;
  /** Where the rows of this table go; null lets them pass. */
  readonly onTable: (table: ArchiveTable) => Writable | null;
  readonly onTableEnd: (table: ArchiveTable, rows: number) => void | Promise<void>;
  readonly onSequences: (values: readonly { name: string; lastValue: string }[]) => Promise<void>;
  readonly onJobs: (jobs: readonly { queue: string; data: unknown }[]) => Promise<void>;
};

/**
 * Reads an archive from front to back, checking every count and digest on the way.
 * @throws {ArchiveError} when the file is damaged, cut short, or no archive of this program.
 */
export async function readArchive(file: string, reader: Partial<ArchiveReader>): Promise<void> {
  const whole = createHash("sha256");
  let table: { readonly it: ArchiveTable; digest: Hash; rows: number; target: Open | null } | null =
    null;
  let tables = 0;
  let isOpen = false;
  let isClosed = false;

  const source = new RecordSource(file, whole);
  try {
    for (;;) {
      const entry = await source.next();
      if (entry === null) break;
      if (isClosed) throw new ArchiveError("the archive goes on after its end: it is damaged");
      if (!isOpen && entry.kind !== "archive") throw new ArchiveError(NOT_OURS);
      switch (entry.kind) {
        case "archive":
          if (isOpen) throw new ArchiveError("the archive opens twice: it is damaged");
          isOpen = true;
          if (entry.format > ARCHIVE_FORMAT) {
            throw new ArchiveError(
              `the archive's format ${entry.format} is newer than this program's ${ARCHIVE_FORMAT}: restore it with the program version that made it, or a newer one`,
            );
          }
          await reader.onHeader?.(entry);
          break;
        case "table": {
          if (table) throw new ArchiveError(`table ${table.it.name} has no end: damaged`);
          const target = reader.onTable?.(entry) ?? null;
          table = {
            it: entry,
            digest: createHash("sha256"),
            rows: 0,
            target: target && openTarget(target),
          };
          break;
        }
        case "chunk": {
          if (!table) throw new ArchiveError("rows stand outside a table: the archive is damaged");
          const bytes = await source.raw(entry.bytes);
          table.digest.update(bytes);
          table.rows += countLines(bytes);
          await table.target?.write(bytes);
          break;
        }
        case "end": {
          if (!table) throw new ArchiveError("a table ends that did not begin: damaged");
          if (entry.rows !== table.rows || entry.sha256 !== table.digest.digest("hex")) {
            throw new ArchiveError(`the rows of table ${table.it.name} are damaged`);
          }
          await table.target?.end();
          await reader.onTableEnd?.(table.it, table.rows);
          table = null;
          tables += 1;
          break;
        }
        case "sequences":
          await reader.onSequences?.(entry.values);
          break;
        case "jobs":
          await reader.onJobs?.(entry.jobs as { queue: string; data: unknown }[]);
          break;
        case "close":
          isClosed = true;
          if (table || entry.tables !== tables || entry.sha256 !== source.digestBeforeLast()) {
            throw new ArchiveError("the archive's own digest does not match: it is damaged");
          }
          break;
      }
    }
    if (!isClosed) throw new ArchiveError("the archive is cut short");
  } finally {
    table?.target?.abandon();
    source.stop();
  }
}

const NOT_OURS = "this file is not an archive of this program";

type Open = {
  readonly write: (bytes: Buffer) => Promise<void>;
  readonly end: () => Promise<void>;
  readonly abandon: () => void;
};

function openTarget(target: Writable): Open {
  const done = new Promise<void>((resolve, reject) => {
    target.once("finish", resolve).once("error", reject);
  });
  done.catch(() => undefined);
  return {
    write: async (bytes) => {
      if (target.write(bytes)) return;
      await Promise.race([new Promise<void>((resolve) => target.once("drain", resolve)), done]);
    },
    end: () => {
      target.end();
      return done;
    },
    abandon: () => void target.destroy(),
  };
}

/** Records and raw bytes out of the unpacked stream. */
class RecordSource {
  private readonly chunks: AsyncIterator<Buffer>;
  private readonly stream: Transform;
  private rest: Buffer = Buffer.alloc(0);
  private before = "";

  constructor(
    file: string,
    private readonly whole: Hash,
  ) {
    const input = createReadStream(file);
    this.stream = createGunzip();
    input.once("error", (error) => this.stream.destroy(error));
    input.pipe(this.stream);
    this.chunks = this.stream[Symbol.asyncIterator]() as AsyncIterator<Buffer>;
  }

  /** The next record, or null at the end of the file. */
  async next(): Promise<ArchiveRecord | null> {
    let searched = 0;
    for (;;) {
      const at = this.rest.indexOf(10, searched);
      if (at >= 0) {
        const line = this.take(at + 1);
        this.before = this.whole.copy().digest("hex");
        this.whole.update(line);
        const parsed = record.safeParse(parseJson(line.toString("utf8")));
        if (!parsed.success) throw new ArchiveError(`${NOT_OURS}, or it is damaged`);
        return parsed.data;
      }
      searched = this.rest.length;
      if (searched > LONGEST_RECORD_BYTES) throw new ArchiveError(NOT_OURS);
      if (!(await this.more())) {
        if (this.rest.length > 0) throw new ArchiveError("the archive is cut short");
        return null;
      }
    }
  }

  async raw(bytes: number): Promise<Buffer> {
    if (bytes > LONGEST_RECORD_BYTES) throw new ArchiveError("the archive is damaged");
    while (this.rest.length < bytes) {
      if (!(await this.more())) throw new ArchiveError("the archive is cut short");
    }
    const taken = this.take(bytes);
    this.whole.update(taken);
    return taken;
  }

  /** SHA-256 of everything before the record read last. */
  digestBeforeLast(): string {
    return this.before;
  }

  stop(): void {
    this.stream.destroy();
  }

  private take(bytes: number): Buffer {
    const taken = this.rest.subarray(0, bytes);
    this.rest = this.rest.subarray(bytes);
    return taken;
  }

  private async more(): Promise<boolean> {
    try {
      const { value, done } = await this.chunks.next();
      if (done) return false;
      this.rest = this.rest.length === 0 ? value : Buffer.concat([this.rest, value]);
      return true;
    } catch (error) {
      const { code, message } = error as NodeJS.ErrnoException;
      if (code === "ENOENT") throw new ArchiveError("there is no such file");
      if (code === "EACCES" || code === "EISDIR") {
        throw new ArchiveError(`the file cannot be read (${code})`);
      }
      const isCut = code === "Z_BUF_ERROR";
      throw new ArchiveError(
        isCut ? "the archive is cut short" : `the archive is damaged (${message})`,
      );
    }
  }
}

/** Far above any record or chunk that is written; keeps a foreign file from filling the memory. */
const LONGEST_RECORD_BYTES = 64 * 1024 * 1024;

function countLines(bytes: Buffer): number {
  let count = 0;
  for (let at = bytes.indexOf(10); at >= 0; at = bytes.indexOf(10, at + 1)) count += 1;
  return count;
}

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
