import { choleskyFactor, choleskySolve, logDeterminant } from "@/lib/core/stats/matrix";
import type { Curvature } from "@/lib/core/stats/maximize";

/**
 * Curvature of a model with common parameters and many group effects that do not touch one another:
 * a full block for the common part, a row of cross terms and a diagonal entry for each group. Solved
 * through the Schur complement of the groups, so that the work grows in proportion to their number.
 * A vector holds the common parameters first, then the effects.
 */
export type ArrowCurvature = Curvature & {
  readonly commonSize: number;
  readonly common: Float64Array;
  /** Group by group: the second derivatives with each common parameter. */
  readonly cross: Float64Array;
  readonly diagonal: Float64Array;
};

export function arrowCurvature(
  commonSize: number,
  common: Float64Array,
  cross: Float64Array,
  diagonal: Float64Array,
): ArrowCurvature {
  const solve = (right: Float64Array, damping: number): Float64Array | null => {
    const groups = diagonal.length;
    const damped = diagonal.map((entry) => entry + damping * Math.max(1e-8, Math.abs(entry)));
    if (damped.some((entry) => !(entry > 0))) return null;
    const reduced = Float64Array.from(common);
    for (let i = 0; i < commonSize; i++) {
      const entry = i * commonSize + i;
      reduced[entry] += damping * Math.max(1e-8, Math.abs(common[entry]));
    }
    const commonRight = right.slice(0, commonSize);
    subtractGroups(reduced, commonSize, cross, damped);
    for (let g = 0; g < groups; g++) {
      const share = right[commonSize + g] / damped[g];
      for (let i = 0; i < commonSize; i++) commonRight[i] -= cross[g * commonSize + i] * share;
    }
    const factor = choleskyFactor(reduced, commonSize);
    if (factor === null) return null;
    const solution = new Float64Array(right.length);
    const commonSolution = choleskySolve(factor, commonRight);
    solution.set(commonSolution);
    for (let g = 0; g < groups; g++) {
      let rest = right[commonSize + g];
      for (let i = 0; i < commonSize; i++) rest -= cross[g * commonSize + i] * commonSolution[i];
      solution[commonSize + g] = rest / damped[g];
    }
    return solution;
  };
  return { commonSize, common, cross, diagonal, solve };
}

/** reduced −= Σ over groups of cross crossᵀ / diagonal. */
function subtractGroups(
  reduced: Float64Array,
  size: number,
  cross: Float64Array,
  diagonal: Float64Array,
): void {
  for (let g = 0; g < diagonal.length; g++) {
    const row = g * size;
    for (let i = 0; i < size; i++) {
      const share = cross[row + i] / diagonal[g];
      if (share === 0) continue;
      for (let j = 0; j < size; j++) reduced[i * size + j] -= share * cross[row + j];
    }
  }
}

/**
 * Factor of the curvature of the common parameters with the groups taken out: its inverse is their
 * covariance. Null when the curvature is not positive definite.
 */
export function reducedFactor({
  commonSize,
  common,
  cross,
  diagonal,
}: ArrowCurvature): Float64Array | null {
  if (diagonal.some((entry) => !(entry > 0))) return null;
  const reduced = Float64Array.from(common);
  subtractGroups(reduced, commonSize, cross, diagonal);
  return choleskyFactor(reduced, commonSize);
}

/** ln det of the whole curvature, given {@link reducedFactor}. */
export function arrowLogDeterminant(curvature: ArrowCurvature, factor: Float64Array): number {
  let sum = logDeterminant(factor, curvature.commonSize);
  for (const entry of curvature.diagonal) sum += Math.log(entry);
  return sum;
}
