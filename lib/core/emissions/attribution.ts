/**
 * Splits the change of a total between causes that can each be switched on: the average, over all
 * orders in which they may be switched, of what each adds (Shapley value, 1953). No cause is favoured
 * by its place in a list, and the parts add up to the whole.
 *
 * @param totalOf the total with the causes of a bit set switched on: bit 0 is the first cause. It is
 *   asked once for each of the 2^n sets.
 * @returns the part of each cause, in the order of the bits
 * @throws {RangeError} for more than 12 causes
 */
export function attributeChange(causes: number, totalOf: (set: number) => number): number[] {
  if (!(causes >= 0 && causes <= 12)) {
    throw new RangeError(`causes must be from 0 to 12, got ${causes}`);
  }
  const values = Array.from({ length: 2 ** causes }, (_, set) => totalOf(set));
  const parts = new Array<number>(causes).fill(0);
  for (let cause = 0; cause < causes; cause++) {
    const bit = 2 ** cause;
    for (let set = 0; set < values.length; set++) {
      if ((set & bit) !== 0) continue;
      const weight = orderShare(bitsOf(set), causes);
      parts[cause] =
        (parts[cause] as number) +
        weight * ((values[set | bit] as number) - (values[set] as number));
    }
  }
  return parts;
}

/** Share of the orders of `causes` in which a given set of `before` comes just before a given cause. */
function orderShare(before: number, causes: number): number {
  let share = 1 / causes;
  // before! · (causes − before − 1)! / causes!, without the factorials.
  for (let k = 1; k <= before; k++) share *= k / (causes - k);
  return share;
}

function bitsOf(set: number): number {
  let count = 0;
  for (let rest = set; rest > 0; rest >>= 1) count += rest & 1;
  return count;
}
