/** Symmetric matrices as Float64Array, row by row, both halves filled. */

/**
 * Lower Cholesky factor L of a symmetric positive definite matrix, A = L Lᵀ (zeros above the
 * diagonal), or null when the matrix is not positive definite to working precision.
 */
export function choleskyFactor(matrix: Float64Array, size: number): Float64Array | null {
  const factor = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * size + j];
      for (let k = 0; k < j; k++) sum -= factor[i * size + k] * factor[j * size + k];
      if (i === j) {
        if (!(sum > matrix[i * size + i] * 1e-14)) return null;
        factor[i * size + i] = Math.sqrt(sum);
      } else {
        factor[i * size + j] = sum / factor[j * size + j];
      }
    }
  }
  return factor;
}

/** Solution x of L Lᵀ x = right, from the factor of {@link choleskyFactor}. */
export function choleskySolve(factor: Float64Array, right: Float64Array): Float64Array {
  const size = right.length;
  const solution = Float64Array.from(right);
  for (let i = 0; i < size; i++) {
    for (let k = 0; k < i; k++) solution[i] -= factor[i * size + k] * solution[k];
    solution[i] /= factor[i * size + i];
  }
  return solveTransposed(factor, solution);
}

/** Solution x of Lᵀ x = right: turns independent normals into draws with precision L Lᵀ. */
export function solveTransposed(factor: Float64Array, right: Float64Array): Float64Array {
  const size = right.length;
  const solution = Float64Array.from(right);
  for (let i = size - 1; i >= 0; i--) {
    for (let k = i + 1; k < size; k++) solution[i] -= factor[k * size + i] * solution[k];
    solution[i] /= factor[i * size + i];
  }
  return solution;
}

/** L · vector: turns independent normals into draws with covariance L Lᵀ. */
export function multiplyLower(factor: Float64Array, vector: Float64Array): Float64Array {
  const size = vector.length;
  const product = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    for (let k = 0; k <= i; k++) product[i] += factor[i * size + k] * vector[k];
  }
  return product;
}

/** Inverse of L Lᵀ. */
export function choleskyInverse(factor: Float64Array, size: number): Float64Array {
  const inverse = new Float64Array(size * size);
  for (let j = 0; j < size; j++) {
    const unit = new Float64Array(size);
    unit[j] = 1;
    inverse.set(choleskySolve(factor, unit), j * size);
  }
  return inverse;
}

/** ln det(L Lᵀ). */
export function logDeterminant(factor: Float64Array, size: number): number {
  let sum = 0;
  for (let i = 0; i < size; i++) sum += 2 * Math.log(factor[i * size + i]);
  return sum;
}
