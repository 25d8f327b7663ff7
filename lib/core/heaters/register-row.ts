import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { InstallKind } from "./register-query";
import type { HeaterStatus, InstallEvidence, Technology } from "./vocabulary";

/** A heater as the register shows it. */
export type RegisterRow = {
  readonly id: string;
  readonly tag: string;
  readonly propertyName: string;
  readonly buildingName: string;
  readonly unitLabel: string | null;
  readonly floor: number | null;
  readonly riser: string | null;
  readonly technology: Technology;
  readonly manufacturer: string | null;
  readonly model: string | null;
  readonly volumeGal: number | null;
  readonly installEarliest: CalendarDay;
  readonly installLatest: CalendarDay;
  readonly installEvidence: InstallEvidence;
  readonly installKind: InstallKind;
  /** Age today, or the age that a retired heater reached; from the risk pass where there is one. */
  readonly ageYears: number | null;
  readonly hardnessMgPerLitre: number | null;
  /** Chance of failing within 12 months, 0 to 1; null until it has been computed. */
  readonly failureProbability: number | null;
  readonly expectedLossCents: number | null;
  readonly lastVisitOn: CalendarDay | null;
  readonly status: HeaterStatus;
};

/** Heaters of a window of the register. */
export const REGISTER_WINDOW = 100;

/**
 * Where a window begins. The register is a run of sections, each sorted; a section's windows begin at
 * every hundredth heater, which is named by its sort value and its tag (or id).
 */
export type RegisterAnchor = readonly [section: number, key: string, tie: string];

export type RegisterSummary = {
  readonly total: number;
  readonly inService: number;
  /** Of those in service; null when there are none. */
  readonly averageAgeYears: number | null;
  /** Install days in service that are estimates or brackets, and those without any evidence. */
  readonly estimatedInstalls: number;
  readonly unknownInstalls: number;
  /** Heaters in service whose chance of failing has been computed, and the sums over them. */
  readonly scored: number;
  readonly expectedFailures: number;
  readonly expectedLossCents: number;
};

export type RegisterGroupLine = {
  readonly id: string;
  readonly name: string;
  /** The property's name beside a building's; null where the group is a property. */
  readonly within: string | null;
  readonly count: number;
  readonly averageAgeYears: number | null;
  /** Mean chance of failing within 12 months; null while none has been computed. */
  readonly averageChance: number | null;
};

/** The register's extent: how many heaters there are and where each window or group begins. */
export type RegisterOutline = {
  readonly summary: RegisterSummary;
  /** Heaters of each section that has any, in order, with the anchors of its windows. */
  readonly sections: readonly {
    readonly section: number;
    readonly count: number;
    readonly anchors: readonly RegisterAnchor[];
  }[];
  /** Groups in order; null when the register is not grouped. */
  readonly groups: readonly RegisterGroupLine[] | null;
};
