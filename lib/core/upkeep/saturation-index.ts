import type { Water } from "@/lib/core/heaters/heater";
import { requireFinite, requirePositive } from "@/lib/core/shared/requirements";
import { fahrenheitToCelsius } from "@/lib/core/shared/units";

export type SaturationInput = {
  /** pH of the water, 0 to 14. */
  readonly ph: number;
  /** Total dissolved solids in mg/L, above zero. */
  readonly dissolvedSolidsMgPerLitre: number;
  /** Calcium hardness in mg/L as CaCO3, above zero. */
  readonly calciumMgPerLitre: number;
  /** Alkalinity in mg/L as CaCO3, above zero. */
  readonly alkalinityMgPerLitre: number;
  /** Temperature of the water in degrees Fahrenheit, 32 to 212. */
  readonly temperatureF: number;
};

export type SaturationIndex = {
  /** pH minus pHs: above zero the water can lay down scale, below zero it dissolves it. */
  readonly index: number;
  /** pH at which the water would be saturated with calcium carbonate. */
  readonly saturationPh: number;
  readonly tendency: "scaling" | "near balance" | "dissolving";
};

/** Index up to which either way water counts as near balance (common practice, no source). */
const NEAR_BALANCE = 0.3;

/**
 * Langelier saturation index: LSI = pH − pHs, pHs = (9.3 + A + B) − (C + D), with
 * A = (log10 TDS − 1) / 10, B = −13.12 log10(T + 273) + 34.55 (T in °C), C = log10(Ca) − 0.4,
 * D = log10(alkalinity). A and B as quoted by draftlessig.org; C and D from memory.
 *
 * The index says whether scale can form, not how fast or how much. It rises with temperature, so it
 * is taken at the temperature of the tank and not at that of the tap.
 *
 * @throws {RangeError} naming the argument that is outside its range.
 */
export function saturationIndex(input: SaturationInput): SaturationIndex {
  const { ph, temperatureF } = input;
  if (!(ph >= 0 && ph <= 14)) throw new RangeError(`ph must be from 0 to 14, got ${ph}`);
  requireFinite("temperatureF", temperatureF);
  if (temperatureF < 32 || temperatureF > 212) {
    throw new RangeError(`temperatureF must be from 32 to 212, got ${temperatureF}`);
  }
  const solids = requirePositive("dissolvedSolidsMgPerLitre", input.dissolvedSolidsMgPerLitre);
  const calcium = requirePositive("calciumMgPerLitre", input.calciumMgPerLitre);
  const alkalinity = requirePositive("alkalinityMgPerLitre", input.alkalinityMgPerLitre);

  const a = (Math.log10(solids) - 1) / 10;
  const b = -13.12 * Math.log10(fahrenheitToCelsius(temperatureF) + 273) + 34.55;
  const c = Math.log10(calcium) - 0.4;
  const d = Math.log10(alkalinity);
  const saturationPh = 9.3 + a + b - (c + d);
  const index = ph - saturationPh;
  return {
    index,
    saturationPh,
    tendency:
      index > NEAR_BALANCE ? "scaling" : index < -NEAR_BALANCE ? "dissolving" : "near balance",
  };
}

export type TankSaturation = SaturationIndex & {
  readonly temperatureF: number;
  /** True where total hardness stands in for calcium hardness, which makes the index the highest it can be. */
  readonly isCalciumAssumed: boolean;
};

/**
 * Saturation index of a property's water in a tank at `temperatureF`, or the names of the values
 * that its test lacks. Without a calcium value the whole hardness is taken as calcium (assumed).
 */
export function saturationAtTank(
  water: Omit<Water, "softened"> & { readonly calciumMgPerLitre?: number | null },
  temperatureF: number,
): { readonly value: TankSaturation } | { readonly missing: readonly string[] } {
  const { ph, alkalinityMgPerLitre, dissolvedSolidsMgPerLitre } = water;
  const calciumMgPerLitre = water.calciumMgPerLitre ?? water.hardnessMgPerLitre;
  if (ph === null || !alkalinityMgPerLitre || !dissolvedSolidsMgPerLitre || !calciumMgPerLitre) {
    const missing = [
      ph === null ? "ph" : "",
      alkalinityMgPerLitre ? "" : "alkalinityMgPerLitre",
      dissolvedSolidsMgPerLitre ? "" : "dissolvedSolidsMgPerLitre",
      calciumMgPerLitre ? "" : "hardness",
    ];
    return { missing: missing.filter((name) => name !== "") };
  }
  const index = saturationIndex({
    ph,
    alkalinityMgPerLitre,
    dissolvedSolidsMgPerLitre,
    calciumMgPerLitre,
    temperatureF,
  });
  return {
    value: { ...index, temperatureF, isCalciumAssumed: water.calciumMgPerLitre == null },
  };
}
