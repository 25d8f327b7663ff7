import type { Readable } from "node:stream";
import { type SaxesOptions, SaxesParser, type SaxesTagPlain } from "saxes";
import yauzl from "yauzl";
import { dayOfExcelSerial } from "@/lib/core/exchange/excel-serial";
import type { TableRow } from "@/lib/core/exchange/read-heater-row";
import {
  megabytes,
  requireCellLength,
  requireColumnCount,
  requireRowCount,
  TableError,
  type TableLimits,
} from "./table-limits";
import type { TableSource } from "./table-source";

/** A workbook once its parts are known; {@link readSheetRows} reads one sheet of it. */
export type Workbook = {
  readonly sheets: readonly Sheet[];
  readonly uses1904: boolean;
  readonly close: () => void;
  readonly parts: ReadonlyMap<string, yauzl.Entry>;
  readonly zip: yauzl.ZipFile;
  readonly sharedTexts: readonly string[];
  readonly dateStyles: readonly DateStyle[];
};

export type Sheet = { readonly name: string; readonly part: string; readonly isHidden: boolean };

/** What a cell's number format shows of a date; null for numbers. */
export type DateStyle = "day" | "month" | "year" | null;

const DAMAGED = "the workbook is damaged or not a workbook; save it again as XLSX, or as CSV";
/** A workbook has a few dozen parts; more are an attack or another kind of archive. */
const MOST_PARTS = 4096;
const DEEPEST_ELEMENT = 64;
/** No tag, comment or text of a sheet is longer, as a cell has at most 32,767 characters. */
const LONGEST_TOKEN = 1_048_576;

/**
 * Opens a workbook (ISO/IEC 29500, "Office Open XML") and reads everything but its sheets.
 *
 * @throws {TableError} when it is damaged, has a password, is no workbook, or passes a limit
 */
export async function openWorkbook(source: TableSource, limits: TableLimits): Promise<Workbook> {
  const zip = await openZip(source);
  try {
    const parts = await readDirectory(zip, limits);
    const root = await readRelations(zip, parts, "_rels/.rels", "");
    const workbookPart = root.find((relation) => relation.type.endsWith("/officeDocument"))?.target;
    if (!workbookPart || !parts.has(workbookPart)) throw notAWorkbook(parts);
    const folder = workbookPart.slice(0, workbookPart.lastIndexOf("/") + 1);
    const relations = await readRelations(
      zip,
      parts,
      `${folder}_rels/${workbookPart.slice(folder.length)}.rels`,
      folder,
    );
    const partOf = (type: string) =>
      relations.find((relation) => relation.type.endsWith(type))?.target;
    const { sheets, uses1904 } = await readWorkbookPart(zip, parts, workbookPart, relations);
    const stringsPart = partOf("/sharedStrings");
    const stylesPart = partOf("/styles");
    return {
      zip,
      parts,
      sheets,
      uses1904,
      sharedTexts: stringsPart ? await readSharedTexts(zip, parts, stringsPart, limits) : [],
      dateStyles: stylesPart ? await readDateStyles(zip, parts, stylesPart) : [],
      close: () => zip.close(),
    };
  } catch (error) {
    zip.close();
    throw explainWorkbookError(error);
  }
}

function notAWorkbook(parts: ReadonlyMap<string, yauzl.Entry>): TableError {
  if (parts.has("content.xml") && parts.has("mimetype")) {
    return new TableError("the file is an OpenDocument file; save it as XLSX or CSV");
  }
  return new TableError("the file is a ZIP archive but not a workbook; unpack it, or save as XLSX");
}

function explainWorkbookError(error: unknown): unknown {
  if (error instanceof TableError) return error;
  const isOurs =
    error instanceof TypeError || error instanceof ReferenceError || error instanceof RangeError;
  if (isOurs || !(error instanceof Error)) return error;
  // Errors of the file system are not about what the file holds.
  if ("syscall" in error) return error;
  return new TableError(DAMAGED);
}

async function openZip(source: TableSource): Promise<yauzl.ZipFile> {
  const options = { lazyEntries: true, autoClose: false } as const;
  return new Promise((resolve, reject) => {
    const done = (error: Error | null, zip?: yauzl.ZipFile) => {
      if (zip) resolve(zip);
      else reject(error && "syscall" in error ? error : new TableError(DAMAGED));
    };
    if ("path" in source) yauzl.open(source.path, options, done);
    else yauzl.fromBuffer(Buffer.from(source.bytes), options, done);
  });
}

