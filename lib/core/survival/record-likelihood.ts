import type { Evaluation } from "@/lib/core/stats/maximize";
import { type ArrowCurvature, arrowCurvature } from "./arrow-curvature";
import { CARE_COVARIATES, COVARIATES } from "./covariates";
import type { RecordColumns } from "./life-record";
import { ALIVE, FAILED } from "./lifetimes";
import { COMMON_PARAMETERS, coefficientIndex, scaleIndex, shapeIndex } from "./parameters";

const WIDTH = COVARIATES.length;
/** Positions of the covariates that change over a life, and of those that do not. */
const CARE = CARE_COVARIATES.map((covariate) => COVARIATES.indexOf(covariate));
const LASTING = COVARIATES.map((_, j) => j).filter((j) => !CARE.includes(j));
/**
 * A record's local parameters: ln β, the level of ln(wear) and the coefficients of care. A lasting
 * covariate only moves the level, by its value: its derivatives are those of the level times that.
 */
const LOCAL = CARE.length + 2;
const TRIANGLE = (LOCAL * (LOCAL + 1)) / 2;

/**
 * Log-likelihood of records under the model, with its derivatives, at the common parameters
 * followed by the effect u of each property.
 *
 * With e the wear at a day and s = β (ln e + u − ln η), H = e^s, a record whose install day is known
 * adds what one lifetime does (see weibull-likelihood.ts; the density of a failure also has the rate
 * of wear at that time). Over a bracket of install days with weights w the record adds
 *
 *   ln Σ w · L(end | installed then) − ln Σ w · S(watched from | installed then),
 *
 * since it is on record only because it lived until it was watched.
 */
export function evaluateRecords(
  columns: RecordColumns,
  parameters: Float64Array,
): Evaluation<ArrowCurvature> {
  const { properties } = columns;
  const totals = new RecordTotals(properties.length);
  const work = new RecordWork(columns, parameters);
  for (let i = 0; i < columns.count; i++) {
    work.evaluate(i);
    totals.add(columns, i, work.sum);
  }
  return totals.finish();
}

/** Value, gradient and second derivatives in local parameters; the lower triangle row by row. */
class LocalDerivatives {
  value = 0;
  readonly gradient = new Float64Array(LOCAL);
  readonly second = new Float64Array(TRIANGLE);

  clear(): void {
    this.value = 0;
    this.gradient.fill(0);
    this.second.fill(0);
  }

  addScaled(other: LocalDerivatives, factor: number): void {
    this.value += factor * other.value;
    for (let a = 0; a < LOCAL; a++) this.gradient[a] += factor * other.gradient[a];
    for (let k = 0; k < TRIANGLE; k++) this.second[k] += factor * other.second[k];
  }

  /** second += factor · g gᵀ. */
  addSquare(gradient: Float64Array, factor: number): void {
    for (let a = 0, k = 0; a < LOCAL; a++) {
      const scaled = factor * gradient[a];
      for (let b = 0; b <= a; b++, k++) this.second[k] += scaled * gradient[b];
    }
  }
}

/** Running ln Σ w·exp(ℓ) with its derivatives, kept relative to the largest ℓ so far. */
class LogMixture {
  private most = Number.NEGATIVE_INFINITY;
  private total = 0;
  private readonly moment = new LocalDerivatives();

  clear(): void {
    this.most = Number.NEGATIVE_INFINITY;
    this.total = 0;
    this.moment.clear();
  }

  add(logWeight: number, term: LocalDerivatives): void {
    const level = logWeight + term.value;
    if (level === Number.NEGATIVE_INFINITY) return;
    if (level > this.most) {
      const shrink = Math.exp(this.most - level);
      this.total *= shrink;
      for (let a = 0; a < LOCAL; a++) this.moment.gradient[a] *= shrink;
      for (let k = 0; k < TRIANGLE; k++) this.moment.second[k] *= shrink;
      this.most = level;
    }
    const share = Math.exp(level - this.most);
    this.total += share;
    const { gradient, second } = this.moment;
    for (let a = 0; a < LOCAL; a++) gradient[a] += share * term.gradient[a];
    for (let k = 0; k < TRIANGLE; k++) second[k] += share * term.second[k];
    this.moment.addSquare(term.gradient, share);
  }

