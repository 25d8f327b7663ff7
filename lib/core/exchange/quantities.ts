import {
  BTU_PER_KWH,
  celsiusToFahrenheit,
  grainsToMgPerLitre,
  litresToGallons,
  MG_PER_LITRE_PER_GERMAN_DEGREE,
} from "@/lib/core/shared/units";

/** What a number in a spreadsheet measures; it decides which units its cells and header may name. */
export type Quantity = "volume" | "power" | "temperature" | "hardness" | "duration";

export type UnitCode =
  | "gal"
  | "L"
  | "Btu/h"
  | "kBtu/h"
  | "W"
  | "kW"
  | "F"
  | "C"
  | "mg/L"
  | "gpg"
  | "dH"
  | "year"
  | "month";

type Unit = {
  readonly quantity: Quantity;
  /** As a person reads it behind a number or in a heading. */
  readonly label: string;
  /** As it is found in cells and headings, lower case, without dots and spaces. */
  readonly words: readonly string[];
  /** To the unit that the record keeps: gal, Btu/h, °F, mg/L, years. */
  readonly toRecord: (value: number) => number;
};

const same = (value: number) => value;

/** Units that spreadsheets use. MBH is the trade's "thousand Btu per hour" (common practice, no source). */
export const UNITS: Readonly<Record<UnitCode, Unit>> = {
  gal: {
    quantity: "volume",
    label: "gal",
    words: ["gal", "gals", "gallon", "gallons", "usgal", "usg", "g"],
    toRecord: same,
  },
  L: {
    quantity: "volume",
    label: "L",
    words: ["l", "ltr", "ltrs", "lt", "liter", "liters", "litre", "litres"],
    toRecord: litresToGallons,
  },
  "Btu/h": {
    quantity: "power",
    label: "Btu/h",
    words: ["btu/h", "btu", "btus", "btuh", "btu/hr", "btuhr", "btuperhour", "btu/hour"],
    toRecord: same,
  },
  "kBtu/h": {
    quantity: "power",
    label: "kBtu/h",
    words: ["kbtu/h", "kbtu", "kbtuh", "kbtu/hr", "mbh", "mbtu", "mbtuh", "mbtu/h", "kbtus"],
    toRecord: (value) => value * 1000,
  },
  W: {
    quantity: "power",
    label: "W",
    words: ["w", "watt", "watts"],
    toRecord: (value) => (value / 1000) * BTU_PER_KWH,
  },
  kW: {
    quantity: "power",
    label: "kW",
    words: ["kw", "kilowatt", "kilowatts"],
    toRecord: (value) => value * BTU_PER_KWH,
  },
  F: {
    quantity: "temperature",
    label: "°F",
    words: ["f", "°f", "degf", "degreesf", "fahrenheit", "ºf", "degreesfahrenheit"],
    toRecord: same,
  },
  C: {
    quantity: "temperature",
    label: "°C",
    words: ["c", "°c", "degc", "degreesc", "celsius", "ºc", "degreescelsius", "centigrade"],
    toRecord: celsiusToFahrenheit,
  },
  "mg/L": {
    quantity: "hardness",
    label: "mg/L",
    words: ["mg/l", "mgl", "ppm", "mg/lascaco3", "mg/lcaco3", "ppmcaco3"],
    toRecord: same,
  },
  gpg: {
    quantity: "hardness",
    label: "gpg",
    words: ["gpg", "grains", "grain", "gr/gal", "grains/gal", "grainspergallon", "grains/gallon"],
    toRecord: grainsToMgPerLitre,
  },
  dH: {
    quantity: "hardness",
    label: "°dH",
    words: ["°dh", "dh", "ºdh", "degdh"],
    toRecord: (value) => value * MG_PER_LITRE_PER_GERMAN_DEGREE,
  },
  year: {
    quantity: "duration",
    label: "years",
    words: ["y", "yr", "yrs", "year", "years"],
    toRecord: same,
  },
  month: {
    quantity: "duration",
    label: "months",
    words: ["mo", "mos", "month", "months"],
    toRecord: (value) => value / 12,
  },
};

export const UNIT_CODES = Object.keys(UNITS) as readonly UnitCode[];

const WORDS: ReadonlyMap<string, UnitCode> = new Map(
  UNIT_CODES.flatMap((code) => UNITS[code].words.map((word) => [word, code] as const)),
);

/** The unit that `words` names for a quantity ("US Gal." → gal), or null when it names none. */
export function findUnit(words: string, quantity: Quantity): UnitCode | null {
  const code = WORDS.get(words.toLowerCase().replace(/[\s.]+/g, ""));
  return code && UNITS[code].quantity === quantity ? code : null;
}

/** Units of one quantity, the record's own first. */
export function unitsOf(quantity: Quantity): readonly UnitCode[] {
  return UNIT_CODES.filter((code) => UNITS[code].quantity === quantity);
}
