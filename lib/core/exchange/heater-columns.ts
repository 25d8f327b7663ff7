import type { Quantity, UnitCode } from "./quantities";

/**
 * The columns of a heater spreadsheet, defined once: reading, guessing, checking, exporting and the
 * page of documentation all follow this list.
 */

/** How a column's cells are read. */
export type CellKind =
  | "text"
  | "number"
  | "floor"
  | "date"
  | "answer"
  | "technology"
  | "fuel"
  | "evidence"
  | "place"
  | "status"
  | "cause";

type ColumnShape = {
  /** Heading in our own files and name in the matching list. */
  readonly label: string;
  /** The column's name within a sentence. */
  readonly noun: string;
  readonly kind: CellKind;
  /** What people head such a column with, besides the label. */
  readonly synonyms: readonly string[];
  /** Longest text kept, in characters. */
  readonly maxLength?: number;
  /** Numbers with units, and the unit of a number without one; null where the row decides. */
  readonly quantity?: Quantity;
  readonly unit?: UnitCode | null;
  /** Lowest and highest number taken, in the record's unit. */
  readonly range?: readonly [low: number, high: number];
  readonly isWhole?: boolean;
  /** A zero stands for "none" or "not known" and is read as not given. */
  readonly zeroIsUnknown?: boolean;
};

/**
 * Ranges are plausibility limits of the trade (common practice, no source), wide enough for a plant
 * that serves many homes; heater-record.ts narrows volume and input for a heater of one home.
 */
