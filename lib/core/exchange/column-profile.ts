import { isUnknownWord } from "./cell-words";
import { type DateOrderEvidence, dateOrderOfCell } from "./parse-date";
import { parseNumber } from "./parse-number";

/** What a column's cells look like, gathered over the whole file in little memory. */
export type ColumnProfile = {
  /** Cells that are not empty, nor `?`, `-` or `n/a`. */
  readonly filledCount: number;
  /** Different texts of the first rows, at most {@link SAMPLE_SIZE}. */
  readonly samples: readonly string[];
  /** Middle of the bare numbers among the first rows; null where there are none. */
  readonly medianNumber: number | null;
  readonly dateOrder: DateOrderEvidence;
  /** The first row of data has a text here. */
  readonly startsFilled: boolean;
  /** Most rows in a row without a text: a grouped sheet names a property once and leaves gaps. */
  readonly longestGap: number;
};

/** Different texts kept of each column. */
export const SAMPLE_SIZE = 40;
const SAMPLED_ROWS = 500;

/** Gathers the profiles of a file's columns row by row. */
export class ColumnProfiler {
  #rowCount = 0;
  readonly #columns: MutableProfile[];

  constructor(columnCount: number) {
    this.#columns = Array.from({ length: columnCount }, newProfile);
  }

  observe(cells: readonly string[]): void {
    const isSampled = this.#rowCount < SAMPLED_ROWS;
    for (let index = 0; index < this.#columns.length; index += 1) {
      const column = this.#columns[index] as MutableProfile;
      const text = cells[index] ?? "";
      if (text === "" || (text.length <= 3 && isUnknownWord(text))) {
        column.gap += 1;
        if (column.gap > column.longestGap) column.longestGap = column.gap;
        continue;
      }
      column.gap = 0;
      column.filledCount += 1;
      const says = dateOrderOfCell(text);
      if (says) column.dateOrder[says] += 1;
      if (!isSampled) continue;
      if (this.#rowCount === 0) column.startsFilled = true;
      if (column.samples.size < SAMPLE_SIZE && text.length <= 200) column.samples.add(text);
      const number = parseNumber(text);
      if (number !== null) column.numbers.push(number);
    }
    this.#rowCount += 1;
  }

  get rowCount(): number {
    return this.#rowCount;
  }

  profiles(): readonly ColumnProfile[] {
    return this.#columns.map((column) => ({
      filledCount: column.filledCount,
      samples: [...column.samples],
      medianNumber: median(column.numbers),
      dateOrder: { ...column.dateOrder },
      startsFilled: column.startsFilled,
      longestGap: column.longestGap,
    }));
  }
}

type MutableProfile = {
  filledCount: number;
  readonly samples: Set<string>;
  readonly numbers: number[];
  readonly dateOrder: { -readonly [K in keyof DateOrderEvidence]: DateOrderEvidence[K] };
  startsFilled: boolean;
  gap: number;
  longestGap: number;
};

function newProfile(): MutableProfile {
  return {
    filledCount: 0,
    samples: new Set(),
    numbers: [],
    dateOrder: { mdyOnly: 0, dmyOnly: 0, either: 0, pointed: 0 },
    startsFilled: false,
    gap: 0,
    longestGap: 0,
  };
}

function median(numbers: readonly number[]): number | null {
  if (numbers.length === 0) return null;
  const sorted = [...numbers].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? null;
}
