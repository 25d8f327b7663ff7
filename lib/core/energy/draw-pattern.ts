import { BTU_PER_KWH, BTU_PER_THERM } from "@/lib/core/shared/units";

/** The four draw patterns of the federal test procedure. A rated factor holds for its own pattern only. */
export const DRAW_PATTERNS = ["very-small", "low", "medium", "high"] as const;
export type DrawPattern = (typeof DRAW_PATTERNS)[number];

/** Gallons drawn in the 24-hour test: 10 CFR 430 subpart B appendix E, tables III.1 to III.4 (quoted). */
export const PATTERN_GALLONS: Readonly<Record<DrawPattern, number>> = {
  "very-small": 10,
  low: 38,
  medium: 55,
  high: 84,
};

/**
 * Conditions of the test of the uniform energy factor: inlet 58 °F, surrounding air 67.5 °F and 50 %
 * relative humidity, outlet 125 °F (10 CFR 430 subpart B appendix E section 2; inlet and air quoted,
 * outlet and humidity from memory).
 */
export const RATING_CONDITIONS = {
  inletF: 58,
  airF: 67.5,
  relativeHumidityPercent: 50,
  setpointF: 125,
} as const;

/**
 * The draw pattern of a first-hour rating in gallons: below 18 very small, below 51 low, below 75
 * medium, else high. 10 CFR 430 subpart B appendix E table I; 16 CFR 305 appendix D3 (published).
 */
export function patternOfFirstHourRating(firstHourGal: number): DrawPattern {
  if (firstHourGal < 18) return "very-small";
  if (firstHourGal < 51) return "low";
  if (firstHourGal < 75) return "medium";
  return "high";
}

/** Hot-water heat of a year in the label's formula: 365 · gallons · 8.24 lb/gal · 1.00 Btu/lb·°F · 67 °F. */
export function labelHeatBtuPerYear(pattern: DrawPattern): number {
  return 365 * PATTERN_GALLONS[pattern] * 8.24 * 1.0 * 67;
}

/**
 * Yearly energy as the yellow label states it: {@link labelHeatBtuPerYear} over the uniform energy
 * factor (10 CFR 430 subpart B appendix E section 6.4, from memory). It compares products under one
 * load; {@link computeEnergy} in annual-energy.ts says what a home uses.
 */
export function labelEnergyPerYear(
  pattern: DrawPattern,
  uniformEnergyFactor: number,
): { readonly btu: number; readonly therms: number; readonly kwh: number } {
  const btu = labelHeatBtuPerYear(pattern) / uniformEnergyFactor;
  return { btu, therms: btu / BTU_PER_THERM, kwh: btu / BTU_PER_KWH };
}
