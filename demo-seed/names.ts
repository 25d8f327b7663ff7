/** Invented names. None is meant to be a real place, street, property or maker. */

export const REGION = "Sarnholt";

export const TOWNS = ["Oskerby", "Tarnwick Mills", "Lower Vesper", "Brindle Ferry"] as const;

/**
 * Grid region of each town. The towns are invented; the regions are real codes with published factors
 * (eGRID subregions), so that the account has real factors to work with.
 */
export const GRID_REGIONS = ["CAMX", "NEWE", "RFCE", "CAMX"] as const;

export const STREETS = [
  "Ollivane Street",
  "Hasket Row",
  "Merrowdale Avenue",
  "Pellin Lane",
  "Yarrowen Road",
  "Cobbart Street",
  "Dunnelow Way",
  "Farrisk Avenue",
  "Quorley Road",
  "Sedgebarn Lane",
  "Twillow Street",
  "Wexmarsh Road",
] as const;

export const PROPERTY_NAMES = [
  "Ollivane Court",
  "Hasket Terrace",
  "Merrowdale",
  "Pellin Yard",
  "Yarrowen Gardens",
  "Cobbart House",
  "Dunnelow Park",
  "Farrisk Commons",
  "Quorley Heights",
  "Sedgebarn",
  "Twillow Place",
  "Wexmarsh Row",
  "Arbrook Steps",
  "Belterrow",
  "Corlith Square",
  "Drovenhall",
  "Emberlow Court",
  "Fallowick",
  "Gristmoor Terrace",
  "Ivenhurst",
  "Kestrow Yard",
  "Lorimarsh",
  "Nethervane",
  "Osmerrow Green",
] as const;

/** Makers with the letters that open their model and serial numbers. */
export const MAKERS = [
  { name: "Northkettle", code: "NK" },
  { name: "Vane & Emberly", code: "VE" },
  { name: "Quellwarm", code: "QW" },
  { name: "Hearthmoor", code: "HM" },
] as const;

export const WATER_SOURCES = [
  "Sarnholt reservoir",
  "Vesper well field",
  "Reservoir and wells mixed",
] as const;
