/** A seeded source of random numbers. Each call moves it on; the same seed gives the same numbers. */
export type RandomSource = {
  /** An integer from 0 to 2^32 − 1, each equally likely. */
  readonly nextUint32: () => number;
  /** A number in [0, 1) with 53 random bits. */
  readonly nextUniform: () => number;
  /** A draw from the standard normal distribution. */
  readonly nextNormal: () => number;
};

/** The four 32-bit words of the generator's state, not all zero. */
export type RandomState = readonly [number, number, number, number];

/**
 * A random source from one whole-number seed. The seed is taken modulo 2^32.
 *
 * The state is filled by four outputs of splitmix32 (a Weyl sequence with step 0x9e3779b9 through
 * the 32-bit finaliser of MurmurHash3), so that close seeds give unrelated streams.
 * @throws {RangeError} when the seed is not a safe integer.
 */
export function createRandom(seed: number): RandomSource {
  if (!Number.isSafeInteger(seed)) throw new RangeError(`seed must be a whole number, got ${seed}`);
  let weyl = seed | 0;
  const nextWord = (): number => {
    weyl = (weyl + 0x9e3779b9) | 0;
    let word = weyl;
    word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
    word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
    return (word ^ (word >>> 16)) >>> 0;
  };
  return createRandomFromState([nextWord(), nextWord(), nextWord(), nextWord()]);
}

/**
 * xoshiro128** 1.1 of Blackman and Vigna ("Scrambled linear pseudorandom number generators", ACM
 * TOMS 47:4, 2021), period 2^128 − 1. Normal draws by Marsaglia's polar method.
 * @throws {RangeError} when every word of the state is zero.
 */
export function createRandomFromState(state: RandomState): RandomSource {
  let [s0, s1, s2, s3] = state;
  if ((s0 | s1 | s2 | s3) === 0) throw new RangeError("state must not be all zero, got 0,0,0,0");

  const nextUint32 = (): number => {
    const product = Math.imul(s1, 5);
    const result = Math.imul((product << 7) | (product >>> 25), 9) >>> 0;
    const shifted = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= shifted;
    s3 = (s3 << 11) | (s3 >>> 21);
    return result;
  };

  const nextUniform = (): number =>
    ((nextUint32() >>> 5) * 67_108_864 + (nextUint32() >>> 6)) / 9_007_199_254_740_992;

  // The polar method makes normals in pairs; the second waits here.
  let spare: number | null = null;
  const nextNormal = (): number => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * nextUniform() - 1;
      const v = 2 * nextUniform() - 1;
      const square = u * u + v * v;
      if (square > 0 && square < 1) {
        const factor = Math.sqrt((-2 * Math.log(square)) / square);
        spare = v * factor;
        return u * factor;
      }
    }
  };

  return { nextUint32, nextUniform, nextNormal };
}
