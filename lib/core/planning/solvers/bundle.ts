/**
 * Proximal bundle method for maximising a sum of concave functions, one for each group, less a linear
 * part λ · limit, over 0 ≤ λ ≤ ceiling (Kiwiel, "Proximity control in bundle methods for convex
 * nondifferentiable minimization", Mathematical Programming 46, 1990; one model for each group as in
 * Frangioni, "Generalized bundle methods", SIAM J. Optimization 13, 2002: both from memory).
 *
 * Every answer of a group is a cut: its function lies below value + use · (λ − point). The next point is
 * the best of the lowest cuts, summed, less the squared distance from the centre; the dual of that
 * problem, over weights of the cuts that sum to one in each group, is solved by pairwise steps. The
 * weights of the last point make a mixture of answers that nearly meets the constraints whose
 * multipliers λ are.
 */
export class ProximalBundle {
  readonly center: Float64Array;
  centerValue = Number.NEGATIVE_INFINITY;
  /** Weight of each cut in the last proposal, by group · capacity + slot. */
  readonly weights: Float64Array;
  readonly capacity: number;
  /** Where the last proposal is, and what the cuts promise there. */
  readonly proposal: Float64Array;
  promised = Number.POSITIVE_INFINITY;
  slotCount = 0;

  readonly #groups: number;
  readonly #dimension: number;
  readonly #ceiling: Float64Array;
  readonly #limit: Float64Array;
  /** Use by group, slot and dimension. */
  readonly #uses: Float64Array;
  /** Cut at λ = 0, by group and slot. */
  readonly #intercepts: Float64Array;
  readonly #unused: Int32Array;
  /** Use of the weighted cuts of all groups, less the limit. */
  readonly #mixture: Float64Array;
  readonly #values: Float64Array;
  readonly #firstStep: number;
  #step = 0;
  #nullSteps = 0;

  /**
   * @param limit of each constraint
   * @param firstStep what the first step should promise, as a share of the value
   */
  constructor({
    center,
    ceiling,
    limit,
    groups,
    capacity,
    firstStep,
  }: {
    readonly center: Float64Array;
    readonly ceiling: Float64Array;
    readonly limit: Float64Array;
    readonly groups: number;
    readonly capacity: number;
    readonly firstStep: number;
  }) {
    this.center = center.slice();
    this.proposal = center.slice();
    this.capacity = capacity;
    this.#dimension = center.length;
    this.#ceiling = ceiling;
    this.#limit = limit;
    this.#groups = groups;
    this.#firstStep = firstStep;
    this.weights = new Float64Array(groups * capacity);
    this.#uses = new Float64Array(groups * capacity * center.length);
    this.#intercepts = new Float64Array(groups * capacity);
    this.#unused = new Int32Array(capacity);
    this.#mixture = new Float64Array(center.length);
    this.#values = new Float64Array(capacity);
  }