async function readDirectory(
  zip: yauzl.ZipFile,
  limits: TableLimits,
): Promise<ReadonlyMap<string, yauzl.Entry>> {
  if (zip.entryCount > MOST_PARTS) {
    throw new TableError(`the workbook has more than ${MOST_PARTS} parts, which none needs`);
  }
  return new Promise((resolve, reject) => {
    const parts = new Map<string, yauzl.Entry>();
    let unpackedBytes = 0;
    zip.on("entry", (entry: yauzl.Entry) => {
      unpackedBytes += entry.uncompressedSize;
      if (entry.isEncrypted()) {
        reject(new TableError("the workbook has a password; save it without one"));
      } else if (unpackedBytes > limits.unpackedBytes) {
        reject(
          new TableError(
            `the workbook unpacks to more than ${megabytes(limits.unpackedBytes)}; save the sheet of heaters alone, or as CSV`,
          ),
        );
      } else {
        parts.set(entry.fileName.replace(/^\//, ""), entry);
        zip.readEntry();
      }
    });
    zip.once("end", () => resolve(parts));
    // Stays: an error event that nobody hears would end the process.
    zip.on("error", reject);
    zip.readEntry();
  });
}

async function openPart(zip: yauzl.ZipFile, entry: yauzl.Entry): Promise<Readable> {
  return new Promise((resolve, reject) => {
    // The library checks that a part unpacks to the size that its directory entry declares.
    zip.openReadStream(entry, (error, stream) => (stream ? resolve(stream) : reject(error)));
  });
}

type XmlHandlers = {
  readonly open: (name: string, attributes: Readonly<Record<string, string>>) => void;
  readonly close?: (name: string) => void;
  readonly text?: (text: string) => void;
};

/**
 * Feeds a part to the handlers and yields after each chunk, so that rows flow while it is read. A
 * document type, and with it every entity of the file's own, is refused.
 */
async function* parsePart(
  zip: yauzl.ZipFile,
  parts: ReadonlyMap<string, yauzl.Entry>,
  part: string,
  handlers: XmlHandlers,
): AsyncGenerator<void> {
  const entry = parts.get(part);
  if (!entry) throw new TableError(DAMAGED);
  const parser = new SaxesParser<SaxesOptions>({ xmlns: false, position: false });
  let depth = 0;
  let fedSinceToken = 0;
  parser.on("error", () => {
    throw new TableError(DAMAGED);
  });
  parser.on("doctype", () => {
    throw new TableError(
      "the workbook declares a document type, which none needs; save it again as XLSX",
    );
  });
  parser.on("opentag", (tag) => {
    fedSinceToken = 0;
    depth += 1;
    if (depth > DEEPEST_ELEMENT) throw new TableError(DAMAGED);
    const { name, attributes } = tag as SaxesTagPlain;
    handlers.open(localName(name), attributes);
  });
  parser.on("closetag", (tag) => {
    fedSinceToken = 0;
    depth -= 1;
    handlers.close?.(localName(tag.name));
  });
  if (handlers.text) parser.on("text", handlers.text);
  const stream = await openPart(zip, entry);
  let decoder: TextDecoder | null = null;
  try {
    for await (const chunk of stream as AsyncIterable<Buffer>) {
      decoder ??= new TextDecoder(xmlEncoding(chunk), { fatal: true });
      fedSinceToken += chunk.length;
      parser.write(decoder.decode(chunk, { stream: true }));
      if (fedSinceToken > LONGEST_TOKEN) throw new TableError(DAMAGED);
      yield;
    }
    if (decoder) parser.write(decoder.decode());
    parser.close();
  } catch (error) {
    // What the decoder says of bytes that are no text in the declared encoding.
    throw error instanceof TypeError && "code" in error ? new TableError(DAMAGED) : error;
  } finally {
    stream.destroy();
  }
  yield;
}

async function parseWhole(
  zip: yauzl.ZipFile,
  parts: ReadonlyMap<string, yauzl.Entry>,
  part: string,
  handlers: XmlHandlers,
): Promise<void> {
  for await (const _chunk of parsePart(zip, parts, part, handlers));
}

function xmlEncoding(start: Buffer): string {
  if (start[0] === 0xff && start[1] === 0xfe) return "utf-16le";
  return start[0] === 0xfe && start[1] === 0xff ? "utf-16be" : "utf-8";
}

function localName(name: string): string {
  const colon = name.indexOf(":");
  return colon < 0 ? name : name.slice(colon + 1);
}

type Relation = { readonly id: string; readonly type: string; readonly target: string };

async function readRelations(
  zip: yauzl.ZipFile,
  parts: ReadonlyMap<string, yauzl.Entry>,
  part: string,
  folder: string,
): Promise<readonly Relation[]> {
  if (!parts.has(part)) return [];
  const relations: Relation[] = [];
  await parseWhole(zip, parts, part, {
    open: (name, attributes) => {
      if (name !== "Relationship" || attributes.TargetMode === "External") return;
      relations.push({
        id: attributes.Id ?? "",
        type: attributes.Type ?? "",
        target: resolvePart(folder, attributes.Target ?? ""),
      });
    },
  });
  return relations;
}

function resolvePart(folder: string, target: string): string {
  if (target.startsWith("/")) return target.slice(1);
  const path: string[] = [];
  for (const step of `${folder}${target}`.split("/")) {
    if (step === "..") path.pop();
    else if (step !== "." && step !== "") path.push(step);
  }
  return path.join("/");
}

async function readWorkbookPart(
  zip: yauzl.ZipFile,
  parts: ReadonlyMap<string, yauzl.Entry>,
  part: string,
  relations: readonly Relation[],
): Promise<Pick<Workbook, "sheets" | "uses1904">> {
  const sheets: Sheet[] = [];
  let uses1904 = false;
  await parseWhole(zip, parts, part, {
    open: (name, attributes) => {
      if (name === "workbookPr") uses1904 = /^(1|true|on)$/.test(attributes.date1904 ?? "");
      if (name !== "sheet") return;
      const id = Object.entries(attributes).find(
        ([key]) => localName(key) === "id" && key !== "id",
      )?.[1];
      const relation = relations.find((candidate) => candidate.id === id);
      if (!relation?.type.endsWith("/worksheet")) return;
      sheets.push({
        name: attributes.name ?? "",
        part: relation.target,
        isHidden: attributes.state === "hidden" || attributes.state === "veryHidden",
      });
    },
  });
  return { sheets, uses1904 };
}

async function readSharedTexts(
  zip: yauzl.ZipFile,
  parts: ReadonlyMap<string, yauzl.Entry>,
  part: string,
  limits: TableLimits,
): Promise<readonly string[]> {
  const texts: string[] = [];
  let total = 0;
  let current = "";
  let isText = false;
  let isPhonetic = false;
  await parseWhole(zip, parts, part, {
    open: (name) => {
      if (name === "si") current = "";
      else if (name === "t") isText = true;
      else if (name === "rPh") isPhonetic = true;
    },
    close: (name) => {
      if (name === "t") isText = false;
      else if (name === "rPh") isPhonetic = false;
      else if (name === "si") {
        const text = decodeEscapes(current);
        // Each entry also costs its own few dozen bytes.
        total += text.length + 16;
        if (total > limits.sharedTextLength) {
          throw new TableError(
            "the workbook holds more text than can be kept while reading; save the sheet of heaters as CSV",
          );
        }
        texts.push(text);
      }
    },
    text: (text) => {
      if (isText && !isPhonetic) current += text;
    },
  });
  return texts;
}

/** `_x000D_` stands for the character 0D (ISO/IEC 29500-1, 22.9.2.19 ST_Xstring). */
function decodeEscapes(text: string): string {
  if (!text.includes("_x")) return text;
  return text.replace(/_x([0-9A-Fa-f]{4})_/g, (_match, hex: string) =>
    String.fromCharCode(Number.parseInt(hex, 16)),
  );
}

/** For each cell format of the workbook, whether its number format shows a date and how much of it. */
async function readDateStyles(
  zip: yauzl.ZipFile,
  parts: ReadonlyMap<string, yauzl.Entry>,
  part: string,
): Promise<readonly DateStyle[]> {
  if (!parts.has(part)) return [];
  const customs = new Map<string, string>();
  const styles: DateStyle[] = [];
  let isCellFormats = false;
  await parseWhole(zip, parts, part, {
    open: (name, attributes) => {
      if (name === "numFmt") {
        if (customs.size < 4096) {
          customs.set(attributes.numFmtId ?? "", (attributes.formatCode ?? "").slice(0, 512));
        }
      } else if (name === "cellXfs") isCellFormats = true;
      else if (name === "xf" && isCellFormats) {
        if (styles.length >= 65_536) throw new TableError(DAMAGED);
        const id = attributes.numFmtId ?? "0";
        const custom = customs.get(id);
        styles.push(
          custom === undefined ? builtInDateStyle(Number(id)) : dateStyleOfFormat(custom),
        );
      }
    },
    close: (name) => {
      if (name === "cellXfs") isCellFormats = false;
    },
  });
  return styles;
}

/** Formats that a workbook need not spell out (ISO/IEC 29500-1, 18.8.30; 27 to 58 are East Asian). */
function builtInDateStyle(id: number): DateStyle {
  if (id === 17) return "month";
  const isDate =
    (id >= 14 && id <= 16) ||
    id === 22 ||
    (id >= 27 && id <= 31) ||
    id === 36 ||
    (id >= 50 && id <= 58);
  return isDate ? "day" : null;
}

/** What a number format shows: `m/d/yyyy` a day, `mmm-yy` a month, `yyyy` a year, `0.00` or `h:mm` no date. */
export function dateStyleOfFormat(format: string): DateStyle {
  const letters = format
    .replace(/"[^"]*"|\\.|_.|\*./g, "")
    .replace(/\[[^\]]*\]/g, "")
    .split(";")[0]
    ?.toLowerCase()
    .replace(/am\/pm|a\/p|general/g, "");
  if (!letters || /[0#?]/.test(letters.replace(/\.0+/g, ""))) return null;
  if (letters.includes("d")) return "day";
  if (!letters.includes("y")) return letters.includes("mmm") ? "month" : null;
  return letters.includes("m") ? "month" : "year";
}

/**
 * The rows of a sheet that have cells, in batches, numbered as the sheet numbers them. Dates come as ISO text, and
 * only as far as their format shows them: a cell shown as `Mar 2014` is that month and no day.
 *
 * @throws {TableError} naming the row, when a limit is passed or the sheet is damaged
 */
export async function* readSheetRows(
  workbook: Workbook,
  sheet: Sheet,
  limits: TableLimits,
): AsyncGenerator<readonly TableRow[]> {
  let rows: TableRow[] = [];
  let rowNumber = 0;
  let rowCount = 0;
  let cells: string[] = [];
  let column = -1;
  let type = "n";
  let style = 0;
  let raw = "";
  let isValue = false;
  let isData = false;
  const { sharedTexts, dateStyles, uses1904 } = workbook;

  const finishCell = () => {
    const text = cellText(raw, type, dateStyles[style] ?? null, sharedTexts, uses1904);
    if (text === "") return;
    requireColumnCount(column + 1, rowNumber, limits);
    requireCellLength(text, rowNumber, column, limits);
    while (cells.length < column) cells.push("");
    cells[column] = text;
  };

  const chunks = parsePart(workbook.zip, workbook.parts, sheet.part, {
    open: (name, attributes) => {
      switch (name) {
        case "sheetData":
          isData = true;
          break;
        case "row": {
          const given = Number(attributes.r);
          rowNumber = Number.isInteger(given) && given > rowNumber ? given : rowNumber + 1;
          cells = [];
          column = -1;
          break;
        }
        case "c":
          column = attributes.r ? columnOfReference(attributes.r, column + 1) : column + 1;
          type = attributes.t ?? "n";
          style = Number(attributes.s ?? 0);
          raw = "";
          break;
        case "v":
        case "t":
          isValue = isData;
          break;
      }
    },
    close: (name) => {
      switch (name) {
        case "v":
        case "t":
          isValue = false;
          break;
        case "c":
          if (raw !== "") finishCell();
          break;
        case "row":
          if (cells.length > 0) {
            rowCount += 1;
            requireRowCount(rowCount, limits);
            rows.push({ rowNumber, cells });
          }
          break;
        case "sheetData":
          isData = false;
          break;
      }
    },
    text: (text) => {
      if (isValue) raw += text;
    },
  });
  try {
    for await (const _chunk of chunks) {
      const ready = rows;
      rows = [];
      if (ready.length > 0) yield ready;
    }
  } catch (error) {
    throw explainWorkbookError(error);
  }
}

/** Column of a reference, from 0: `A7` is 0, `AB12` is 27; `next` where the reference is none. */
function columnOfReference(reference: string, next: number): number {
  let column = 0;
  for (let index = 0; index < reference.length; index += 1) {
    const letter = reference.charCodeAt(index);
    if (letter < 65 || letter > 90) break;
    column = column * 26 + (letter - 64);
    if (column > 16_384) throw new TableError(DAMAGED);
  }
  return column === 0 ? next : column - 1;
}

function cellText(
  raw: string,
  type: string,
  dateStyle: DateStyle,
  sharedTexts: readonly string[],
  uses1904: boolean,
): string {
  switch (type) {
    case "s": {
      const text = sharedTexts[Number(raw)];
      if (text === undefined) throw new TableError(DAMAGED);
      return text;
    }
    case "inlineStr":
    case "str":
      return decodeEscapes(raw);
    case "b":
      return raw.trim() === "1" || raw.trim() === "true" ? "yes" : "no";
    case "d":
      return raw.slice(0, 10);
    case "e":
      return raw;
    default:
      return numberText(raw.trim(), dateStyle, uses1904);
  }
}

function numberText(raw: string, dateStyle: DateStyle, uses1904: boolean): string {
  const number = Number(raw);
  if (!Number.isFinite(number)) return raw;
  if (dateStyle !== null) {
    const day = dayOfExcelSerial(number, uses1904);
    if (day !== null) {
      return dateStyle === "day" ? day : day.slice(0, dateStyle === "month" ? 7 : 4);
    }
  }
  // Workbooks store 0.1 + 0.2 as 0.30000000000000004 and show fifteen digits.
  return raw.length > 15 ? String(Number(number.toPrecision(15))) : String(number);
}
