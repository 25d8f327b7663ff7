import { requirePositive } from "@/lib/core/shared/requirements";
import { fahrenheitToCelsius } from "@/lib/core/shared/units";
import { normalCdf } from "@/lib/core/stats/normal";
import { wetBulbF } from "./climate";
import { RATING_CONDITIONS } from "./draw-pattern";
import type { TankDay } from "./storage-tank";

/** A heat pump with its tank, described so that it reaches its rated factor in its own test. */
export type HeatPump = {
  /** Heat into the tank per unit of electricity at the rating conditions. */
  readonly ratedCop: number;
  /** Standing loss of the tank, Btu per hour and °F. */
  readonly lossBtuPerHourF: number;
  /** Volume that the resistance share is judged by, US gallons. */
  readonly volumeGal: number;
  /** A backup element heats when the heat pump cannot; without one the water runs cool instead. */
  readonly hasElement: boolean;
  /** Coldest air at which the compressor runs, °F. */
  readonly coldestAirF: number;
};

/** Conditions of one month at a heat pump. */
export type HeatPumpDay = TankDay & {
  readonly inletF: number;
  /** Air that the compressor takes heat from; the tank itself stands in `airF`. */
  readonly evaporatorAirF: number;
  readonly gallonsPerDay: number;
  /** Spread (standard deviation) of the evaporator's hourly air around its monthly mean, °F. */
  readonly airSpreadF: number;
};

export type HeatPumpEnergy = {
  /** Electricity, Btu a day. */
  readonly inputBtu: number;
  /** Heat the compressor takes from the air around it, Btu a day. */
  readonly takenFromAirBtu: number;
  /** Heat the tank gives back to the air around it, Btu a day. */
  readonly lostToAirBtu: number;
  readonly cop: number;
  /** Share of the tank's heat that elements make, 0 to 1. */
  readonly resistanceShare: number;
};

/**
 * Standing loss of a heat pump's tank in Btu per hour and °F by rated volume: 3.6 to 58 gallons, 4.0
 * to 73, 4.7 above. Laboratory values of 50 to 80 gallon products as used in NREL's public model
 * source; above 100 gallons grown with the surface, volume^(2/3) (our assumption).
 */
export function heatPumpTankLoss(volumeGal: number): number {
  requirePositive("volumeGal", volumeGal);
  if (volumeGal <= 58) return 3.6;
  if (volumeGal <= 73) return 4.0;
  return 4.7 * Math.max(1, volumeGal / 100) ** (2 / 3);
}

/**
 * Coefficient of performance at the rating conditions from the uniform energy factor: in the test the
 * heat pump makes what is drawn and what the tank loses, so cop = factor · (1 + loss/delivered). A
 * published regression on simulated tests (Maguire and Roberts 2020, as in NREL's public model source)
 * gives 1.0909·UEF − 0.0868 for the medium pattern, 6 to 9 % lower, because a layered tank loses less
 * than a mixed one; what is lost here as standing heat is lost there in the coefficient.
 */
export function ratedCopOf(
  uniformEnergyFactor: number,
  lossBtuPerHourF: number,
  test: TankDay,
): number {
  requirePositive("uniformEnergyFactor", uniformEnergyFactor);
  const lostBtu = 24 * lossBtuPerHourF * (test.tankF - test.airF);
  return uniformEnergyFactor * (1 + lostBtu / test.deliveredBtu);
}

/**
 * How the coefficient of performance moves with the air and the water, relative to the rating
 * conditions. Biquadratic curve in the wet-bulb temperature of the air and the temperature of the
 * water at the condenser, both in °C: Sparn, Hudon and Christensen, "Laboratory Performance Evaluation
 * of Residential Integrated Heat Pump Water Heaters" (NREL 2014), coefficients as in NREL's public
 * model source. The water is taken half-way between inlet and setpoint (our assumption: each draw
 * lays cold water at the condenser), so colder mains raise the coefficient and a hotter setpoint
 * lowers it.
 */
export function copRatio({
  airF,
  relativeHumidityPercent = RATING_CONDITIONS.relativeHumidityPercent,
  inletF,
  setpointF,
}: {
  readonly airF: number;
  readonly relativeHumidityPercent?: number;
  readonly inletF: number;
  readonly setpointF: number;
}): number {
  const at = copCurve(wetBulbF(airF, relativeHumidityPercent), (inletF + setpointF) / 2);
  return at / RATED_CURVE;
}

function copCurve(wetBulbAirF: number, waterF: number): number {
  const x = fahrenheitToCelsius(wetBulbAirF);
  const y = fahrenheitToCelsius(waterF);
  return (
    1.1332 + 0.063 * x - 0.0000979 * x * x - 0.00972 * y - 0.0000214 * y * y - 0.000686 * x * y
  );
}

const RATED_CURVE = copCurve(
  wetBulbF(RATING_CONDITIONS.airF, RATING_CONDITIONS.relativeHumidityPercent),
  (RATING_CONDITIONS.inletF + RATING_CONDITIONS.setpointF) / 2,
);

/**
 * Share of the tank's heat that elements make. Two causes, both our assumptions to be replaced by
 * metered values: air too cold for the compressor (share of hours below its limit, hourly air spread
 * normally around the month's mean), and draws larger than the rating test's (5 % for each tank volume
 * a day beyond 1.25, at most 30 %).
 */
export function resistanceShareOf(pump: HeatPump, day: HeatPumpDay): number {
  if (!pump.hasElement) return 0;
  const cold = shareBelow(pump.coldestAirF, day.evaporatorAirF, day.airSpreadF);
  const excess = Math.max(0, day.gallonsPerDay / pump.volumeGal - 1.25);
  const large = Math.min(0.3, 0.05 * excess);
  return cold + (1 - cold) * large;
}

/** Electricity and heat flows of one day. */
export function heatPumpDay(pump: HeatPump, day: HeatPumpDay): HeatPumpEnergy {
  const lostToAirBtu = 24 * pump.lossBtuPerHourF * Math.max(0, day.tankF - day.airF);
  const heatBtu = day.deliveredBtu + lostToAirBtu;
  const cop = Math.max(
    1,
    pump.ratedCop *
      copRatio({ airF: day.evaporatorAirF, inletF: day.inletF, setpointF: day.tankF }),
  );
  const resistanceShare = resistanceShareOf(pump, day);
  const compressorHeatBtu = heatBtu * (1 - resistanceShare);
  const compressorBtu = compressorHeatBtu / cop;
  return {
    inputBtu: compressorBtu + heatBtu * resistanceShare,
    takenFromAirBtu: compressorHeatBtu - compressorBtu,
    lostToAirBtu,
    cop,
    resistanceShare,
  };
}

/** Share of a normal distribution below `limit`; a step when there is no spread. */
function shareBelow(limit: number, mean: number, spread: number): number {
  if (spread <= 0) return mean < limit ? 1 : 0;
  return normalCdf((limit - mean) / spread);
}