  /** target += sign · ln Σ. */
  addTo(target: LocalDerivatives, sign: number): void {
    const { gradient, second } = this.moment;
    for (let a = 0; a < LOCAL; a++) gradient[a] /= this.total;
    for (let k = 0; k < TRIANGLE; k++) second[k] /= this.total;
    target.value += sign * (this.most + Math.log(this.total));
    for (let a = 0; a < LOCAL; a++) target.gradient[a] += sign * gradient[a];
    for (let k = 0; k < TRIANGLE; k++) target.second[k] += sign * second[k];
    target.addSquare(gradient, -sign);
  }
}

/** The scratch space of one pass over records. */
class RecordWork {
  readonly sum = new LocalDerivatives();
  private readonly lower = new LocalDerivatives();
  private readonly upper = new LocalDerivatives();
  private readonly entry = new LocalDerivatives();
  private readonly point = new LocalDerivatives();
  private readonly gained = new LocalDerivatives();
  private readonly alive = new LogMixture();
  private readonly seen = new LogMixture();
  /** ln of the wear of the last hazard evaluated, care alone. */
  private logWear = 0;
  private readonly mean = new Float64Array(CARE.length);
  private readonly spread = new Float64Array((CARE.length * (CARE.length + 1)) / 2);
  private readonly slope = new Float64Array(LOCAL);
  /** Rates of wear piece by piece, care alone. */
  private rates = new Float64Array(8);

  constructor(
    private readonly columns: RecordColumns,
    private readonly parameters: Float64Array,
  ) {}

  /** Puts the log-likelihood of record i into `sum`. */
  evaluate(i: number): void {
    const { columns, parameters, sum } = this;
    const { technology, property, pieceStart, pointStart, pointWeight, yearsStart } = columns;
    const logShape = parameters[shapeIndex(technology[i])];
    const firstPiece = pieceStart[i];
    let level = parameters[COMMON_PARAMETERS + property[i]] - parameters[scaleIndex(technology[i])];
    for (const j of LASTING) {
      level += parameters[coefficientIndex(j)] * columns.x[firstPiece * WIDTH + j];
    }
    const pieces = pieceStart[i + 1] - firstPiece;
    this.fillRates(firstPiece, pieces);
    sum.clear();

    const first = pointStart[i];
    const points = pointStart[i + 1] - first;
    if (points === 1) {
      this.evaluatePoint(i, yearsStart[first], firstPiece, pieces, logShape, level);
      sum.addScaled(this.point, 1);
      if (columns.lateEntry[i] === 1) sum.addScaled(this.entry, 1);
      return;
    }
    const isLate = columns.lateEntry[i] === 1;
    this.alive.clear();
    this.seen.clear();
    for (let k = first; k < first + points; k++) {
      const logWeight = Math.log(pointWeight[k]);
      this.evaluatePoint(i, yearsStart[k], firstPiece, pieces, logShape, level);
      this.alive.add(logWeight, this.point);
      if (!isLate) continue;
      this.gained.clear();
      this.gained.addScaled(this.entry, -1);
      this.seen.add(logWeight, this.gained);
    }
    this.alive.addTo(sum, 1);
    if (isLate) this.seen.addTo(sum, -1);
  }

  private fillRates(firstPiece: number, pieces: number): void {
    const { columns, parameters } = this;
    if (this.rates.length < pieces) this.rates = new Float64Array(2 * pieces);
    for (let p = 0; p < pieces; p++) {
      let logRate = 0;
      const row = (firstPiece + p) * WIDTH;
      for (const j of CARE) logRate += parameters[coefficientIndex(j)] * columns.x[row + j];
      this.rates[p] = Math.exp(logRate);
    }
  }

