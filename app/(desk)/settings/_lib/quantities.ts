import { formatNumber } from "@/app/_lib/format";
import { fahrenheitToCelsius, mgPerLitreToGrains } from "@/lib/core/shared/units";

type UnitSystem = "us" | "si";

const both = (units: UnitSystem, us: string, si: string): string =>
  units === "us" ? `${us} (${si})` : `${si} (${us})`;

/** `12.3 gr/gal (210 mg/L)`, the organisation's own units first. */
export function formatHardness(mgPerLitre: number, units: UnitSystem): string {
  return both(
    units,
    `${formatNumber(mgPerLitreToGrains(mgPerLitre), 1)} gr/gal`,
    `${formatNumber(mgPerLitre)} mg/L`,
  );
}

/** `52 °F (11 °C)`, the organisation's own units first. */
export function formatTemperature(fahrenheit: number, units: UnitSystem): string {
  return both(
    units,
    `${formatNumber(fahrenheit)} °F`,
    `${formatNumber(fahrenheitToCelsius(fahrenheit))} °C`,
  );
}
