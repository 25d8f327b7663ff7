import { randomFillSync } from "node:crypto";

const pool = Buffer.alloc(10 * 1024);
let at = pool.length;

/**
 * An identifier whose beginning is the time (RFC 9562, version 7): rows that are made together lie
 * together in an index, which writes them several times faster than random ones.
 */
export function uuid7(): string {
  if (at === pool.length) {
    randomFillSync(pool);
    at = 0;
  }
  const time = Date.now().toString(16).padStart(12, "0");
  const random = pool.toString("hex", at, at + 10);
  at += 10;
  const variant = ((Number.parseInt(random[3] as string, 16) & 0x3) | 0x8).toString(16);
  return `${time.slice(0, 8)}-${time.slice(8)}-7${random.slice(0, 3)}-${variant}${random.slice(4, 7)}-${random.slice(7, 19)}`;
}