  /** For one install day: ln L(end) into `point` and H(watched from) into `entry`. */
  private evaluatePoint(
    i: number,
    years: number,
    firstPiece: number,
    pieces: number,
    logShape: number,
    level: number,
  ): void {
    const { columns, point, lower, upper, entry, gained } = this;
    if (columns.lateEntry[i] === 1) {
      this.hazard(entry, years + 2 * pieces, firstPiece, pieces, logShape, level);
    }
    this.hazard(lower, years, firstPiece, pieces, logShape, level);
    point.clear();
    point.addScaled(lower, -1);
    if (columns.outcome[i] === ALIVE) return;
    if (columns.outcome[i] === FAILED) {
      this.addDensity(firstPiece, pieces, columns.lastPiece[i], logShape, level);
      return;
    }
    this.hazard(upper, years + pieces, firstPiece, pieces, logShape, level);
    gained.clear();
    gained.addScaled(upper, 1);
    gained.addScaled(lower, -1);
    // ln(1 − e^−D) has derivatives q and −q(1 + q) in D, q = 1 / (e^D − 1).
    const q = 1 / Math.expm1(gained.value);
    point.value += Math.log(-Math.expm1(-gained.value));
    if (q === 0) return;
    gained.value = 0;
    point.addScaled(gained, q);
    point.addSquare(gained.gradient, -q * (1 + q));
  }

  /** H after the years in each piece, into `target`. Leaves the wear's own derivatives behind. */
  private hazard(
    target: LocalDerivatives,
    years: number,
    firstPiece: number,
    pieces: number,
    logShape: number,
    level: number,
  ): void {
    const { columns, mean, spread, slope, rates } = this;
    target.clear();
    let wear = 0;
    for (let p = 0; p < pieces; p++) wear += rates[p] * columns.years[years + p];
    if (wear === 0) return;
    // Wear-weighted mean and covariance of care: the derivatives of ln(wear).
    if (pieces > 1) this.fillMoments(years, firstPiece, pieces, wear);
    else for (let c = 0; c < CARE.length; c++) mean[c] = columns.x[firstPiece * WIDTH + CARE[c]];
    const shape = Math.exp(logShape);
    this.logWear = Math.log(wear);
    const s = shape * (this.logWear + level);
    const hazard = Math.exp(s);
    slope[0] = s;
    slope[1] = shape;
    for (let c = 0; c < CARE.length; c++) slope[c + 2] = shape * mean[c];

    // H = e^s: dH = H ds, d²H = H (ds ds + d²s), and d²s is s or the slope in ln β, the spread of
    // care elsewhere.
    target.value = hazard;
    for (let a = 0; a < LOCAL; a++) target.gradient[a] = hazard * slope[a];
    target.addSquare(slope, hazard);
    const { second } = target;
    for (let a = 0, k = 0; a < LOCAL; a++) {
      second[k] += hazard * slope[a];
      k += a + 1;
    }
    if (pieces > 1) addSpread(second, spread, hazard * shape);
  }

  private fillMoments(years: number, firstPiece: number, pieces: number, wear: number): void {
    const { columns, mean, spread, rates } = this;
    mean.fill(0);
    for (let p = 0; p < pieces; p++) {
      const share = (rates[p] * columns.years[years + p]) / wear;
      if (share === 0) continue;
      const row = (firstPiece + p) * WIDTH;
      for (let c = 0; c < CARE.length; c++) mean[c] += share * columns.x[row + CARE[c]];
    }
    spread.fill(0);
    for (let p = 0; p < pieces; p++) {
      const share = (rates[p] * columns.years[years + p]) / wear;
      if (share === 0) continue;
      const row = (firstPiece + p) * WIDTH;
      for (let a = 0, k = 0; a < CARE.length; a++) {
        const away = share * (columns.x[row + CARE[a]] - mean[a]);
        for (let b = 0; b <= a; b++, k++) {
          spread[k] += away * (columns.x[row + CARE[b]] - mean[b]);
        }
      }
    }
  }

