import pg from "pg";

/**
 * Values come back as the domain holds them: DATE as `YYYY-MM-DD` text (never an instant), BIGINT
 * and NUMERIC (counts and sums) as numbers.
 */
const PARSERS: Readonly<Record<number, (text: string) => unknown>> = {
  20: Number,
  1082: (text) => text,
  1700: Number,
};

const types: pg.CustomTypesConfig = {
  getTypeParser(oid: number, format?: "text" | "binary") {
    const own = format === "binary" ? undefined : PARSERS[oid];
    return own ?? pg.types.getTypeParser(oid, format as "text");
  },
} as pg.CustomTypesConfig;

/** A pool whose rows hold calendar days as text and counts as numbers. */
export function createPool(connectionString: string, max: number): pg.Pool {
  const pool = new pg.Pool({ connectionString, max, types });
  // A connection that the server ends while idle (a restart) is replaced on the next query.
  pool.on("error", () => undefined);
  return pool;
}
