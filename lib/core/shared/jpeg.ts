/** What a JPEG is made of when nothing but its picture is kept. */
export type BareJpeg = {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly widthPixels: number;
  readonly heightPixels: number;
};

const START = 0xd8;
const END = 0xd9;
const SCAN = 0xda;
const ADOBE = 0xee;
/** Length of the one application segment that says how colours are to be read. */
const ADOBE_LENGTH = 14;

/**
 * A JPEG without anything that is not its picture: place, time, device and preview of the camera
 * (application segments), comments, and whatever stands behind its end. Kept are frame, tables, restart
 * interval and scans; of the application segments only the colour transform, where it has its fixed
 * length. Markers as in ITU-T T.81 (1992), table B.1.
 *
 * @returns null when the bytes are no whole JPEG of at least one pixel
 */
export function stripJpeg(bytes: Uint8Array): BareJpeg | null {
  if (bytes[0] !== 0xff || bytes[1] !== START) return null;
  const kept: Uint8Array[] = [bytes.subarray(0, 2)];
  let size: { readonly widthPixels: number; readonly heightPixels: number } | null = null;
  let hasScan = false;
  let at = 2;
  while (at + 1 < bytes.length) {
    if (bytes[at] !== 0xff) return null;
    const marker = bytes[at + 1] as number;
    // Any marker may be preceded by fill bytes.
    if (marker === 0xff) {
      at += 1;
      continue;
    }
    if (marker === END) {
      if (size === null || !hasScan) return null;
      kept.push(bytes.subarray(at, at + 2));
      return { ...size, bytes: joined(kept) };
    }
    const length = uint16(bytes, at + 2);
    const end = at + 2 + length;
    if (length < 2 || end > bytes.length) return null;
    if (isFrame(marker)) {
      if (size !== null || length < 8) return null;
      size = { heightPixels: uint16(bytes, at + 5), widthPixels: uint16(bytes, at + 7) };
      if (size.widthPixels === 0 || size.heightPixels === 0) return null;
    }
    if (marker === SCAN) {
      if (size === null) return null;
      const next = endOfScan(bytes, end);
      if (next === null) return null;
      kept.push(bytes.subarray(at, next));
      hasScan = true;
      at = next;
      continue;
    }
    if (isPicture(marker) || (marker === ADOBE && length === ADOBE_LENGTH)) {
      kept.push(bytes.subarray(at, end));
    }
    at = end;
  }
  return null;
}

/** Baseline, extended, progressive, lossless and arithmetic frames: C0 to CF but for tables. */
function isFrame(marker: number): boolean {
  return marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
}

/** Frames and tables (C0 to CF), quantisation, number of lines, restart interval, hierarchy, expansion. */
function isPicture(marker: number): boolean {
  return (marker >= 0xc0 && marker <= 0xcf) || (marker >= 0xdb && marker <= 0xdf);
}

/** Where the coded picture of a scan ends: at the first marker that is neither a restart nor stuffing. */
function endOfScan(bytes: Uint8Array, from: number): number | null {
  for (let at = from; at + 1 < bytes.length; at += 1) {
    if (bytes[at] !== 0xff) continue;
    const next = bytes[at + 1] as number;
    if (next === 0 || next === 0xff || (next >= 0xd0 && next <= 0xd7)) continue;
    return at;
  }
  return null;
}

/** 0 beyond the end: too short for any segment. */
function uint16(bytes: Uint8Array, at: number): number {
  return at + 1 < bytes.length ? (bytes[at] as number) * 256 + (bytes[at + 1] as number) : 0;
}

function joined(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.length;
  }
  return bytes;
}
