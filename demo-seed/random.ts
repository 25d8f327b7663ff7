/**
 * A small seeded generator of the demo's own: sfc32 (Chris Doty-Humphrey, public domain), seeded
 * through splitmix32. It is kept apart from the statistics of lib/core, so that data made here can
 * test the models there.
 */
export class DemoRandom {
  private a = 0;
  private b = 0;
  private c = 0;
  private counter = 1;

  /** @param seed any integer; only its low 32 bits count. */
  constructor(seed: number) {
    let state = seed | 0;
    const splitmix32 = (): number => {
      state = (state + 0x9e3779b9) | 0;
      let z = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
      z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
      return (z ^ (z >>> 15)) >>> 0;
    };
    this.a = splitmix32();
    this.b = splitmix32();
    this.c = splitmix32();
    for (let warmUp = 0; warmUp < 12; warmUp++) this.uint32();
  }

  /** A whole number from 0 to 2^32 − 1. */
  uint32(): number {
    const sum = (this.a + this.b + this.counter) | 0;
    this.counter = (this.counter + 1) | 0;
    this.a = this.b ^ (this.b >>> 9);
    this.b = (this.c + (this.c << 3)) | 0;
    this.c = (((this.c << 21) | (this.c >>> 11)) + sum) | 0;
    return sum >>> 0;
  }

  /** A number strictly between 0 and 1. */
  unit(): number {
    return (this.uint32() + 0.5) / 4_294_967_296;
  }

  /** A number from `low` to `high`. */
  between(low: number, high: number): number {
    return low + (high - low) * this.unit();
  }

  /** A whole number from `low` to `high`, both included. */
  whole(low: number, high: number): number {
    return low + Math.floor((high - low + 1) * this.unit());
  }

  /** True with the given probability. */
  chance(probability: number): boolean {
    return this.unit() < probability;
  }

  /** One of the items, each as likely. */
  pick<T>(items: readonly T[]): T {
    return items[Math.floor(items.length * this.unit())] as T;
  }

  /** One of the items in proportion to its weight. */
  pickWeighted<T>(items: readonly (readonly [item: T, weight: number])[]): T {
    let total = 0;
    for (const [, weight] of items) total += weight;
    let left = total * this.unit();
    for (const [item, weight] of items) {
      left -= weight;
      if (left < 0) return item;
    }
    return (items.at(-1) as readonly [T, number])[0];
  }

  /** Exponential with mean 1. */
  exponential(): number {
    return -Math.log(this.unit());
  }

  /** Standard normal (Box and Muller 1958). */
  normal(): number {
    return Math.sqrt(2 * this.exponential()) * Math.cos(2 * Math.PI * this.unit());
  }
}
