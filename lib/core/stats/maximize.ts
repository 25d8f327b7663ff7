import { choleskyFactor, choleskySolve } from "./matrix";

/** The negative of an objective's second derivatives at a point. */
export type Curvature = {
  /**
   * Solves (C + damping · diagonal of C) step = right; null when that is not positive definite.
   */
  readonly solve: (right: Float64Array, damping: number) => Float64Array | null;
};

/** An objective at a point: value, first derivatives and curvature. */
export type Evaluation<C extends Curvature> = {
  readonly value: number;
  readonly gradient: Float64Array;
  readonly curvature: C;
};

export type Maximum<C extends Curvature> = {
  readonly point: Float64Array;
  readonly evaluation: Evaluation<C>;
  readonly iterations: number;
  /** False when the limit of iterations came first, or no step climbed. */
  readonly converged: boolean;
};

const MAX_DAMPING = 1e10;
/** Newton decrement below which one last full step leaves an error far below any standard error. */
const SMALL_DECREMENT = 1e-7;

/**
 * Climbs to a maximum by Newton's method with backtracking (Armijo's rule), damped as Levenberg and
 * Marquardt do where the curvature is not positive definite. Deterministic.
 */
export function maximize<C extends Curvature>(
  evaluate: (point: Float64Array) => Evaluation<C>,
  start: Float64Array,
  maxIterations = 100,
): Maximum<C> {
  let point: Float64Array = Float64Array.from(start);
  let evaluation = evaluate(point);
  let damping = 0;
  for (let iterations = 1; iterations <= maxIterations; iterations++) {
    const step = dampedStep(evaluation, damping);
    if (step === null) return { point, evaluation, iterations, converged: false };
    damping = step.damping;
    const decrement = dot(evaluation.gradient, step.direction);
    if (decrement < SMALL_DECREMENT && damping === 0) {
      const last = evaluate(moved(point, step.direction, 1));
      const kept = Number.isFinite(last.value);
      return {
        point: kept ? moved(point, step.direction, 1) : point,
        evaluation: kept ? last : evaluation,
        iterations,
        converged: true,
      };
    }
    const next = backtrack(evaluate, point, evaluation.value, step.direction, decrement);
    if (next === null) {
      if (damping >= MAX_DAMPING) return { point, evaluation, iterations, converged: false };
      damping = Math.max(1e-3, damping * 10);
      continue;
    }
    point = next.point;
    evaluation = next.evaluation;
    damping = damping < 1e-3 ? 0 : damping / 10;
  }
  return { point, evaluation, iterations: maxIterations, converged: false };
}

function dampedStep<C extends Curvature>(
  { gradient, curvature }: Evaluation<C>,
  damping: number,
): { direction: Float64Array; damping: number } | null {
  for (let tried = damping; tried <= MAX_DAMPING; tried = Math.max(1e-3, tried * 10)) {
    const direction = curvature.solve(gradient, tried);
    if (direction?.every(Number.isFinite)) return { direction, damping: tried };
  }
  return null;
}

function backtrack<C extends Curvature>(
  evaluate: (point: Float64Array) => Evaluation<C>,
  point: Float64Array,
  value: number,
  direction: Float64Array,
  decrement: number,
): { point: Float64Array; evaluation: Evaluation<C> } | null {
  // Sums over many observations carry rounding of about this size.
  const rounding = 1e-13 * Math.abs(value);
  for (let length = 1; length > 1e-6; length /= 2) {
    const next = moved(point, direction, length);
    const evaluation = evaluate(next);
    if (evaluation.value >= value + 1e-4 * length * decrement - rounding) {
      return { point: next, evaluation };
    }
  }
  return null;
}

function moved(point: Float64Array, direction: Float64Array, length: number): Float64Array {
  return point.map((value, i) => value + length * direction[i]);
}

export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

/** Curvature kept as a full symmetric matrix. */
export type DenseCurvature = Curvature & { readonly matrix: Float64Array };

export function denseCurvature(matrix: Float64Array, size: number): DenseCurvature {
  return {
    matrix,
    solve: (right, damping) => {
      const damped = Float64Array.from(matrix);
      for (let i = 0; i < size; i++) {
        damped[i * size + i] += damping * Math.max(1e-8, Math.abs(matrix[i * size + i]));
      }
      const factor = choleskyFactor(damped, size);
      return factor && choleskySolve(factor, right);
    },
  };
}
