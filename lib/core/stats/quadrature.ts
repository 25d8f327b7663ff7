/** Points and weights for ∫ f over [0, 1] ≈ Σ weight · f(point). The weights sum to 1. */
export type QuadratureRule = {
  readonly points: Float64Array;
  readonly weights: Float64Array;
};

const rules = new Map<number, QuadratureRule>();

/**
 * Gauss-Legendre quadrature on [0, 1] with `size` points, exact for polynomials of degree
 * 2·size − 1. Points are the roots of the Legendre polynomial found by Newton's method from the
 * usual cosine guess (Abramowitz and Stegun 25.4.29, 25.4.30). A rule is computed once per size.
 * @throws {RangeError} when size is not a whole number from 1 to 200.
 */
export function gaussLegendre(size: number): QuadratureRule {
  if (!Number.isInteger(size) || size < 1 || size > 200) {
    throw new RangeError(`size must be a whole number from 1 to 200, got ${size}`);
  }
  const known = rules.get(size);
  if (known) return known;
  const rule = computeRule(size);
  rules.set(size, rule);
  return rule;
}

function computeRule(size: number): QuadratureRule {
  const points = new Float64Array(size);
  const weights = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (size + 0.5));
    let derivative = 1;
    for (let step = 0; step < 100; step++) {
      const legendre = evaluateLegendre(size, x);
      derivative = legendre.derivative;
      const change = legendre.value / derivative;
      x -= change;
      if (Math.abs(change) < 1e-16) break;
    }
    // From [-1, 1] to [0, 1], smallest point first.
    points[size - 1 - i] = (1 + x) / 2;
    weights[size - 1 - i] = 1 / ((1 - x * x) * derivative * derivative);
  }
  return { points, weights };
}

function evaluateLegendre(degree: number, x: number): { value: number; derivative: number } {
  let previous = 1;
  let value = x;
  for (let n = 2; n <= degree; n++) {
    const next = ((2 * n - 1) * x * value - (n - 1) * previous) / n;
    previous = value;
    value = next;
  }
  return { value, derivative: (degree * (x * value - previous)) / (x * x - 1) };
}
