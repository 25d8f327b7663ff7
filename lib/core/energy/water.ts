/** Pounds of water in a US gallon at household hot-water temperatures (Lutz 1996, as used by LBNL's Home Energy Saver documentation). */
export const WATER_POUNDS_PER_GALLON = 8.293752;

/** Btu that warm a pound of water by one degree Fahrenheit (same source). */
export const WATER_BTU_PER_POUND_F = 1.000743;

/** Heat in Btu that `gallons` of water take up from `fromF` to `toF`. */
export function heatOfWaterBtu(gallons: number, fromF: number, toF: number): number {
  return gallons * WATER_POUNDS_PER_GALLON * WATER_BTU_PER_POUND_F * (toF - fromF);
}
