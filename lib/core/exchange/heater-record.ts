import type {
  Fuel,
  HeaterStatus,
  InstallEvidence,
  Place,
  RetirementCause,
  Technology,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";

/** A heater as a row of a spreadsheet gives it; null is "the row does not say", and changes nothing. */
export type HeaterRecord = {
  readonly tag: string;
  readonly property: string | null;
  readonly building: string | null;
  readonly unit: string | null;
  readonly floor: number | null;
  readonly riser: string | null;
  readonly bedrooms: number | null;
  readonly bathrooms: number | null;
  readonly occupants: number | null;
  readonly homesServed: number | null;
  readonly technology: Technology | null;
  readonly fuel: Fuel | null;
  /** The days between which it was installed; a null end is open. */
  readonly installEarliest: CalendarDay | null;
  readonly installLatest: CalendarDay | null;
  readonly installEvidence: InstallEvidence | null;
  readonly manufacturer: string | null;
  readonly model: string | null;
  readonly serial: string | null;
  readonly volumeGal: number | null;
  readonly inputBtuPerHour: number | null;
  readonly inputWatts: number | null;
  readonly uniformEnergyFactor: number | null;
  readonly firstHourGal: number | null;
  readonly place: Place | null;
  readonly overFinishedSpace: "yes" | "no" | null;
  readonly drainPan: "yes" | "no" | null;
  readonly leakShutoff: "yes" | "no" | null;
  readonly closedSystem: "yes" | "no" | null;
  readonly expansionControl: "yes" | "no" | null;
  readonly mixingValve: "yes" | "no" | null;
  readonly setpointF: number | null;
  readonly warrantyYears: number | null;
  readonly hardnessMgPerLitre: number | null;
  readonly softened: "yes" | "no" | null;
  readonly lastFlush: CalendarDay | null;
  readonly lastAnodeReplacement: CalendarDay | null;
  readonly status: HeaterStatus | null;
  readonly retiredEarliest: CalendarDay | null;
  readonly retiredLatest: CalendarDay | null;
  readonly retirementCause: RetirementCause | null;
  readonly notes: string | null;
};
