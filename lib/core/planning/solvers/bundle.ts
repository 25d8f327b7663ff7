/**
 * Proximal bundle method for maximising a concave function given by values and supergradients over
 * 0 ≤ λ ≤ ceiling (Kiwiel, "Proximity control in bundle methods for convex nondifferentiable
 * minimization", Mathematical Programming 46, 1990).
 *
 * Each answer is a cut: the function lies below value + gradient · (λ − point). The next point is the
 * best of the lowest cut, less the squared distance from the centre; the dual of that problem, over the
 * weights of the cuts, is solved by pairwise steps. The weights of the last point make a mixture of the
 * answers that nearly meets the constraints whose multipliers λ are.
 */
export class ProximalBundle {
  readonly center: Float64Array;
  centerValue = Number.NEGATIVE_INFINITY;
  /** Weight of each slot's cut in the last proposal. */
  readonly weights: Float64Array;
  /** Where the last proposal is, and what the cuts promise there. */
  readonly proposal: Float64Array;
  promised = Number.POSITIVE_INFINITY;
  slotCount = 0;

  readonly #dimension: number;
  readonly #capacity: number;
  readonly #ceiling: Float64Array;
  readonly #gradients: Float64Array;
  readonly #intercepts: Float64Array;
  readonly #values: Float64Array;
  readonly #unused: Int32Array;
  readonly #mixture: Float64Array;
  readonly #firstStep: number;
  #step: number;
  #nullSteps = 0;

  /**
   * @param firstStep what the first step should promise, as a share of the value
   */
  constructor(center: Float64Array, ceiling: Float64Array, capacity: number, firstStep: number) {
    this.#firstStep = firstStep;
    this.center = center.slice();
    this.proposal = center.slice();
    this.#dimension = center.length;
    this.#capacity = capacity;
    this.#ceiling = ceiling;
    this.weights = new Float64Array(capacity);
    this.#gradients = new Float64Array(capacity * center.length);
    this.#intercepts = new Float64Array(capacity);
    this.#values = new Float64Array(capacity);
    this.#unused = new Int32Array(capacity);
    this.#mixture = new Float64Array(center.length);
    this.#step = 0;
  }

  /** Slot that the next cut takes: a free one, or that of the cut that was useless for longest. */
  nextSlot(): number {
    if (this.slotCount < this.#capacity) return this.slotCount;
    let slot = 0;
    for (let k = 1; k < this.#capacity; k++) {
      const older = this.#unused[k] > this.#unused[slot];
      const higher = this.#unused[k] === this.#unused[slot] && this.#values[k] > this.#values[slot];
      if (older || higher) slot = k;
    }
    return slot;
  }

  /**
   * Takes the answer at the last proposal (at first: at the centre).
   *
   * @param value of the cut at the proposal; may be a little above the function's, which is concave
   * only up to that error
   */
  add(slot: number, value: number, gradient: Float64Array): void {
    const d = this.#dimension;
    let dot = 0;
    let norm = 0;
    for (let r = 0; r < d; r++) {
      this.#gradients[slot * d + r] = gradient[r];
      dot += gradient[r] * this.proposal[r];
      if (gradient[r] > 0 || this.proposal[r] > 0) norm += gradient[r] * gradient[r];
    }
    this.#intercepts[slot] = value - dot;
    this.#unused[slot] = 0;
    this.weights[slot] = 0;
    if (slot === this.slotCount) this.slotCount++;
    if (this.#step === 0) {
      this.#step = norm > 0 ? (this.#firstStep * Math.max(1, Math.abs(value))) / norm : 1;
      this.weights.fill(0);
      this.weights[slot] = 1;
      this.centerValue = value;
      return;
    }

    // Proximity control: longer steps while the model is trusted, shorter after it deceived.
    const predicted = this.promised - this.centerValue;
    const gained = value - this.centerValue;
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
      this.center.set(this.proposal);
      this.centerValue = value;
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
    const d = this.#dimension;
    const K = this.slotCount;
    const g = this.#gradients;
    const weights = this.weights;
    const mixture = this.#mixture;
    const step = this.#step;
    const point = this.proposal;
    mixture.fill(0);
    for (let k = 0; k < K; k++) {
      if (weights[k] === 0) continue;
      for (let r = 0; r < d; r++) mixture[r] += weights[k] * g[k * d + r];
    }
    const maximumSteps = 40 * K + 200;
    for (let iteration = 0; iteration <= maximumSteps; iteration++) {
      for (let r = 0; r < d; r++) {
        const free = this.center[r] + step * mixture[r];
        point[r] = Math.min(Math.max(0, free), this.#ceiling[r]);
      }
      let low = -1;
      let high = -1;
      for (let k = 0; k < K; k++) {
        let value = this.#intercepts[k];
        const row = k * d;
        for (let r = 0; r < d; r++) value += g[row + r] * point[r];
        this.#values[k] = value;
        if (low < 0 || value < this.#values[low]) low = k;
        if (weights[k] > 0 && (high < 0 || value > this.#values[high])) high = k;
      }
      this.promised = this.#values[low];
      const spread = this.#values[high] - this.#values[low];
      const predicted = Math.max(0, this.promised - this.centerValue);
      const enough = 1e-3 * predicted + 1e-11 * Math.abs(this.centerValue);
      if (low === high || spread <= enough || iteration === maximumSteps) break;
      let curvature = 0;
      for (let r = 0; r < d; r++) {
        const difference = g[low * d + r] - g[high * d + r];
        curvature += difference * difference;
      }
      curvature *= step;
      const move = curvature > 0 ? Math.min(weights[high], spread / curvature) : weights[high];
      weights[low] += move;
      weights[high] = move >= weights[high] ? 0 : weights[high] - move;
      for (let r = 0; r < d; r++) mixture[r] += move * (g[low * d + r] - g[high * d + r]);
    }
    for (let k = 0; k < K; k++) {
      this.#unused[k] = weights[k] > 0 ? 0 : this.#unused[k] + 1;
    }
  }
}
