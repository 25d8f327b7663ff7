import { celsiusToFahrenheit, fahrenheitToCelsius } from "@/lib/core/shared/units";
import { byMonth, MID_MONTH_DAY, type Monthly } from "./months";

/** Outdoor air of a site as one cosine wave over the year. */
export type Climate = {
  /** Annual mean of outdoor air, degrees Fahrenheit. */
  readonly annualMeanAirF: number;
  /** Half of the difference between the warmest and the coldest month's mean, degrees Fahrenheit. */
  readonly airAmplitudeF: number;
  /** Month (1 to 12) of the coldest air. */
  readonly coldestMonth: number;
};

/** Monthly mean outdoor air in degrees Fahrenheit: a cosine wave with its low in the coldest month. */
export function monthlyOutdoorAirF(climate: Climate): Monthly {
  return byMonth(
    (month) =>
      climate.annualMeanAirF -
      climate.airAmplitudeF * Math.cos((2 * Math.PI * (month + 1 - climate.coldestMonth)) / 12),
  );
}

/**
 * Monthly temperature of the cold water that reaches the heater, degrees Fahrenheit.
 *
 * Mains-temperature correlation of Burch and Christensen, "Towards Development of an Algorithm for
 * Mains Water Temperature" (American Solar Energy Society conference, 2007):
 * T = (mean + 6) + ratio · amplitude · sin(0.986·(day − 15 − lag) − 90°), with
 * ratio = 0.4 + 0.01·(mean − 44) and lag = 35 − (mean − 44) days. Read in the public source of
 * NREL's building models (quoted). The published form puts the coldest air in mid-January; here the
 * wave is moved so that it follows the site's coldest month. Never below freezing.
 *
 * The correlation describes buried mains of a town. A private well is steadier.
 */
export function monthlyInletWaterF(climate: Climate): Monthly {
  const aboveReference = climate.annualMeanAirF - 44;
  const ratio = Math.max(0, 0.4 + 0.01 * aboveReference);
  const lagDays = 35 - aboveReference;
  const shiftDays = (365 / 12) * (climate.coldestMonth - 1);
  return MID_MONTH_DAY.map((day) => {
    const degrees = 0.986 * (day - shiftDays - 15 - lagDays) - 90;
    const wave = Math.sin((degrees * Math.PI) / 180);
    return Math.max(32, climate.annualMeanAirF + 6 + ratio * climate.airAmplitudeF * wave);
  });
}

/** The air around the heater, between the outdoors and a steady indoor temperature. */
export type Surroundings = {
  /** 0: indoor air; 1: outdoor air. */
  readonly outdoorShare: number;
  readonly indoorAirF: number;
  /** True when the air is heated and cooled with the home. */
  readonly conditioned: boolean;
};

/** Monthly mean air around the heater, degrees Fahrenheit. */
export function monthlySurroundingAirF(climate: Climate, surroundings: Surroundings): Monthly {
  const { outdoorShare, indoorAirF } = surroundings;
  return monthlyOutdoorAirF(climate).map(
    (outdoorF) => outdoorShare * outdoorF + (1 - outdoorShare) * indoorAirF,
  );
}

/**
 * Wet-bulb temperature in degrees Fahrenheit from dry-bulb and relative humidity at sea level.
 *
 * Stull, "Wet-Bulb Temperature from Relative Humidity and Air Temperature", Journal of Applied
 * Meteorology and Climatology 50 (2011), equation 1 (from memory; its worked example, 20 °C and
 * 50 % giving 13.7 °C, is a test). Valid from −20 to 50 °C and 5 to 99 %; error below 1 °C.
 */
export function wetBulbF(airF: number, relativeHumidityPercent: number): number {
  const t = fahrenheitToCelsius(airF);
  const rh = relativeHumidityPercent;
  return celsiusToFahrenheit(
    t * Math.atan(0.151977 * Math.sqrt(rh + 8.313659)) +
      Math.atan(t + rh) -
      Math.atan(rh - 1.676331) +
      0.00391838 * rh ** 1.5 * Math.atan(0.023101 * rh) -
      4.686035,
  );
}
