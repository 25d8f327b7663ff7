import { TECHNOLOGIES } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, DAYS_PER_YEAR, dayNumber } from "@/lib/core/shared/calendar-day";
import { gaussLegendre } from "@/lib/core/stats/quadrature";
import { COVARIATES, TYPICAL_VALUES } from "./covariates";
import { type AgeingHeater, covariateHistory, fillPieceYears } from "./exposure";
import { installPoints } from "./life-as-of";
import type { AgeingModel } from "./model";

const WIDTH = COVARIATES.length;
const TYPICAL = COVARIATES.map((covariate) => TYPICAL_VALUES[covariate].value);

/**
 * A fleet as the years that each heater has spent and will spend in each of its pieces of constant
 * covariates, so that another draw of the model needs no look at the records.
 */
export type FleetYears = {
  readonly yearsAhead: number;
  readonly propertyIds: readonly string[];
  /** Per heater: position in TECHNOLOGIES and in `propertyIds`. */
  readonly technology: Uint8Array;
  readonly property: Uint32Array;
  readonly heaters: readonly HeaterYears[];
};

type HeaterYears = {
  /** Covariates less their typical values, piece by piece. */
  readonly x: Float64Array;
  /** Install day by install day of the bracket: years so far in each piece. */
  readonly sofar: Float64Array;
  /** Year by year ahead: years from today in each piece. */
  readonly ahead: Float64Array;
  /** Weights of the install days before anything is known of survival. */
  readonly weights: Float64Array;
};

export function fleetYears(
  heaters: readonly AgeingHeater[],
  today: CalendarDay,
  yearsAhead: number,
): FleetYears {
  const day = dayNumber(today);
  const propertyIndex = new Map<string, number>();
  for (const { propertyId } of heaters) {
    if (!propertyIndex.has(propertyId)) propertyIndex.set(propertyId, propertyIndex.size);
  }
  return {
    yearsAhead,
    propertyIds: [...propertyIndex.keys()],
    technology: Uint8Array.from(heaters, ({ technology }) => TECHNOLOGIES.indexOf(technology)),
    property: Uint32Array.from(heaters, ({ propertyId }) => propertyIndex.get(propertyId) ?? 0),
    heaters: heaters.map((heater) => heaterYears(heater, day, yearsAhead)),
  };
}

function heaterYears(heater: AgeingHeater, day: number, yearsAhead: number): HeaterYears {
  const { startDays, values } = covariateHistory(heater);
  const pieces = startDays.length;
  const latest = Math.min(dayNumber(heater.install.latest), day);
  const earliest = Math.min(dayNumber(heater.install.earliest), latest);
  const { points, weights } = gaussLegendre(installPoints((latest - earliest) / DAYS_PER_YEAR));
  const sofar = new Float64Array(points.length * pieces);
  points.forEach((point, k) => {
    const installed = earliest + point * (latest - earliest);
    fillPieceYears(startDays, installed, day, sofar.subarray(k * pieces, (k + 1) * pieces));
  });
  const ahead = new Float64Array(yearsAhead * pieces);
  for (let year = 0; year < yearsAhead; year++) {
    const end = day + (year + 1) * DAYS_PER_YEAR;
    fillPieceYears(startDays, day, end, ahead.subarray(year * pieces, (year + 1) * pieces));
  }
  const x = new Float64Array(pieces * WIDTH);
  values.forEach((row, p) => {
    for (let j = 0; j < WIDTH; j++) x[p * WIDTH + j] = row[j] - TYPICAL[j];
  });
  return { x, sofar, ahead, weights };
}

/** Draws of a model as columns, one row a draw. */
export type DrawTable = {
  readonly count: number;
  readonly coefficients: Float64Array;
  readonly shapes: Float64Array;
  readonly logScales: Float64Array;
  /** Effects of the properties of the fleet, in its order. */
  readonly effects: Float64Array;
  readonly properties: number;
};

