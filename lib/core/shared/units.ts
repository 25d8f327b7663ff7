/**
 * Unit conversions. Exact factors are exact by definition: the inch, pound and US gallon by the
 * International Yard and Pound agreement of 1959 (NIST SP 811, appendix B.8), the Btu as
 * Btu_IT = 1055.05585262 J (same appendix).
 */

/** Litres in a US gallon, exact: 231 cubic inches. */
export const LITRES_PER_GALLON = 3.785411784;
/** Kilograms in a pound, exact. */
export const KILOGRAMS_PER_POUND = 0.45359237;
/** Joules in a Btu (IT). */
export const JOULES_PER_BTU = 1055.05585262;
/** Btu in a kilowatt hour: 3.6e6 J / 1055.05585262 J = 3412.14. */
export const BTU_PER_KWH = 3_600_000 / JOULES_PER_BTU;
/** Btu in a therm (US trade: 100,000 Btu). */
export const BTU_PER_THERM = 100_000;
/** Kilowatt hours in a therm. */
export const KWH_PER_THERM = BTU_PER_THERM / BTU_PER_KWH;
/** Milligrams per litre as CaCO3 in a grain per US gallon: 64.79891 mg / 3.785411784 L = 17.118. */
export const MG_PER_LITRE_PER_GRAIN = 64.79891 / LITRES_PER_GALLON;
/** Milligrams per litre as CaCO3 in a German degree (°dH): 10 mg CaO/L in CaCO3. */
export const MG_PER_LITRE_PER_GERMAN_DEGREE = 17.848;
/** Square inch pressure to kilopascal (psi → kPa). */
export const KILOPASCALS_PER_PSI = 6.894757293168;

export const fahrenheitToCelsius = (fahrenheit: number): number => ((fahrenheit - 32) * 5) / 9;
export const celsiusToFahrenheit = (celsius: number): number => (celsius * 9) / 5 + 32;
export const gallonsToLitres = (gallons: number): number => gallons * LITRES_PER_GALLON;
export const litresToGallons = (litres: number): number => litres / LITRES_PER_GALLON;
export const poundsToKilograms = (pounds: number): number => pounds * KILOGRAMS_PER_POUND;
export const kilogramsToPounds = (kilograms: number): number => kilograms / KILOGRAMS_PER_POUND;
export const grainsToMgPerLitre = (grains: number): number => grains * MG_PER_LITRE_PER_GRAIN;
export const mgPerLitreToGrains = (mgPerLitre: number): number =>
  mgPerLitre / MG_PER_LITRE_PER_GRAIN;
export const thermsToKwh = (therms: number): number => therms * KWH_PER_THERM;
