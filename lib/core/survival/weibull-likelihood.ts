import { type DenseCurvature, denseCurvature, type Evaluation } from "@/lib/core/stats/maximize";
import { FAILED, FAILED_WITHIN, type LifetimeColumns } from "./lifetimes";

/**
 * Independent normal priors on the parameters ln β, ln η, γ₁, … in that order. A standard deviation
 * of Infinity is a flat prior.
 */
export type IndependentPrior = {
  readonly mean: Float64Array;
  readonly standardDeviation: Float64Array;
};

/**
 * Log-likelihood of lifetimes under a Weibull law of wear, with its derivatives, at the parameters
 * (ln β, ln η, γ₁, …). Wear at age t is t · exp(γ·x) for covariates that do not change.
 *
 * With s(t) = β · (ln t + γ·x − ln η) and H = e^s, a lifetime adds
 * - a failure at exactly t: ln β + s(t) − ln t − H(t), the log-density of age;
 * - a failure within (a, b]: ln( e^−H(a) − e^−H(b) );
 * - alive at t: −H(t);
 * - watched only from age u: + H(u).
 * (Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data, 2nd ed., ch. 3; left
 * truncation: Klein and Moeschberger, Survival Analysis, 2nd ed., section 3.5.)
 */
export function evaluateLikelihood(
  columns: LifetimeColumns,
  parameters: Float64Array,
): Evaluation<DenseCurvature> {
  const { count, x, logEntry, logLower, logUpper, outcome } = columns;
  const width = columns.covariates.length;
  const size = width + 2;
  const logShape = parameters[0];
  const logScale = parameters[1];
  const shape = Math.exp(logShape);

  // Sums over lifetimes, of derivatives in ln β (b) and in p = γ·x − ln η (p): every coefficient
  // acts through p, so its derivatives are these times x. `bp` and `pp` carry the minus sign of
  // the curvature. The leading 1 stands for −ln η.
  let value = 0;
  let sumB = 0;
  let sumBb = 0;
  let sumP = 0;
  let sumBp = 0;
  let sumPp = 0;
  const sumPx = new Float64Array(width);
  const sumBpx = new Float64Array(width);
  const sumPpx = new Float64Array(width);
  const sumPpxx = new Float64Array(width * width);

  for (let i = 0; i < count; i++) {
    const row = i * width;
    let predictor = -logScale;
    for (let j = 0; j < width; j++) predictor += parameters[j + 2] * x[row + j];

    const s = shape * (logLower[i] + predictor);
    const hazard = Math.exp(s);
    // At age zero s is −Infinity and every term in H is zero.
    const hazardS = hazard === 0 ? 0 : hazard * s;
    let b = -hazardS;
    let bb = hazard === 0 ? 0 : hazardS * (1 + s);
    let p = -hazard;
    let bp = hazard + hazardS;
    let pp = hazard;
    value -= hazard;

    if (outcome[i] === FAILED) {
      value += logShape + s - logLower[i];
      b += 1 + s;
      bb -= s;
      p += 1;
      bp -= 1;
    } else if (outcome[i] === FAILED_WITHIN) {
      const sUpper = shape * (logUpper[i] + predictor);
      const hazardUpper = Math.exp(sUpper);
      const gained = hazardUpper - hazard;
      value += Math.log(-Math.expm1(-gained));
      // Derivatives of D = H(b) − H(a), and q = 1 / (e^D − 1).
      const q = 1 / Math.expm1(gained);
      const dB = hazardUpper * sUpper - hazardS;
      const dP = gained;
      const curve = q * (1 + q);
      b += scaled(q, dB);
      p += scaled(q, dP);
      const dBb = hazardUpper * sUpper * (1 + sUpper) - (hazard === 0 ? 0 : hazardS * (1 + s));
      bb += scaled(curve, dB * dB) - scaled(q, dBb);
      bp += scaled(curve, dB * dP) - scaled(q, dB + dP);
      pp += scaled(curve, dP * dP) - scaled(q, dP);
    }

    if (logEntry[i] !== Number.NEGATIVE_INFINITY) {
      const sEntry = shape * (logEntry[i] + predictor);
      const hazardEntry = Math.exp(sEntry);
      const entryS = hazardEntry === 0 ? 0 : hazardEntry * sEntry;
      value += hazardEntry;
      b += entryS;
      bb -= hazardEntry === 0 ? 0 : entryS * (1 + sEntry);
      p += hazardEntry;
      bp -= hazardEntry + entryS;
      pp -= hazardEntry;
    }

    sumB += b;
    sumBb += bb;
    sumP += p;
    sumBp += bp;
    sumPp += pp;
    for (let j = 0; j < width; j++) {
      const xj = x[row + j];
      sumPx[j] += p * xj;
      sumBpx[j] += bp * xj;
      const weighted = pp * xj;
      sumPpx[j] += weighted;
      for (let k = 0; k <= j; k++) sumPpxx[j * width + k] += weighted * x[row + k];
    }
  }

  // s depends on p through β, so one derivative in p carries β and two carry β².
  const gradient = new Float64Array(size);
  const matrix = new Float64Array(size * size);
  const set = (i: number, j: number, entry: number) => {
    matrix[i * size + j] = entry;
    matrix[j * size + i] = entry;
  };
  gradient[0] = sumB;
  gradient[1] = -shape * sumP;
  set(0, 0, sumBb);
  set(0, 1, -shape * sumBp);
  set(1, 1, shape * shape * sumPp);
  for (let j = 0; j < width; j++) {
    gradient[j + 2] = shape * sumPx[j];
    set(0, j + 2, shape * sumBpx[j]);
    set(1, j + 2, -shape * shape * sumPpx[j]);
    for (let k = 0; k <= j; k++) {
      set(j + 2, k + 2, shape * shape * sumPpxx[j * width + k]);
    }
  }
  return {
    value: Number.isNaN(value) ? Number.NEGATIVE_INFINITY : value,
    gradient,
    curvature: denseCurvature(matrix, size),
  };
}

/** Zero times an infinite hazard is nothing: the failure was certain before it. */
const scaled = (q: number, value: number): number => (q === 0 ? 0 : q * value);

/** {@link evaluateLikelihood} with an independent normal prior added (without its constant). */
export function evaluatePosterior(
  columns: LifetimeColumns,
  prior: IndependentPrior,
  parameters: Float64Array,
): Evaluation<DenseCurvature> {
  const { value, gradient, curvature } = evaluateLikelihood(columns, parameters);
  const size = parameters.length;
  const matrix = Float64Array.from(curvature.matrix);
  let sum = value;
  for (let i = 0; i < size; i++) {
    const precision = 1 / prior.standardDeviation[i] ** 2;
    if (precision === 0) continue;
    const away = parameters[i] - prior.mean[i];
    sum -= (precision * away * away) / 2;
    gradient[i] -= precision * away;
    matrix[i * size + i] += precision;
  }
  return { value: sum, gradient, curvature: denseCurvature(matrix, size) };
}