export function drawTable(
  draws: readonly AgeingModel[],
  propertyIds: readonly string[],
): DrawTable {
  const rows = <T>(names: readonly T[], value: (draw: AgeingModel, name: T) => number) =>
    Float64Array.from(draws.flatMap((draw) => names.map((name) => value(draw, name))));
  return {
    count: draws.length,
    coefficients: rows(COVARIATES, ({ coefficients }, name) => coefficients[name]),
    shapes: rows(TECHNOLOGIES, ({ lifetimes }, name) => lifetimes[name].shape),
    logScales: rows(TECHNOLOGIES, ({ lifetimes }, name) => Math.log(lifetimes[name].scaleYears)),
    effects: rows(propertyIds, ({ propertyEffects }, id) => propertyEffects[id] ?? 0),
    properties: propertyIds.length,
  };
}

/**
 * Chance that heater i, alive today, fails within 1, 2, … years: draw by draw into `chances`, which
 * holds one number for each draw and year ahead.
 */
export function fillFailures(
  fleet: FleetYears,
  i: number,
  table: DrawTable,
  chances: Float64Array,
): void {
  const { x, sofar, ahead, weights } = fleet.heaters[i];
  const { coefficients, shapes, logScales, effects } = table;
  const { yearsAhead } = fleet;
  const technology = fleet.technology[i];
  const property = fleet.property[i];
  const pieces = x.length / WIDTH;
  const points = weights.length;
  if (pieces === 1 && points === 1) {
    fillSteadyFailures(fleet, i, table, chances);
    return;
  }
  const rates = new Float64Array(pieces);
  const wear = new Float64Array(points);
  const hazards = new Float64Array(points);
  for (let d = 0; d < table.count; d++) {
    const shape = shapes[d * TECHNOLOGIES.length + technology];
    const level =
      effects[d * table.properties + property] - logScales[d * TECHNOLOGIES.length + technology];
    for (let p = 0; p < pieces; p++) {
      let logRate = level;
      for (let j = 0; j < WIDTH; j++) logRate += coefficients[d * WIDTH + j] * x[p * WIDTH + j];
      // Wear in units of the scale: the hazard is this to the power of the shape.
      rates[p] = Math.exp(logRate);
    }
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < points; k++) {
      wear[k] = wearOf(rates, sofar, k * pieces);
      hazards[k] = wear[k] ** shape;
      least = Math.min(least, hazards[k]);
    }
    for (let year = 0; year < yearsAhead; year++) {
      const added = wearOf(rates, ahead, year * pieces);
      let alive = 0;
      let failed = 0;
      for (let k = 0; k < points; k++) {
        const weight = points === 1 ? 1 : weights[k] * Math.exp(least - hazards[k]);
        alive += weight;
        failed -= weight * Math.expm1(hazards[k] - (wear[k] + added) ** shape);
      }
      chances[d * yearsAhead + year] = Math.min(1, failed / alive);
    }
  }
}

/**
 * The same for the many heaters with a known install day and covariates that do not change: the
 * hazard at age t is exp(β · (ln rate + ln t − ln η)), so that ages are logarithms already.
 */
function fillSteadyFailures(
  fleet: FleetYears,
  i: number,
  table: DrawTable,
  chances: Float64Array,
): void {
  const { x, sofar, ahead } = fleet.heaters[i];
  const { coefficients, shapes, logScales, effects } = table;
  const { yearsAhead } = fleet;
  const technology = fleet.technology[i];
  const property = fleet.property[i];
  const logAge = Math.log(sofar[0]);
  const logLater = ahead.map((years) => Math.log(sofar[0] + years));
  for (let d = 0; d < table.count; d++) {
    const shape = shapes[d * TECHNOLOGIES.length + technology];
    let level =
      effects[d * table.properties + property] - logScales[d * TECHNOLOGIES.length + technology];
    for (let j = 0; j < WIDTH; j++) level += coefficients[d * WIDTH + j] * x[j];
    const hazard = Math.exp(shape * (level + logAge));
    for (let year = 0; year < yearsAhead; year++) {
      const later = Math.exp(shape * (level + logLater[year]));
      chances[d * yearsAhead + year] = -Math.expm1(hazard - later);
    }
  }
}

function wearOf(rates: Float64Array, years: Float64Array, start: number): number {
  let wear = 0;
  for (let p = 0; p < rates.length; p++) wear += rates[p] * years[start + p];
  return wear;
}
