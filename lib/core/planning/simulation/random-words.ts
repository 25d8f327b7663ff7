import { createRandom } from "@/lib/core/stats/random";

/** The four words of a xoshiro128** generator, moved on in place by whoever draws from it. */
export type RandomWords = Uint32Array;

/**
 * A stream for the samplers, which keep its words in local variables while they draw. The same seed
 * gives the same bits.
 *
 * @throws {RangeError} when the seed is not a safe integer.
 */
export function randomWords(seed: number): RandomWords {
  const random = createRandom(seed);
  const words = Uint32Array.from({ length: 4 }, () => random.nextUint32());
  // All four zero is the one state that the generator cannot leave.
  if (words.every((word) => word === 0)) words[0] = 1;
  return words;
}

/**
 * A 32-bit number that depends on nothing but a stream's key and two counters, so that an event gets
 * the same number in every strategy, whatever happened before it. The 32-bit finaliser of MurmurHash3
 * over a Weyl sequence.
 */
export function hashWord(key: number, first: number, second: number): number {
  let word = (key + Math.imul(first + 1, 0x9e3779b9)) | 0;
  word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
  word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
  word = (word ^ (word >>> 16)) + Math.imul(second + 1, 0x7f4a7c15);
  word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
  word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
  return (word ^ (word >>> 16)) >>> 0;
}
