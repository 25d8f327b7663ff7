import type {
  Answer,
  Fuel,
  HeaterStatus,
  InstallEvidence,
  Place,
  RetirementCause,
  Technology,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** What the record keeps of a heater itself; null is "not known". Units are in the names. */
export type HeaterFacts = {
  readonly technology: Technology;
  readonly fuel: Fuel;
  readonly status: HeaterStatus;
  readonly installEarliest: CalendarDay;
  readonly installLatest: CalendarDay;
  readonly installEvidence: InstallEvidence;
  readonly manufacturer: string | null;
  readonly model: string | null;
  readonly serial: string | null;
  readonly volumeGal: number | null;
  readonly inputBtuPerHour: number | null;
  readonly inputWatts: number | null;
  readonly uniformEnergyFactor: number | null;
  readonly firstHourGal: number | null;
  readonly place: Place;
  readonly overFinishedSpace: Answer;
  readonly drainPan: Answer;
  readonly leakShutoff: Answer;
  readonly closedSystem: Answer;
  readonly expansionControl: Answer;
  readonly mixingValve: Answer;
  readonly setpointF: number | null;
  readonly warrantyYears: number | null;
  readonly homesServed: number;
  readonly notes: string | null;
};

/** What the record keeps of the home that a heater serves. */
export type HomeFacts = {
  readonly floor: number | null;
  readonly riser: string | null;
  readonly bedrooms: number | null;
  readonly bathrooms: number | null;
  readonly occupants: number | null;
};

/** The end of a heater's service; a bracket where the day is not known. */
export type RetirementFacts = {
  readonly earliest: CalendarDay;
  readonly latest: CalendarDay;
  readonly cause: RetirementCause;
};

/** Where a heater stands, by name. */
export type PlaceNames = {
  readonly property: string;
  readonly building: string;
  readonly unit: string | null;
};

/** The days of care that a spreadsheet can add to; null where none is on record, or none is given. */
export type CareDays = {
  readonly lastFlush: CalendarDay | null;
  readonly lastAnodeReplacement: CalendarDay | null;
};

/** A heater as it stands on record. */
export type RecordOnFile = CareDays & {
  readonly facts: HeaterFacts;
  readonly at: PlaceNames;
  readonly retirement: RetirementFacts | null;
};

/** A home of which nothing is known yet. */
export const UNKNOWN_HOME: HomeFacts = {
  floor: null,
  riser: null,
  bedrooms: null,
  bathrooms: null,
  occupants: null,
};

export const HOME_FIELDS = Object.keys(UNKNOWN_HOME) as readonly (keyof HomeFacts)[];
