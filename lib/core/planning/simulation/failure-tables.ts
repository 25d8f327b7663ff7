import type { RandomWords } from "./random-words";

/** More periods than this have no table: the cells of one must be told apart by 8 bits. */
export const MOST_PERIODS = 255;

const WHOLE = 2 ** 32;

/**
 * The period in which each heater first fails, ready to be drawn with one 32-bit number: an alias table
 * a heater (Walker 1977; built as by Vose 1991, in whole numbers). Outcome `periods` is "not at all".
 */
export type FailureTables = {
  readonly periods: number;
  readonly heaters: number;
  /** Bits of a drawn word that pick a cell; a table has 2^bits cells. */
  readonly bits: number;
  /** Cell by cell: threshold in the upper bits, the other outcome in the lower. */
  readonly cells: Uint32Array;
};

/**
 * Builds the tables. Chances are rounded to 2^−32 of the whole, so that 0 stays never and 1 always.
 *
 * @param conditional chance of failing in each period given that the heater stands at its start, heater
 *   by heater, `periods` of them each, from 0 to 1
 * @throws {RangeError} when a chance or the number of periods is outside its range.
 */
export function buildFailureTables(
  conditional: ArrayLike<number>,
  periods: number,
  reuse?: FailureTables,
): FailureTables {
  if (!(Number.isInteger(periods) && periods >= 1 && periods <= MOST_PERIODS)) {
    throw new RangeError(`periods must be from 1 to ${MOST_PERIODS}, got ${periods}`);
  }
  const heaters = conditional.length / periods;
  if (!Number.isInteger(heaters)) {
    throw new RangeError(`conditional must hold ${periods} values a heater`);
  }
  const bits = Math.max(1, 32 - Math.clz32(periods));
  const size = 2 ** bits;
  const isSame =
    reuse !== undefined && reuse.periods === periods && reuse.cells.length === heaters * size;
  const cells = isSame ? reuse.cells : new Uint32Array(heaters * size);
  const weights = new Float64Array(size);
  const poor = new Uint8Array(size);
  const rich = new Uint8Array(size);
  for (let i = 0; i < heaters; i++) {
    weights.fill(0);
    let alive = 1;
    let before = 0;
    for (let t = 0; t < periods; t++) {
      const chance = conditional[i * periods + t];
      if (!(chance >= 0 && chance <= 1)) {
        throw new RangeError(`conditional must be from 0 to 1, got ${chance}`);
      }
      alive *= 1 - chance;
      const failed = Math.round((1 - alive) * WHOLE);
      weights[t] = failed - before;
      before = failed;
    }
    weights[periods] = WHOLE - before;
    fillTable(weights, poor, rich, bits, cells.subarray(i * size, (i + 1) * size));
  }
  return { periods, heaters, bits, cells };
}

/** Spreads whole-number weights that sum to 2^32 over equal cells, at most two outcomes in each. */
function fillTable(
  weights: Float64Array,
  poor: Uint8Array,
  rich: Uint8Array,
  bits: number,
  cells: Uint32Array,
): void {
  const size = weights.length;
  const room = WHOLE / size;
  let poorCount = 0;
  let richCount = 0;
  for (let k = 0; k < size; k++) {
    if (weights[k] < room) poor[poorCount++] = k;
    else rich[richCount++] = k;
  }
  // Weights are whole numbers: while a cell has too little, another has too much.
  while (poorCount > 0) {
    const low = poor[--poorCount];
    const high = rich[richCount - 1];
    cells[low] = ((weights[low] << bits) | high) >>> 0;
    weights[high] -= room - weights[low];
    if (weights[high] < room) {
      richCount--;
      poor[poorCount++] = high;
    }
  }
  for (let k = 0; k < richCount; k++) cells[rich[k]] = rich[k];
}

/**
 * Draws the first failures of a block of trials: `out[trial · heaters + heater]` is the period.
 * Heaters are the outer loop, so that a table stays in the processor's nearest cache.
 */
export function drawFirstFailures(
  tables: FailureTables,
  trials: number,
  random: RandomWords,
  out: Uint8Array,
): void {
  const { heaters, bits, cells } = tables;
  const size = 1 << bits;
  const shift = 32 - bits;
  const fraction = -1 >>> bits;
  let s0 = random[0] | 0;
  let s1 = random[1] | 0;
  let s2 = random[2] | 0;
  let s3 = random[3] | 0;
  for (let i = 0; i < heaters; i++) {
    const base = i * size;
    for (let at = i, end = trials * heaters; at < end; at += heaters) {
      const product = Math.imul(s1, 5);
      const word = Math.imul((product << 7) | (product >>> 25), 9);
      const shifted = s1 << 9;
      s2 ^= s0;
      s3 ^= s1;
      s1 ^= s2;
      s0 ^= s3;
      s2 ^= shifted;
      s3 = (s3 << 11) | (s3 >>> 21);
      const cell = word >>> shift;
      const entry = cells[base + cell];
      // All ones when the fraction is below the threshold: a branch here could not be foreseen.
      const below = ((word & fraction) - (entry >>> bits)) >> 31;
      const other = entry & (size - 1);
      out[at] = other ^ ((other ^ cell) & below);
    }
  }
  random[0] = s0;
  random[1] = s1;
  random[2] = s2;
  random[3] = s3;
}

/**
 * Draws a block of trials and counts, in each, the heaters that fail in each period before they are
 * replaced: `counts[trial · (periods + 1) + period]`, added to what is there. The last column takes
 * what does not count.
 *
 * @param replacedIn period at whose start each heater is replaced; `periods` for never
 */
export function countFailuresBefore(
  tables: FailureTables,
  replacedIn: ArrayLike<number>,
  trials: number,
  random: RandomWords,
  counts: Uint32Array,
): void {
  const { heaters, periods, bits, cells } = tables;
  const size = 1 << bits;
  const shift = 32 - bits;
  const fraction = -1 >>> bits;
  const columns = periods + 1;
  const end = trials * columns;
  // Where each outcome of the heater at hand is counted, instead of a branch that cannot be foreseen.
  const columnOf = new Uint8Array(size);
  let s0 = random[0] | 0;
  let s1 = random[1] | 0;
  let s2 = random[2] | 0;
  let s3 = random[3] | 0;
  for (let i = 0; i < heaters; i++) {
    const base = i * size;
    for (let k = 0; k < size; k++) columnOf[k] = k < replacedIn[i] && k < periods ? k : periods;
    for (let row = 0; row < end; row += columns) {
      const product = Math.imul(s1, 5);
      const word = Math.imul((product << 7) | (product >>> 25), 9);
      const shifted = s1 << 9;
      s2 ^= s0;
      s3 ^= s1;
      s1 ^= s2;
      s0 ^= s3;
      s2 ^= shifted;
      s3 = (s3 << 11) | (s3 >>> 21);
      const cell = word >>> shift;
      const entry = cells[base + cell];
      const below = ((word & fraction) - (entry >>> bits)) >> 31;
      const other = entry & (size - 1);
      counts[row + columnOf[other ^ ((other ^ cell) & below)]]++;
    }
  }
  random[0] = s0;
  random[1] = s1;
  random[2] = s2;
  random[3] = s3;
}
