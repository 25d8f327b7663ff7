import {
  ANSWER_LABELS,
  FUEL_LABELS,
  HEATER_STATUS_LABELS,
  INSTALL_EVIDENCE_LABELS,
  PLACE_LABELS,
  RETIREMENT_CAUSE_LABELS,
  TECHNOLOGY_LABELS,
} from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, daysInMonth, monthOf, yearOf } from "@/lib/core/shared/calendar-day";
import { describeBracket } from "./parse-date";
import type { CareDays, HeaterFacts, HomeFacts, PlaceNames } from "./record-facts";

/** What a row can change, as it is told and counted. */
export type ChangeField =
  | Exclude<keyof HeaterFacts, "installEarliest" | "installLatest">
  | keyof HomeFacts
  | keyof PlaceNames
  | keyof CareDays
  | "install"
  | "retirement"
  | "retirementCause";

/** The earliest and the latest day of a bracket. */
export type DayPair = readonly [earliest: CalendarDay, latest: CalendarDay];

export type ChangeValue = string | number | DayPair | null;

/** One field of a heater: what stands on record and what the row puts there. */
export type RecordChange = {
  readonly field: ChangeField;
  readonly before: ChangeValue;
  readonly after: ChangeValue;
};

/** How a field is called, and what its values are: a unit behind numbers, or words for codes. */
type FieldWords = {
  readonly label: string;
  readonly unit?: string;
  readonly words?: Readonly<Record<string, string>>;
};

const FIELD_WORDS: Readonly<Record<ChangeField, FieldWords>> = {
  property: { label: "Property" },
  building: { label: "Building" },
  unit: { label: "Unit" },
  floor: { label: "Floor" },
  riser: { label: "Riser" },
  bedrooms: { label: "Bedrooms" },
  bathrooms: { label: "Bathrooms" },
  occupants: { label: "Occupants" },
  homesServed: { label: "Homes served" },
  technology: { label: "Type", words: TECHNOLOGY_LABELS },
  fuel: { label: "Fuel", words: FUEL_LABELS },
  status: { label: "Status", words: HEATER_STATUS_LABELS },
  install: { label: "Install date" },
  installEvidence: { label: "Install evidence", words: INSTALL_EVIDENCE_LABELS },
  manufacturer: { label: "Manufacturer" },
  model: { label: "Model" },
  serial: { label: "Serial number" },
  volumeGal: { label: "Volume", unit: "gal" },
  inputBtuPerHour: { label: "Burner input", unit: "Btu/h" },
  inputWatts: { label: "Element input", unit: "W" },
  uniformEnergyFactor: { label: "UEF" },
  firstHourGal: { label: "First-hour rating", unit: "gal" },
  place: { label: "Place", words: PLACE_LABELS },
  overFinishedSpace: { label: "Over finished space", words: ANSWER_LABELS },
  drainPan: { label: "Drain pan", words: ANSWER_LABELS },
  leakShutoff: { label: "Leak shut-off", words: ANSWER_LABELS },
  closedSystem: { label: "Closed system", words: ANSWER_LABELS },
  expansionControl: { label: "Expansion control", words: ANSWER_LABELS },
  mixingValve: { label: "Mixing valve", words: ANSWER_LABELS },
  setpointF: { label: "Setpoint", unit: "°F" },
  warrantyYears: { label: "Warranty", unit: "years" },
  notes: { label: "Notes" },
  lastFlush: { label: "Last flush" },
  lastAnodeReplacement: { label: "Last anode replacement" },
  retirement: { label: "Retired on" },
  retirementCause: { label: "Retirement cause", words: RETIREMENT_CAUSE_LABELS },
};

export function changeLabel(field: ChangeField): string {
  return FIELD_WORDS[field].label;
}

const NUMBER = new Intl.NumberFormat("en-US", { maximumFractionDigits: 2 });
const LONGEST_TEXT = 120;

/** A value of a field as a person reads it; null is "not on record". */
export function describeChangeValue(field: ChangeField, value: ChangeValue): string {
  if (value === null) return "not on record";
  const { unit, words } = FIELD_WORDS[field];
  if (typeof value === "number") {
    const number = NUMBER.format(value);
    return unit ? `${number} ${unit}` : number;
  }
  if (typeof value !== "string") return describeDays(value);
  if (words) return words[value] ?? value;
  return value.length > LONGEST_TEXT ? `${value.slice(0, LONGEST_TEXT - 1)}…` : value;
}

/** A bracket in the shortest words: `2014`, `2014-03`, `2014-03-05`, or its two ends. */
export function describeDays([earliest, latest]: DayPair): string {
  const isWholeYears = earliest.endsWith("-01-01") && latest.endsWith("-12-31");
  if (isWholeYears && yearOf(earliest) === yearOf(latest)) return earliest.slice(0, 4);
  const isWholeMonth =
    earliest.endsWith("-01") &&
    earliest.slice(0, 7) === latest.slice(0, 7) &&
    Number(latest.slice(8)) === daysInMonth(yearOf(latest), monthOf(latest));
  if (isWholeMonth) return earliest.slice(0, 7);
  return describeBracket({ earliest, latest });
}