  /**
   * Adds ln(hazard per year at the failure): ln β + s − ln(wear) + ln(rate of wear). What lasts is in
   * the wear and in its rate alike, so that the last two are of care alone.
   */
  private addDensity(
    firstPiece: number,
    pieces: number,
    lastPiece: number,
    logShape: number,
    level: number,
  ): void {
    const { columns, point, mean, spread, slope, rates, logWear } = this;
    const shape = Math.exp(logShape);
    const s = shape * (logWear + level);
    point.value += logShape + s - logWear + Math.log(rates[lastPiece]);
    point.gradient[0] += 1 + s;
    point.gradient[1] += shape;
    for (let c = 0; c < CARE.length; c++) {
      point.gradient[c + 2] +=
        slope[c + 2] - mean[c] + columns.x[(firstPiece + lastPiece) * WIDTH + CARE[c]];
    }
    const { second } = point;
    for (let a = 0, k = 0; a < LOCAL; a++) {
      second[k] += slope[a];
      k += a + 1;
    }
    if (pieces > 1) addSpread(second, spread, shape - 1);
  }
}

/** second += factor · spread, in the places of care. */
function addSpread(second: Float64Array, spread: Float64Array, factor: number): void {
  for (let a = 0, k = 0; a < CARE.length; a++) {
    const start = ((a + 2) * (a + 3)) / 2 + 2;
    for (let b = 0; b <= a; b++, k++) second[start + b] += factor * spread[k];
  }
}

/** Sums of local derivatives over records, in the parameters of the whole model. */
class RecordTotals {
  private value = 0;
  private readonly gradient: Float64Array;
  private readonly common = new Float64Array(COMMON_PARAMETERS * COMMON_PARAMETERS);
  private readonly cross: Float64Array;
  private readonly diagonal: Float64Array;
  /** Common parameters that a record touches, with the local one through which and how strongly. */
  private readonly index = new Int32Array(WIDTH + 2);
  private readonly local = new Int32Array(WIDTH + 2);
  private readonly weight = new Float64Array(WIDTH + 2).fill(1);

  constructor(properties: number) {
    this.gradient = new Float64Array(COMMON_PARAMETERS + properties);
    this.cross = new Float64Array(properties * COMMON_PARAMETERS);
    this.diagonal = new Float64Array(properties);
    // The level is u − ln η: it acts on the scale with the sign turned.
    this.local.set([0, 1, ...CARE.map((_, c) => c + 2)]);
    this.weight[1] = -1;
    CARE.forEach((j, c) => {
      this.index[c + 2] = coefficientIndex(j);
    });
  }

  add({ technology, property, pieceStart, x }: RecordColumns, i: number, sums: LocalDerivatives) {
    const { index, local, weight, gradient, common, cross, diagonal } = this;
    index[0] = shapeIndex(technology[i]);
    index[1] = scaleIndex(technology[i]);
    let touched = LOCAL;
    for (const j of LASTING) {
      const value = x[pieceStart[i] * WIDTH + j];
      if (value === 0) continue;
      index[touched] = coefficientIndex(j);
      local[touched] = 1;
      weight[touched] = value;
      touched++;
    }
    this.value += sums.value;
    gradient[COMMON_PARAMETERS + property[i]] += sums.gradient[1];
    diagonal[property[i]] -= sums.second[2];
    const row = property[i] * COMMON_PARAMETERS;
    for (let m = 0; m < touched; m++) {
      const a = local[m];
      gradient[index[m]] += weight[m] * sums.gradient[a];
      cross[row + index[m]] -= weight[m] * sums.second[inTriangle(a, 1)];
      for (let n = 0; n <= m; n++) {
        const entry = -weight[m] * weight[n] * sums.second[inTriangle(a, local[n])];
        common[index[m] * COMMON_PARAMETERS + index[n]] += entry;
        if (m !== n) common[index[n] * COMMON_PARAMETERS + index[m]] += entry;
      }
    }
  }

  finish(): Evaluation<ArrowCurvature> {
    const { value, gradient, common, cross, diagonal } = this;
    return {
      value: Number.isNaN(value) ? Number.NEGATIVE_INFINITY : value,
      gradient,
      curvature: arrowCurvature(COMMON_PARAMETERS, common, cross, diagonal),
    };
  }
}

/** Place of an entry in a lower triangle kept row by row. */
function inTriangle(a: number, b: number): number {
  return a >= b ? (a * (a + 1)) / 2 + b : (b * (b + 1)) / 2 + a;
}
