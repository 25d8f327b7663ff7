import { DemoRandom } from "./random";

/** Numbers the tables, so that no two rows of a portfolio share an id. */
export const TABLE_CODES = {
  property: 1,
  building: 2,
  unit: 3,
  waterTest: 4,
  heater: 5,
  retirement: 6,
  readinessAnswer: 7,
  serviceVisit: 8,
  visitTask: 9,
  meterReading: 10,
  energyInstrument: 11,
  propertyPolicy: 12,
} as const;

/** The last three digits of an id, made once: a large portfolio asks for millions of ids. */
const LAST_DIGITS = Array.from({ length: 4096 }, (_, value) => value.toString(16).padStart(3, "0"));

/**
 * Makes the ids of one table: UUID text of version 8 (RFC 9562, section 5.8: layout of our own),
 * from the portfolio's seed, the table and a running number. Rising ids keep indexes compact.
 */
export class IdMaker {
  private count = 0;
  private readonly prefix: string;
  private leading = "";

  /** @param stamp 15 hexadecimal digits that differ from seed to seed. */
  constructor(stamp: string, table: keyof typeof TABLE_CODES) {
    const code = TABLE_CODES[table].toString(16).padStart(3, "0");
    this.prefix = `${stamp.slice(0, 8)}-${stamp.slice(8, 12)}-8${stamp.slice(12, 15)}-8${code}-`;
  }

  next(): string {
    const last = this.count % LAST_DIGITS.length;
    if (last === 0) {
      const rest = Math.floor(this.count / LAST_DIGITS.length);
      this.leading = this.prefix + rest.toString(16).padStart(9, "0");
    }
    this.count++;
    return this.leading + LAST_DIGITS[last];
  }
}

export type Ids = Readonly<Record<keyof typeof TABLE_CODES, IdMaker>>;

/** The id makers of a portfolio, from its seed. */
export function makeIds(seed: number): Ids {
  // A stream of its own, so that ids and data do not depend on one another.
  const random = new DemoRandom(seed ^ 0x5eed1d5);
  const hex = () => random.uint32().toString(16).padStart(8, "0");
  const stamp = `${hex()}${hex()}`.slice(0, 15);
  return Object.fromEntries(
    Object.keys(TABLE_CODES).map((table) => [
      table,
      new IdMaker(stamp, table as keyof typeof TABLE_CODES),
    ]),
  ) as Ids;
}
