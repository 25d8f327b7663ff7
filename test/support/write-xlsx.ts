import { deflateRawSync } from "node:zlib";

/** A cell to write: text, number, yes or no, empty, or one of the forms that workbooks also use. */
export type XlsxCell =
  | string
  | number
  | boolean
  | null
  /** A day or any number with a number format (`m/d/yyyy`, `mmm-yy`). */
  | { readonly serial: number; readonly format: string }
  | { readonly inline: string }
  | { readonly formula: string; readonly result: string }
  | { readonly error: string };

export type XlsxSheet = {
  readonly name: string;
  readonly rows: readonly (readonly XlsxCell[])[];
  readonly isHidden?: boolean;
  /** Numbers of the rows; without them they count from 1. */
  readonly rowNumbers?: readonly number[];
};

export type XlsxContent = { readonly sheets: readonly XlsxSheet[]; readonly uses1904?: boolean };

/** Writes a small, correct workbook (ISO/IEC 29500) with shared texts. */
export function writeXlsx(content: XlsxContent): Buffer {
  return writeZip(xlsxParts(content));
}

/** The parts of that workbook by name, for tests that spoil one of them. */
export function xlsxParts({ sheets, uses1904 = false }: XlsxContent): Map<string, string> {
  const texts = new Map<string, number>();
  const formats: string[] = [];
  const parts = new Map<string, string>();
  const sheetXml = sheets.map((sheet) => writeSheet(sheet, texts, formats));
  const head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';
  const main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
  const relations = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
  const packaged = "http://schemas.openxmlformats.org/package/2006";

  parts.set(
    "[Content_Types].xml",
    `${head}<Types xmlns="${packaged}/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>${sheets
      .map(
        (_sheet, index) =>
          `<Override PartName="/xl/worksheets/sheet${index + 1}.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`,
      )
      .join(
        "",
      )}<Override PartName="/xl/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/><Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>`,
  );
  parts.set(
    "_rels/.rels",
    `${head}<Relationships xmlns="${packaged}/relationships"><Relationship Id="rId1" Type="${relations}/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
  );
  parts.set(
    "xl/workbook.xml",
    `${head}<workbook xmlns="${main}" xmlns:r="${relations}"><workbookPr${uses1904 ? ' date1904="1"' : ""}/><sheets>${sheets
      .map(
        (sheet, index) =>
          `<sheet name="${escapeXml(sheet.name)}" sheetId="${index + 1}"${sheet.isHidden ? ' state="hidden"' : ""} r:id="rId${index + 1}"/>`,
      )
      .join("")}</sheets></workbook>`,
  );
  parts.set(
    "xl/_rels/workbook.xml.rels",
    `${head}<Relationships xmlns="${packaged}/relationships">${sheets
      .map(
        (_sheet, index) =>
          `<Relationship Id="rId${index + 1}" Type="${relations}/worksheet" Target="worksheets/sheet${index + 1}.xml"/>`,
      )
      .join(
        "",
      )}<Relationship Id="rIdStyles" Type="${relations}/styles" Target="styles.xml"/><Relationship Id="rIdTexts" Type="${relations}/sharedStrings" Target="sharedStrings.xml"/></Relationships>`,
  );
  parts.set(
    "xl/styles.xml",
    `${head}<styleSheet xmlns="${main}"><numFmts count="${formats.length}">${formats
      .map(
        (format, index) => `<numFmt numFmtId="${164 + index}" formatCode="${escapeXml(format)}"/>`,
      )
      .join(
        "",
      )}</numFmts><fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders><cellStyleXfs count="1"><xf numFmtId="0"/></cellStyleXfs><cellXfs count="${formats.length + 1}"><xf numFmtId="0"/>${formats
      .map((_format, index) => `<xf numFmtId="${164 + index}" applyNumberFormat="1"/>`)
      .join("")}</cellXfs></styleSheet>`,
  );
  parts.set(
    "xl/sharedStrings.xml",
    `${head}<sst xmlns="${main}" uniqueCount="${texts.size}">${[...texts.keys()]
      .map((text) => `<si><t xml:space="preserve">${escapeXml(text)}</t></si>`)
      .join("")}</sst>`,
  );
  sheetXml.forEach((xml, index) => {
    parts.set(
      `xl/worksheets/sheet${index + 1}.xml`,
      `${head}<worksheet xmlns="${main}"><sheetData>${xml}</sheetData></worksheet>`,
    );
  });
  return parts;
}

function writeSheet(sheet: XlsxSheet, texts: Map<string, number>, formats: string[]): string {
  return sheet.rows
    .map((cells, rowIndex) => {
      const rowNumber = sheet.rowNumbers?.[rowIndex] ?? rowIndex + 1;
      const written = cells.map((cell, column) => {
        const reference = `${columnName(column)}${rowNumber}`;
        return writeCell(cell, reference, texts, formats);
      });
      return `<row r="${rowNumber}">${written.join("")}</row>`;
    })
    .join("");
}

function writeCell(
  cell: XlsxCell,
  reference: string,
  texts: Map<string, number>,
  formats: string[],
): string {
  if (cell === null || cell === "") return "";
  if (typeof cell === "number") return `<c r="${reference}"><v>${cell}</v></c>`;
  if (typeof cell === "boolean") return `<c r="${reference}" t="b"><v>${cell ? 1 : 0}</v></c>`;
  if (typeof cell === "string") {
    let index = texts.get(cell);
    if (index === undefined) {
      index = texts.size;
      texts.set(cell, index);
    }
    return `<c r="${reference}" t="s"><v>${index}</v></c>`;
  }
  if ("inline" in cell) {
    return `<c r="${reference}" t="inlineStr"><is><t>${escapeXml(cell.inline)}</t></is></c>`;
  }
  if ("error" in cell) return `<c r="${reference}" t="e"><v>${escapeXml(cell.error)}</v></c>`;
  if ("formula" in cell) {
    return `<c r="${reference}" t="str"><f>${escapeXml(cell.formula)}</f><v>${escapeXml(cell.result)}</v></c>`;
  }
  let style = formats.indexOf(cell.format);
  if (style < 0) style = formats.push(cell.format) - 1;
  return `<c r="${reference}" s="${style + 1}"><v>${cell.serial}</v></c>`;
}

function columnName(column: number): string {
  let name = "";
  for (let rest = column + 1; rest > 0; rest = Math.floor((rest - 1) / 26)) {
    name = String.fromCharCode(65 + ((rest - 1) % 26)) + name;
  }
  return name;
}

/** XML 1.0 cannot hold most control characters; a workbook writes them as `_xHHHH_`. */
function escapeXml(text: string): string {
  return (
    text
      .replace(/_x[0-9A-Fa-f]{4}_/g, (match) => `_x005F${match}`)
      // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what must be escaped
      .replace(/[\u0000-\u0008\u000B-\u001F]/g, (sign) => {
        return `_x${sign.charCodeAt(0).toString(16).padStart(4, "0").toUpperCase()}_`;
      })
      .replaceAll("&", "&amp;")
      .replaceAll("<", "&lt;")
      .replaceAll(">", "&gt;")
      .replaceAll('"', "&quot;")
  );
}

/** A ZIP archive of deflated parts (the format's public application note, 4.3). */
export function writeZip(parts: ReadonlyMap<string, string | Uint8Array>): Buffer {
  const local: Buffer[] = [];
  const central: Buffer[] = [];
  let offset = 0;
  for (const [name, content] of parts) {
    const nameBytes = Buffer.from(name, "utf8");
    const bytes = typeof content === "string" ? Buffer.from(content, "utf8") : content;
    const packed = deflateRawSync(bytes, { level: 1 });
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0);
    common.writeUInt16LE(0x0800, 2);
    common.writeUInt16LE(8, 4);
    common.writeUInt16LE(0x21, 8);
    common.writeUInt32LE(crc32(bytes), 10);
    common.writeUInt32LE(packed.length, 14);
    common.writeUInt32LE(bytes.length, 18);
    common.writeUInt16LE(nameBytes.length, 22);
    const localHead = Buffer.concat([Buffer.from("504b0304", "hex"), common, nameBytes]);
    const tail = Buffer.alloc(14);
    tail.writeUInt32LE(offset, 10);
    central.push(Buffer.concat([Buffer.from("504b01021400", "hex"), common, tail, nameBytes]));
    local.push(localHead, packed);
    offset += localHead.length + packed.length;
  }
  const directory = Buffer.concat(central);
  const end = Buffer.alloc(22);
  end.writeUInt32LE(0x06054b50, 0);
  end.writeUInt16LE(parts.size, 8);
  end.writeUInt16LE(parts.size, 10);
  end.writeUInt32LE(directory.length, 12);
  end.writeUInt32LE(offset, 16);
  return Buffer.concat([...local, directory, end]);
}

const CRC_TABLE = Array.from({ length: 256 }, (_unused, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit += 1) value = value & 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  return value >>> 0;
});

function crc32(bytes: Uint8Array): number {
  let value = 0xffffffff;
  for (const byte of bytes) value = (value >>> 8) ^ (CRC_TABLE[(value ^ byte) & 0xff] as number);
  return (value ^ 0xffffffff) >>> 0;
}