  /** Slot that the next answers take: a free one, or that whose cuts were useless for longest. */
  nextSlot(): number {
    if (this.slotCount < this.capacity) return this.slotCount;
    let slot = 0;
    for (let k = 1; k < this.capacity; k++) if (this.#unused[k] > this.#unused[slot]) slot = k;
    return slot;
  }

  /**
   * Takes the answers at the last proposal (at first: at the centre).
   *
   * @param values by group; they may be a little above the functions
   * @param uses by group · dimension
   */
  add(slot: number, values: Float64Array, uses: Float64Array): void {
    const d = this.#dimension;
    const point = this.proposal;
    let total = 0;
    for (let r = 0; r < d; r++) total -= point[r] * this.#limit[r];
    for (let g = 0; g < this.#groups; g++) {
      const at = g * this.capacity + slot;
      let dot = 0;
      for (let r = 0; r < d; r++) {
        const use = uses[g * d + r];
        this.#uses[at * d + r] = use;
        dot += use * point[r];
      }
      this.#intercepts[at] = values[g] - dot;
      total += values[g];
      this.#passWeightOn(g, slot);
    }
    this.#unused[slot] = 0;
    if (slot === this.slotCount) this.slotCount++;
    if (this.#step === 0) {
      let norm = 0;
      for (let r = 0; r < d; r++) {
        let gradient = -this.#limit[r];
        for (let g = 0; g < this.#groups; g++) gradient += uses[g * d + r];
        if (gradient > 0 || point[r] > 0) norm += gradient * gradient;
      }
      this.#step = norm > 0 ? (this.#firstStep * Math.max(1, Math.abs(total))) / norm : 1;
      for (let g = 0; g < this.#groups; g++) this.weights[g * this.capacity + slot] = 1;
      this.centerValue = total;
      return;
    }

    // Proximity control: longer steps while the model is trusted, shorter after it deceived.
    const predicted = this.promised - this.centerValue;
    const gained = total - this.centerValue;
    if (gained >= 0.1 * predicted) {
      const trusted = 0.5 / Math.max(1 - gained / Math.max(predicted, 1e-300), 0.05);
      if (this.#nullSteps <= 0 || gained >= 0.5 * predicted) {
        this.#step *= Math.min(10, Math.max(1, gained >= 0.5 * predicted ? trusted : 1.2));
      }
      this.#nullSteps = Math.min(this.#nullSteps - 1, -1);
    } else {
      this.#nullSteps = Math.max(this.#nullSteps + 1, 1);
      if (this.#nullSteps >= 3 && gained < -predicted) {
        this.#step *= Math.max(0.25, 0.5 / (1 - gained / Math.max(predicted, 1e-300)));
        this.#nullSteps = 1;
      }
    }
    if (gained > 0) {
      this.center.set(point);
      this.centerValue = total;
    }
  }

  /**
   * How far the mixture of the answers is from meeting the constraints: the largest excess, and the
   * largest slack of one that has a price.
   */
  residual(): number {
    let worst = 0;
    for (let r = 0; r < this.#dimension; r++) {
      const off = this.#mixture[r];
      if (off > worst && this.proposal[r] < this.#ceiling[r]) worst = off;
      if (-off > worst && this.proposal[r] > 0) worst = -off;
    }
    return worst;
  }

  /** Lets the next steps be longer, where promises have become small only because steps are short. */
  lengthen(factor: number): void {
    this.#step *= factor;
  }

  /** Finds the next proposal; `promised − centerValue` is the most that can still be gained near it. */
  propose(): void {
    this.#mix();
    this.#place();
    for (let sweep = 0; sweep < MOST_SWEEPS; sweep++) {
      let spread = 0;
      let promised = 0;
      for (let g = 0; g < this.#groups; g++) {
        for (let inner = 0; inner < STEPS_A_GROUP; inner++) {
          const { low, high } = this.#extremes(g);
          const difference = this.#values[high] - this.#values[low];
          if (inner === 0) {
            spread += difference;
            promised += this.#values[low];
          }
          if (low === high || !(difference > 0)) break;
          this.#shift(g, low, high, difference);
          this.#place();
        }
      }
      for (let r = 0; r < this.#dimension; r++) promised -= this.proposal[r] * this.#limit[r];
      this.promised = promised;
      const hope = Math.max(0, promised - this.centerValue);
      if (spread <= 0.02 * hope + 1e-9 * Math.abs(this.centerValue)) break;
    }
    // The promise is that of the point where the sweeps ended.
    let promised = 0;
    for (let g = 0; g < this.#groups; g++) promised += this.#values[this.#extremes(g).low];
    for (let r = 0; r < this.#dimension; r++) promised -= this.proposal[r] * this.#limit[r];
    this.promised = promised;
    for (let k = 0; k < this.slotCount; k++) {
      let used = 0;
      for (let g = 0; g < this.#groups; g++) used += this.weights[g * this.capacity + k];
      this.#unused[k] = used > 0 ? 0 : this.#unused[k] + 1;
    }
  }

  /** A slot that is taken over leaves its weight to the heaviest other cut of the group. */
  #passWeightOn(g: number, slot: number): void {
    const first = g * this.capacity;
    const weight = this.weights[first + slot];
    if (weight === 0) return;
    this.weights[first + slot] = 0;
    let heir = slot === 0 ? 1 : 0;
    for (let k = 0; k < this.slotCount; k++) {
      if (k !== slot && this.weights[first + k] > this.weights[first + heir]) heir = k;
    }
    this.weights[first + heir] += weight;
  }

  #mix(): void {
    const d = this.#dimension;
    const mixture = this.#mixture;
    for (let r = 0; r < d; r++) mixture[r] = -this.#limit[r];
    for (let g = 0; g < this.#groups; g++) {
      for (let k = 0; k < this.slotCount; k++) {
        const at = g * this.capacity + k;
        const weight = this.weights[at];
        if (weight === 0) continue;
        for (let r = 0; r < d; r++) mixture[r] += weight * this.#uses[at * d + r];
      }
    }
  }

  /** The best point for the present weights. */
  #place(): void {
    for (let r = 0; r < this.#dimension; r++) {
      const free = this.center[r] + this.#step * this.#mixture[r];
      this.proposal[r] = Math.min(Math.max(0, free), this.#ceiling[r]);
    }
  }

  /** A group's lowest cut at the proposal, and its highest that has weight; `#values` holds them all. */
  #extremes(g: number): { readonly low: number; readonly high: number } {
    const d = this.#dimension;
    const uses = this.#uses;
    const point = this.proposal;
    const values = this.#values;
    const first = g * this.capacity;
    let low = 0;
    let high = -1;
    for (let k = 0; k < this.slotCount; k++) {
      const row = (first + k) * d;
      let value = this.#intercepts[first + k];
      for (let r = 0; r < d; r++) value += uses[row + r] * point[r];
      values[k] = value;
      if (value < values[low]) low = k;
      if (this.weights[first + k] > 0 && (high < 0 || value > values[high])) high = k;
    }
    return { low, high: high < 0 ? low : high };
  }

  /** Moves weight from a group's highest cut to its lowest. */
  #shift(g: number, low: number, high: number, difference: number): void {
    const d = this.#dimension;
    const uses = this.#uses;
    const first = g * this.capacity;
    const lowRow = (first + low) * d;
    const highRow = (first + high) * d;
    let curvature = 0;
    for (let r = 0; r < d; r++) {
      const change = uses[lowRow + r] - uses[highRow + r];
      curvature += change * change;
    }
    curvature *= this.#step;
    const held = this.weights[first + high];
    const move = curvature > 0 ? Math.min(held, difference / curvature) : held;
    this.weights[first + low] += move;
    this.weights[first + high] = move >= held ? 0 : held - move;
    for (let r = 0; r < d; r++) {
      this.#mixture[r] += move * (uses[lowRow + r] - uses[highRow + r]);
    }
  }
}

/** Limits of the inner solution; its accuracy follows what there is to gain. */
const MOST_SWEEPS = 60;
const STEPS_A_GROUP = 3;
