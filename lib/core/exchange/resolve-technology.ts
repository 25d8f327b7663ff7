import type { Fuel, Technology } from "@/lib/core/heaters/vocabulary";
import type { Assumption } from "./assumptions";
import type { TechnologyWords } from "./cell-words";

export type ResolvedTechnology =
  | {
      readonly technology: Technology;
      readonly fuel: Fuel;
      readonly assumptions: readonly Assumption[];
    }
  | { readonly problem: string };

/** A tank below this is the water in a tankless heater's coil (common practice, no source). */
const SMALLEST_TANK_GAL = 2;
/** A tankless heater holds less than this (common practice, no source). */
const LARGEST_TANKLESS_GAL = 5;

/**
 * Technology and fuel from what the type, the fuel and the volume of a row say together. What they
 * leave open is not guessed, except for the three cases that ./assumptions names.
 *
 * @param words what the type says, or null when the row has none
 * @param volumeGal storage volume in US gallons, or null when not known
 */
export function resolveTechnology(
  words: TechnologyWords | null,
  givenFuel: Fuel | null,
  volumeGal: number | null,
): ResolvedTechnology {
  const assumptions: Assumption[] = [];
  const isElectricFuel = givenFuel === "electricity";
  const energy =
    words?.energy ?? (givenFuel === null ? null : isElectricFuel ? "electric" : "combustion");
  if (energy === null) {
    return { problem: "type does not say gas, electric or heat pump, and no fuel is given" };
  }
  if (givenFuel !== null && isElectricFuel !== (energy !== "combustion")) {
    return {
      problem: `fuel ${FUEL_WORDS[givenFuel]} contradicts a type that is ${ENERGY_WORDS[energy]}`,
    };
  }
  if (words?.fuel && givenFuel && words.fuel !== givenFuel) {
    return {
      problem: `fuel ${FUEL_WORDS[givenFuel]} contradicts a type that names ${FUEL_WORDS[words.fuel]}`,
    };
  }
  const form = words?.form ?? null;
  if (form === "instantaneous" && volumeGal !== null && volumeGal >= LARGEST_TANKLESS_GAL) {
    return { problem: `volume ${Math.round(volumeGal)} gal contradicts a type that is tankless` };
  }
  if (energy === "heat-pump") {
    if (form === "instantaneous") return { problem: "type is a heat pump and tankless at once" };
    const variant = words?.variant ?? null;
    if (variant === null && form === null) assumptions.push("heat-pump-tank");
    return {
      technology: variant === null ? "heat-pump-storage" : `heat-pump-${variant}`,
      fuel: "electricity",
      assumptions,
    };
  }
  const isStorage =
    form === null ? volumeGal !== null && volumeGal >= SMALLEST_TANK_GAL : form === "storage";
  if (form === null) {
    if (!isStorage) {
      return { problem: "type does not say tank or tankless, and no volume tells" };
    }
    assumptions.push("storage-by-volume");
  }
  if (energy === "electric") {
    return {
      technology: isStorage ? "electric-storage" : "electric-instantaneous",
      fuel: "electricity",
      assumptions,
    };
  }
  const fuel = givenFuel ?? words?.fuel ?? null;
  if (fuel === null) assumptions.push("natural-gas");
  return {
    technology: isStorage ? "gas-storage" : "gas-instantaneous",
    fuel: fuel ?? "natural-gas",
    assumptions,
  };
}

const FUEL_WORDS: Readonly<Record<Fuel, string>> = {
  "natural-gas": "natural gas",
  propane: "propane",
  "fuel-oil": "fuel oil",
  electricity: "electricity",
};

const ENERGY_WORDS = {
  combustion: "gas fired",
  electric: "electric",
  "heat-pump": "a heat pump",
} as const;
