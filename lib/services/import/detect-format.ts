import { TableError } from "./table-limits";
import { headOfSource, streamSource, type TableSource } from "./table-source";

export type TextEncoding = "utf-8" | "utf-16le" | "utf-16be" | "windows-1252";

export type FileFormat =
  | { readonly kind: "xlsx" }
  /** `markLength` bytes of byte order mark stand before the text. */
  | { readonly kind: "csv"; readonly encoding: TextEncoding; readonly markLength: number };

const SNIFFED_BYTES = 65_536;
const SAVE_AS = "save it as CSV or XLSX and bring that in";

/** First bytes of files that people take for tables, or send by mistake. */
const SIGNATURES: readonly (readonly [string, string])[] = [
  [
    "d0cf11e0a1b11ae1",
    `the file is an old .xls workbook or has a password; ${SAVE_AS}, without a password`,
  ],
  ["25504446", `the file is a PDF; ${SAVE_AS}`],
  ["1f8b", "the file is packed with gzip; unpack it first"],
  ["377abcaf271c", "the file is a 7z archive; unpack it first"],
  ["526172211a07", "the file is a RAR archive; unpack it first"],
  ["89504e47", "the file is a picture, not a table"],
  ["ffd8ff", "the file is a picture, not a table"],
  ["47494638", "the file is a picture, not a table"],
  ["7b5c727466", `the file is a text document; ${SAVE_AS}`],
  ["53514c69746520666f726d6174", `the file is a database; ${SAVE_AS}`],
];

/**
 * What a file is, told by its bytes and never by its name.
 *
 * @throws {TableError} for a file that is neither a workbook nor text
 */
export async function detectFormat(source: TableSource): Promise<FileFormat> {
  const head = await headOfSource(source, SNIFFED_BYTES);
  if (head.length === 0) throw new TableError("the file is empty");
  const hex = head.subarray(0, 16).toString("hex");
  if (hex.startsWith("504b0304") || hex.startsWith("504b0506")) return { kind: "xlsx" };
  const known = SIGNATURES.find(([signature]) => hex.startsWith(signature));
  if (known) throw new TableError(known[1]);

  const format = await detectEncoding(source, head);
  refuseMarkup(head, format);
  return { kind: "csv", ...format };
}

type DetectedEncoding = { readonly encoding: TextEncoding; readonly markLength: number };

async function detectEncoding(source: TableSource, head: Buffer): Promise<DetectedEncoding> {
  if (head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf) {
    const counts = await countUtf8(source);
    if (counts.invalid > 0) throw mixedEncodings();
    return { encoding: "utf-8", markLength: 3 };
  }
  if (head[0] === 0xff && head[1] === 0xfe) return { encoding: "utf-16le", markLength: 2 };
  if (head[0] === 0xfe && head[1] === 0xff) return { encoding: "utf-16be", markLength: 2 };

  // Latin text in UTF-16 has a zero in every other byte; no text in other encodings has zeros.
  const zeros = [0, 0];
  for (let index = 0; index < head.length; index += 1) {
    if (head[index] === 0) zeros[index % 2] = (zeros[index % 2] as number) + 1;
  }
  const [even, odd] = zeros as [number, number];
  if (even + odd > 0) {
    if (odd > head.length * 0.3 && even < head.length * 0.05) {
      return { encoding: "utf-16le", markLength: 0 };
    }
    if (even > head.length * 0.3 && odd < head.length * 0.05) {
      return { encoding: "utf-16be", markLength: 0 };
    }
    throw new TableError(`the file is not text; ${SAVE_AS}`);
  }
  const { invalid, multibyte } = await countUtf8(source);
  if (invalid === 0) return { encoding: "utf-8", markLength: 0 };
  // A word or two pasted from elsewhere can look like UTF-8 by chance; more of it is no chance.
  if (multibyte > invalid) throw mixedEncodings();
  return { encoding: "windows-1252", markLength: 0 };
}

function mixedEncodings(): TableError {
  return new TableError(
    "the file mixes two character encodings, so that names would be garbled; save it as CSV UTF-8 and bring that in",
  );
}

/**
 * Counts sequences of two or more bytes that are UTF-8 and bytes that are not (RFC 3629), over the
 * whole file, as the first odd byte may come late.
 */
async function countUtf8(
  source: TableSource,
): Promise<{ readonly multibyte: number; readonly invalid: number }> {
  let multibyte = 0;
  let invalid = 0;
  let pending = 0;
  let low = 0x80;
  let high = 0xbf;
  for await (const chunk of streamSource(source) as AsyncIterable<Buffer>) {
    for (let index = 0; index < chunk.length; index += 1) {
      const byte = chunk[index] as number;
      if (pending > 0) {
        if (byte >= low && byte <= high) {
          pending -= 1;
          low = 0x80;
          high = 0xbf;
          if (pending === 0) multibyte += 1;
          continue;
        }
        invalid += 1;
        pending = 0;
      }
      if (byte < 0x80) continue;
      low = 0x80;
      high = 0xbf;
      if (byte >= 0xc2 && byte <= 0xdf) pending = 1;
      else if (byte >= 0xe0 && byte <= 0xef) {
        pending = 2;
        if (byte === 0xe0) low = 0xa0;
        if (byte === 0xed) high = 0x9f;
      } else if (byte >= 0xf0 && byte <= 0xf4) {
        pending = 3;
        if (byte === 0xf0) low = 0x90;
        if (byte === 0xf4) high = 0x8f;
      } else invalid += 1;
    }
  }
  return { multibyte, invalid: invalid + (pending > 0 ? 1 : 0) };
}

/** Web pages and XML saved under a table's name are common exports; read as text they are rubbish. */
function refuseMarkup(head: Buffer, { encoding, markLength }: DetectedEncoding): void {
  const text = new TextDecoder(encoding).decode(head.subarray(markLength, markLength + 512));
  if (/^\s*<(\?xml|!doctype|html|table|meta|head|workbook)\b/i.test(text)) {
    throw new TableError(`the file is a web page or XML under a table's name; open it, ${SAVE_AS}`);
  }
  if (/^\s*[{[]\s*["{[]/.test(text)) throw new TableError(`the file is JSON; ${SAVE_AS}`);
}
