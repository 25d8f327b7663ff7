import { once } from "node:events";
import { crc32, createDeflateRaw } from "node:zlib";

/**
 * A cell: text, a number, nothing, or a formula with the result that programs show before they compute.
 * Text is written as text and never run: what begins with `=` stays what it is.
 */
export type WorkbookCell =
  | string
  | number
  | null
  | { readonly formula: string; readonly result: number };

export type WorkbookSheet = {
  /** At most 31 characters, without `[ ] : * ? / \`. */
  readonly name: string;
  /** Widths of the columns in characters. */
  readonly widths: readonly number[];
  /** Rows at the top that are set in bold; the last of them stays in sight when scrolling. */
  readonly headingRows: number;
  readonly rows: AsyncIterable<readonly WorkbookCell[]> | Iterable<readonly WorkbookCell[]>;
};

const HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';
const MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGED = "http://schemas.openxmlformats.org/package/2006";
const SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml";

/**
 * Writes a workbook (ISO/IEC 29500) part by part: memory is that of the packed file, whatever the rows.
 */
export async function writeWorkbook(sheets: readonly WorkbookSheet[]): Promise<Buffer> {
  const parts: PackedPart[] = [];
  for (const [index, sheet] of sheets.entries()) {
    parts.push(await packPart(`xl/worksheets/sheet${index + 1}.xml`, sheetXml(sheet)));
  }
  const numbers = sheets.map((_, index) => index + 1);
  const each = (of: (number: number) => string) => numbers.map(of).join("");
  const fixed: readonly (readonly [string, string])[] = [
    [
      "[Content_Types].xml",
      `<Types xmlns="${PACKAGED}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="${SHEET_TYPE}.sheet.main+xml"/>${each((number) => `<Override PartName="/xl/worksheets/sheet${number}.xml" ContentType="${SHEET_TYPE}.worksheet+xml"/>`)}<Override PartName="/xl/styles.xml" ContentType="${SHEET_TYPE}.styles+xml"/></Types>`,
    ],
    [
      "_rels/.rels",
      `<Relationships xmlns="${PACKAGED}/relationships"><Relationship Id="rId1" Type="${RELATIONS}/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
    ],
    [
      "xl/workbook.xml",
      `<workbook xmlns="${MAIN}" xmlns:r="${RELATIONS}"><sheets>${sheets.map(({ name }, index) => `<sheet name="${escapeXml(name)}" sheetId="${index + 1}" r:id="rId${index + 1}"/>`).join("")}</sheets><calcPr fullCalcOnLoad="1"/></workbook>`,
    ],
    [
      "xl/_rels/workbook.xml.rels",
      `<Relationships xmlns="${PACKAGED}/relationships">${each((number) => `<Relationship Id="rId${number}" Type="${RELATIONS}/worksheet" Target="worksheets/sheet${number}.xml"/>`)}<Relationship Id="rIdStyles" Type="${RELATIONS}/styles" Target="styles.xml"/></Relationships>`,
    ],
    [
      "xl/styles.xml",
      `<styleSheet xmlns="${MAIN}"><fonts count="2"><font><sz val="11"/><name val="Calibri"/></font><font><b/><sz val="11"/><name val="Calibri"/></font></fonts><fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills><borders count="1"><border/></borders><cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="2"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/><xf numFmtId="0" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/></cellXfs></styleSheet>`,
    ],
  ];
  for (const [name, xml] of fixed) parts.unshift(await packPart(name, [HEAD + xml]));
  return zip(parts);
}

async function* sheetXml({ widths, headingRows, rows }: WorkbookSheet): AsyncGenerator<string> {
  const columns = widths
    .map(
      (width, index) =>
        `<col min="${index + 1}" max="${index + 1}" width="${width}" customWidth="1"/>`,
    )
    .join("");
  const frozen =
    headingRows > 0
      ? `<pane ySplit="${headingRows}" topLeftCell="A${headingRows + 1}" activePane="bottomLeft" state="frozen"/>`
      : "";
  yield `${HEAD}<worksheet xmlns="${MAIN}"><sheetViews><sheetView workbookViewId="0">${frozen}</sheetView></sheetViews>${columns ? `<cols>${columns}</cols>` : ""}<sheetData>`;
  let number = 0;
  for await (const cells of rows) {
    number += 1;
    const style = number <= headingRows ? ' s="1"' : "";
    const written = cells.map((cell, column) =>
      cellXml(cell, `${columnName(column)}${number}`, style),
    );
    yield `<row r="${number}">${written.join("")}</row>`;
  }
  yield "</sheetData></worksheet>";
}

function cellXml(cell: WorkbookCell, reference: string, style: string): string {
  if (cell === null || cell === "") return "";
  if (typeof cell === "number") return `<c r="${reference}"${style}><v>${cell}</v></c>`;
  if (typeof cell === "string") {
    return `<c r="${reference}"${style} t="inlineStr"><is><t xml:space="preserve">${escapeXml(cell)}</t></is></c>`;
  }
  return `<c r="${reference}"${style}><f>${escapeXml(cell.formula)}</f><v>${cell.result}</v></c>`;
}

/** The letters of a column, from 0: A, B, …, Z, AA. */
export function columnName(column: number): string {
  const letter = String.fromCharCode(65 + (column % 26));
  return column < 26 ? letter : columnName(Math.floor(column / 26) - 1) + letter;
}

function escapeXml(text: string): string {
  return (
    text
      .replace(/_x[0-9A-Fa-f]{4}_/g, (match) => `_x005F${match}`)
      // biome-ignore lint/suspicious/noControlCharactersInRegex: XML 1.0 cannot hold these; workbooks write _xHHHH_
      .replace(/[\u0000-\u0008\u000B-\u001F\uFFFE\uFFFF]/g, (sign) => {
        return `_x${sign.charCodeAt(0).toString(16).padStart(4, "0").toUpperCase()}_`;
      })
      .replaceAll("&", "&amp;")
      .replaceAll("<", "&lt;")
      .replaceAll(">", "&gt;")
      .replaceAll('"', "&quot;")
  );
}

type PackedPart = {
  readonly name: string;
  readonly packed: readonly Buffer[];
  readonly packedSize: number;
  readonly size: number;
  readonly checksum: number;
};

/** Texts are gathered to about this many characters before they are packed. */
const CHUNK_CHARACTERS = 65_536;

async function packPart(
  name: string,
  texts: AsyncIterable<string> | Iterable<string>,
): Promise<PackedPart> {
  const deflate = createDeflateRaw();
  const packed: Buffer[] = [];
  deflate.on("data", (chunk: Buffer) => packed.push(chunk));
  const ended = once(deflate, "end");
  let size = 0;
  let checksum = 0;
  let waiting = "";
  const flush = async () => {
    const bytes = Buffer.from(waiting, "utf8");
    waiting = "";
    size += bytes.length;
    checksum = crc32(bytes, checksum);
    if (!deflate.write(bytes)) await once(deflate, "drain");
  };
  for await (const text of texts) {
    waiting += text;
    if (waiting.length >= CHUNK_CHARACTERS) await flush();
  }
  await flush();
  deflate.end();
  await ended;
  const packedSize = packed.reduce((sum, chunk) => sum + chunk.length, 0);
  return { name, packed, packedSize, size, checksum };
}

/** A ZIP archive (the format's public application note, sections 4.3 and 4.4). */
function zip(parts: readonly PackedPart[]): Buffer {
  const files: Buffer[] = [];
  const directory: Buffer[] = [];
  let offset = 0;
  for (const { name, packed, packedSize, size, checksum } of parts) {
    const nameBytes = Buffer.from(name, "utf8");
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0);
    common.writeUInt16LE(0x0800, 2);
    common.writeUInt16LE(8, 4);
    common.writeUInt16LE(0x21, 8);
    common.writeUInt32LE(checksum, 10);
    common.writeUInt32LE(packedSize, 14);
    common.writeUInt32LE(size, 18);
    common.writeUInt16LE(nameBytes.length, 22);
    const head = Buffer.concat([Buffer.from("504b0304", "hex"), common, nameBytes]);
    const tail = Buffer.alloc(14);
    tail.writeUInt32LE(offset, 10);
    directory.push(Buffer.concat([Buffer.from("504b01021400", "hex"), common, tail, nameBytes]));
    files.push(head, ...packed);
    offset += head.length + packedSize;
  }
  const central = Buffer.concat(directory);
  const end = Buffer.alloc(22);
  end.writeUInt32LE(0x06054b50, 0);
  end.writeUInt16LE(parts.length, 8);
  end.writeUInt16LE(parts.length, 10);
  end.writeUInt32LE(central.length, 12);
  end.writeUInt32LE(offset, 16);
  return Buffer.concat([...files, central, end]);
}
