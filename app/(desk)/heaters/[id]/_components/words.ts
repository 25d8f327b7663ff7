import { formatNumber } from "@/app/_lib/format";
import { fahrenheitToCelsius, gallonsToLitres, kilogramsToPounds } from "@/lib/core/shared/units";

const DASH = "–";

/** `40 gal (151 L)` */
export function volumeText(gallons: number | null): string {
  if (gallons === null) return DASH;
  return `${formatNumber(gallons)} gal (${formatNumber(gallonsToLitres(gallons))} L)`;
}

/** `120 °F (49 °C)` */
export function temperatureText(fahrenheit: number | null): string {
  if (fahrenheit === null) return DASH;
  return `${formatNumber(fahrenheit)} °F (${formatNumber(fahrenheitToCelsius(fahrenheit))} °C)`;
}

/** `2,310 lb`, a ton of 2,000 lb not being what tonnes are. */
export function massText(kilograms: number): string {
  return `${formatNumber(kilogramsToPounds(kilograms))} lb`;
}

export function orDash(value: string | number | null): string | number {
  return value ?? DASH;
}
