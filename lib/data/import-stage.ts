import type pg from "pg";
import { type CopyValue, copyRows } from "./bulk";

/** Names and types of the columns of a stage, in the order in which rows are copied. */
export type StageColumns = Readonly<Record<string, string>>;

export type Statement = readonly [sql: string, values: readonly unknown[]];

/**
 * Writes many rows with few statements: COPY does not go into a table under row-level security, so
 * the rows go into a table of the transaction's own, which the statements read, and which is then emptied.
 *
 * @returns the number of rows that each statement wrote
 */
export async function writeThroughStage(
  client: pg.ClientBase,
  name: string,
  columns: StageColumns,
  rows: Iterable<readonly CopyValue[]>,
  statements: readonly Statement[],
): Promise<readonly number[]> {
  const definitions = Object.entries(columns).map(([column, type]) => `"${column}" ${type}`);
  await client.query(
    `CREATE TEMPORARY TABLE IF NOT EXISTS ${name} (${definitions.join(", ")}) ON COMMIT DROP`,
  );
  await copyRows(client, name, Object.keys(columns), rows);
  const counts: number[] = [];
  for (const [sql, values] of statements) {
    const { rowCount } = await client.query(sql, [...values]);
    counts.push(rowCount ?? 0);
  }
  await client.query(`TRUNCATE ${name}`);
  return counts;
}

/** Column names for a statement, each in quotes and behind a prefix such as `s.`. */
export function listColumns(columns: readonly string[], prefix = ""): string {
  return columns.map((column) => `${prefix}"${column}"`).join(", ");
}

/** `"a" = s."a", …` for an UPDATE from a stage `s`. */
export function assignColumns(columns: readonly string[]): string {
  return columns.map((column) => `"${column}" = s."${column}"`).join(", ");
}
