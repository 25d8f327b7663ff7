import { formatNumber, formatShare } from "@/app/_lib/format";
import type { HomeResult, HomeYear } from "@/lib/core/emissions/home-result";
import type { Calibration } from "@/lib/core/energy/calibration";
import { formatCents } from "@/lib/core/shared/money";
import { BTU_PER_KWH, thermsToKwh } from "@/lib/core/shared/units";

/** A year's energy in therms or kilowatt-hours. */
export function energyOf({ energy }: HomeYear): string {
  return energy.thermsPerYear > 0
    ? `${formatNumber(energy.thermsPerYear)} therms (${formatNumber(thermsToKwh(energy.thermsPerYear))} kWh)`
    : `${formatNumber(energy.kwhPerYear)} kWh`;
}

/** The change of a year's energy in kilowatt-hours, fuel converted, with its sign. */
export function energyChangeOf({ change }: HomeResult): string {
  return `${signed(thermsToKwh(change.thermsPerYear) + change.kwhPerYear)} kWh`;
}

/** A change of emissions with its sign. */
export function emissionsChangeOf({ change }: HomeResult): string {
  return `${signed(change.kgCo2e)} kg`;
}

/** A change of a bill with its sign. */
export function changeOf(cents: number): string {
  if (cents === 0) return "–";
  return `${cents > 0 ? "+" : "−"}${formatCents(Math.abs(cents), { whole: true })}`;
}

/** What the new heater does to the heating and cooling of the home, beside the one there now. */
export function spaceEffectWords({ before, after }: HomeResult): string {
  const now = before.energy.spaceEffect;
  const then = after.energy.spaceEffect;
  const takenBtu = then.takenBtuPerYear - now.takenBtuPerYear;
  if (then.takenBtuPerYear === 0 && now.takenBtuPerYear === 0) return "none: not in heated rooms";
  if (then.kwhPerYear === null || now.kwhPerYear === null) {
    const heat = `${formatNumber(Math.abs(takenBtu) / BTU_PER_KWH)} kWh more heat`;
    return `${heat} ${takenBtu >= 0 ? "taken from" : "given to"} the rooms; how they are heated is not on record`;
  }
  const therms = (then.thermsPerYear ?? 0) - (now.thermsPerYear ?? 0);
  const parts = [
    ...(Math.round(therms) === 0 ? [] : [`${signed(therms)} therms`]),
    `${signed(then.kwhPerYear - now.kwhPerYear)} kWh`,
  ];
  return `${parts.join(", ")} for heating and cooling`;
}

/** How far the model is from the property's meters. */
export function calibrationWords(
  calibration: Calibration | null,
  usesCalibration: boolean,
): string {
  if (!calibration) return "Not metered in the latest account: the figures are the model’s own.";
  const { factor, band90, periods } = calibration;
  const band = band90
    ? `${formatNumber(band90[0], 3)} to ${formatNumber(band90[1], 3)} with 90 % confidence`
    : "one period alone has no band";
  const use = usesCalibration
    ? "The figures are multiplied by it."
    : "The figures are not multiplied by it.";
  return `The property’s meters read ${formatNumber(factor, 3)} times what the model says (${band}; ${formatNumber(periods)} ${periods === 1 ? "period" : "periods"}; ${formatShare(Math.abs(factor - 1))} ${factor >= 1 ? "more" : "less"}). ${use}`;
}

function signed(value: number): string {
  if (Math.round(value) === 0) return "0";
  return `${value > 0 ? "+" : "−"}${formatNumber(Math.abs(value))}`;
}