export const HEATER_COLUMNS = {
  property: {
    label: "Property",
    noun: "property",
    kind: "text",
    maxLength: 120,
    synonyms: [
      "property name",
      "community",
      "complex",
      "site",
      "site name",
      "development",
      "estate",
    ],
  },
  building: {
    label: "Building",
    noun: "building",
    kind: "text",
    maxLength: 120,
    synonyms: ["bldg", "building name", "building number", "bldg no", "block", "tower", "house"],
  },
  unit: {
    label: "Unit",
    noun: "unit",
    kind: "text",
    maxLength: 40,
    synonyms: [
      "unit number",
      "unit no",
      "apartment",
      "apt",
      "apt no",
      "apartment number",
      "home",
      "suite",
      "door",
      "unit id",
      "flat",
      "home number",
    ],
  },
  floor: {
    label: "Floor",
    noun: "floor",
    kind: "floor",
    range: [-5, 150],
    isWhole: true,
    synonyms: ["level", "storey", "story", "fl", "floor number"],
  },
  riser: {
    label: "Riser",
    noun: "riser",
    kind: "text",
    maxLength: 20,
    synonyms: ["stack", "line", "riser number", "plumbing stack"],
  },
  bedrooms: {
    label: "Bedrooms",
    noun: "bedrooms",
    kind: "number",
    range: [0, 12],
    isWhole: true,
    synonyms: ["beds", "bed", "br", "bedroom count", "number of bedrooms"],
  },
  bathrooms: {
    label: "Bathrooms",
    noun: "bathrooms",
    kind: "number",
    range: [0, 12],
    synonyms: ["baths", "bath", "ba", "bathroom count", "number of bathrooms"],
  },
  occupants: {
    label: "Occupants",
    noun: "occupants",
    kind: "number",
    range: [0, 40],
    isWhole: true,
    synonyms: [
      "residents",
      "people",
      "persons",
      "household size",
      "tenants",
      "number of occupants",
    ],
  },
  homesServed: {
    label: "Homes served",
    noun: "homes served",
    kind: "number",
    range: [1, 2000],
    isWhole: true,
    zeroIsUnknown: true,
    synonyms: ["units served", "apartments served", "homes", "number of homes", "serves units"],
  },
  tag: {
    label: "Tag",
    noun: "tag",
    kind: "text",
    maxLength: 60,
    synonyms: [
      "asset tag",
      "heater tag",
      "asset id",
      "asset number",
      "heater id",
      "equipment id",
      "equipment tag",
      "heater number",
      "tag number",
      "id",
      "equipment number",
      "wh id",
      "asset",
    ],
  },
  technology: {
    label: "Type",
    noun: "type",
    kind: "technology",
    synonyms: [
      "technology",
      "heater type",
      "water heater type",
      "equipment type",
      "kind",
      "tank type",
      "system type",
      "wh type",
      "category",
      "description",
    ],
  },
  fuel: {
    label: "Fuel",
    noun: "fuel",
    kind: "fuel",
    synonyms: [
      "fuel type",
      "energy source",
      "energy",
      "fuel source",
      "power source",
      "gas electric",
      "gas or electric",
    ],
  },
  installDate: {
    label: "Install date",
    noun: "install date",
    kind: "date",
    synonyms: [
      "installed",
      "date installed",
      "installation date",
      "install day",
      "installed on",
      "in service date",
      "date of installation",
      "date in service",
      "replaced on",
      "date replaced",
      "start date",
      "install",
    ],
  },
  installEarliest: {
    label: "Install date, earliest",
    noun: "earliest install date",
    kind: "date",
    synonyms: [
      "earliest install date",
      "install earliest",
      "installed after",
      "install from",
      "installed not before",
    ],
  },
  installLatest: {
    label: "Install date, latest",
    noun: "latest install date",
    kind: "date",
    synonyms: [
      "latest install date",
      "install latest",
      "installed before",
      "install to",
      "installed by",
      "installed not after",
    ],
  },
  installYear: {
    label: "Install year",
    noun: "install year",
    kind: "date",
    synonyms: [
      "year installed",
      "installation year",
      "year",
      "yr installed",
      "year of installation",
      "install yr",
    ],
  },
  ageYears: {
    label: "Age",
    noun: "age",
    kind: "number",
    quantity: "duration",
    unit: "year",
    range: [0, 80],
    synonyms: ["heater age", "unit age", "equipment age", "age in years", "years old"],
  },
  installEvidence: {
    label: "Install evidence",
    noun: "install evidence",
    kind: "evidence",
    synonyms: [
      "evidence",
      "install date source",
      "date source",
      "source of date",
      "install source",
    ],
  },
  manufacturer: {
    label: "Manufacturer",
    noun: "manufacturer",
    kind: "text",
    maxLength: 80,
    synonyms: ["make", "brand", "mfr", "mfg", "maker", "manufacturer name", "manuf"],
  },
  model: {
    label: "Model",
    noun: "model",
    kind: "text",
    maxLength: 80,
    synonyms: ["model number", "model no", "model num", "mdl", "model name"],
  },
  serial: {
    label: "Serial number",
    noun: "serial number",
    kind: "text",
    maxLength: 80,
    synonyms: ["serial", "serial no", "s n", "sn", "ser no", "serial num"],
  },
  volume: {
    label: "Volume",
    noun: "volume",
    kind: "number",
    quantity: "volume",
    unit: "gal",
    range: [0.3, 10000],
    zeroIsUnknown: true,
    synonyms: [
      "capacity",
      "tank size",
      "tank",
      "size",
      "gallons",
      "tank capacity",
      "storage",
      "litres",
      "liters",
      "tank volume",
      "gal",
      "storage volume",
      "gallon capacity",
    ],
  },
  input: {
    label: "Input",
    noun: "input",
    kind: "number",
    quantity: "power",
    unit: null,
    zeroIsUnknown: true,
    synonyms: [
      "input rating",
      "rated input",
      "energy input",
      "heat input",
      "firing rate",
      "power input",
    ],
  },
  inputBtuPerHour: {
    label: "Burner input",
    noun: "burner input",
    kind: "number",
    quantity: "power",
    unit: "Btu/h",
    zeroIsUnknown: true,
    synonyms: [
      "btu",
      "btuh",
      "btu input",
      "input btu",
      "btu rating",
      "btus",
      "mbh",
      "kbtu",
      "gas input",
    ],
  },
  inputWatts: {
    label: "Element input",
    noun: "element input",
    kind: "number",
    quantity: "power",
    unit: "W",
    zeroIsUnknown: true,
    synonyms: [
      "watts",
      "wattage",
      "kw",
      "element watts",
      "element wattage",
      "input watts",
      "kilowatts",
      "element size",
      "electric input",
    ],
  },
  uniformEnergyFactor: {
    label: "UEF",
    noun: "UEF",
    kind: "number",
    range: [0.2, 6],
    zeroIsUnknown: true,
    synonyms: ["uniform energy factor", "uef rating", "energy factor", "ef"],
  },
  firstHour: {
    label: "First-hour rating",
    noun: "first-hour rating",
    kind: "number",
    quantity: "volume",
    unit: "gal",
    range: [1, 5000],
    zeroIsUnknown: true,
    synonyms: ["fhr", "first hour", "first hour delivery", "first hr rating"],
  },
  place: {
    label: "Place",
    noun: "place",
    kind: "place",
    maxLength: 120,
    synonyms: [
      "location",
      "heater location",
      "room",
      "where",
      "location in unit",
      "wh location",
      "closet",
    ],
  },
  overFinishedSpace: {
    label: "Over finished space",
    noun: "over finished space",
    kind: "answer",
    synonyms: [
      "above finished space",
      "finished space below",
      "above living space",
      "unit below",
      "over living space",
    ],
  },
  drainPan: {
    label: "Drain pan",
    noun: "drain pan",
    kind: "answer",
    synonyms: ["pan", "has pan", "pan installed", "drip pan"],
  },
  leakShutoff: {
    label: "Leak shut-off",
    noun: "leak shut-off",
    kind: "answer",
    synonyms: [
      "leak shutoff",
      "automatic shutoff",
      "auto shutoff valve",
      "leak detector",
      "flood stop",
    ],
  },
  closedSystem: {
    label: "Closed system",
    noun: "closed system",
    kind: "answer",
    synonyms: [
      "check valve",
      "backflow",
      "prv",
      "pressure regulator",
      "closed loop",
      "backflow preventer",
    ],
  },
  expansionControl: {
    label: "Expansion control",
    noun: "expansion control",
    kind: "answer",
    synonyms: ["expansion tank", "thermal expansion", "exp tank", "has expansion tank"],
  },
  mixingValve: {
    label: "Mixing valve",
    noun: "mixing valve",
    kind: "answer",
    synonyms: ["tmv", "tempering valve", "thermostatic mixing valve", "has mixing valve"],
  },
  setpoint: {
    label: "Setpoint",
    noun: "setpoint",
    kind: "number",
    quantity: "temperature",
    unit: "F",
    range: [70, 190],
    zeroIsUnknown: true,
    synonyms: [
      "set point",
      "temperature",
      "temp",
      "thermostat setting",
      "set temp",
      "temperature setting",
      "water temp",
      "thermostat",
      "temp setting",
    ],
  },
  warrantyYears: {
    label: "Warranty",
    noun: "warranty",
    kind: "number",
    quantity: "duration",
    unit: "year",
    range: [0, 30],
    synonyms: [
      "warranty years",
      "tank warranty",
      "warranty yrs",
      "warranty length",
      "warranty term",
    ],
  },
  hardness: {
    label: "Water hardness",
    noun: "water hardness",
    kind: "number",
    quantity: "hardness",
    unit: "mg/L",
    range: [0, 1500],
    synonyms: ["hardness", "total hardness", "gpg", "grains", "hardness gpg", "hardness ppm"],
  },
  softened: {
    label: "Softened water",
    noun: "softened water",
    kind: "answer",
    synonyms: ["softener", "water softener", "softened", "has softener"],
  },
  lastFlush: {
    label: "Last flush",
    noun: "last flush",
    kind: "date",
    synonyms: [
      "last flushed",
      "flush date",
      "date flushed",
      "flushed",
      "last drain",
      "last flush date",
      "last sediment flush",
    ],
  },
  lastAnodeReplacement: {
    label: "Last anode replacement",
    noun: "last anode replacement",
    kind: "date",
    synonyms: [
      "anode replaced",
      "last anode",
      "anode date",
      "anode replacement date",
      "anode changed",
      "anode rod replaced",
      "last anode change",
    ],
  },
  status: {
    label: "Status",
    noun: "status",
    kind: "status",
    synonyms: ["state", "service status", "heater status"],
  },
  retiredOn: {
    label: "Retired on",
    noun: "retirement date",
    kind: "date",
    synonyms: [
      "retired",
      "date retired",
      "removed on",
      "removal date",
      "date removed",
      "retirement date",
      "end date",
      "failed on",
      "failure date",
    ],
  },
  retirementCause: {
    label: "Retirement cause",
    noun: "retirement cause",
    kind: "cause",
    synonyms: [
      "cause",
      "reason",
      "failure cause",
      "removal reason",
      "failure mode",
      "reason for replacement",
      "reason removed",
    ],
  },
  notes: {
    label: "Notes",
    noun: "notes",
    kind: "text",
    maxLength: 2000,
    synonyms: ["note", "comments", "comment", "remarks", "memo", "observations"],
  },
} as const satisfies Record<string, ColumnShape>;

export type HeaterField = keyof typeof HEATER_COLUMNS;

/** One column of a heater spreadsheet. */
export type HeaterColumn = ColumnShape & { readonly field: HeaterField };

export const HEATER_FIELDS = Object.keys(HEATER_COLUMNS) as readonly HeaterField[];

const COLUMN_OF_FIELD: ReadonlyMap<HeaterField, HeaterColumn> = new Map(
  HEATER_FIELDS.map((field) => {
    const shape: ColumnShape = HEATER_COLUMNS[field];
    return [field, { ...shape, field }];
  }),
);

export function heaterColumn(field: HeaterField): HeaterColumn {
  return COLUMN_OF_FIELD.get(field) as HeaterColumn;
}

export function isHeaterField(text: string): text is HeaterField {
  return Object.hasOwn(HEATER_COLUMNS, text);
}
