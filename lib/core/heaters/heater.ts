import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type {
  AnodeState,
  Answer,
  DemandLevel,
  Fuel,
  InstallEvidence,
  Place,
  ReadinessItem,
  RetirementCause,
  TaskKind,
  Technology,
} from "./vocabulary";

/**
 * A heater as the computations see it: its own record joined with what its home, building and
 * property say about it. `null` always means "not known", never zero.
 */
export type Heater = {
  readonly id: string;
  /** The owner's own number for it, unique within the organisation. */
  readonly tag: string;
  readonly propertyId: string;
  readonly buildingId: string;
  readonly unitId: string | null;
  readonly technology: Technology;
  readonly fuel: Fuel;
  readonly install: InstallDay;
  readonly nameplate: Nameplate;
  readonly place: Place;
  /** Whether a leak would run into finished rooms. */
  readonly overFinishedSpace: Answer;
  readonly drainPan: Answer;
  readonly leakShutoff: Answer;
  /** A check valve, pressure regulator or backflow preventer closes the cold feed. */
  readonly closedSystem: Answer;
  readonly expansionControl: Answer;
  readonly mixingValve: Answer;
  /** Thermostat setting in degrees Fahrenheit. */
  readonly setpointF: number | null;
  readonly warrantyYears: number | null;
  readonly home: Home;
  readonly water: Water;
  readonly care: Care;
};

/** The day of installation as a bracket; `earliest === latest` when the day is known. */
export type InstallDay = {
  readonly earliest: CalendarDay;
  readonly latest: CalendarDay;
  readonly evidence: InstallEvidence;
};

export type Nameplate = {
  readonly manufacturer: string | null;
  readonly model: string | null;
  readonly serial: string | null;
  /** Rated storage volume in US gallons; null for tankless or unknown. */
  readonly volumeGal: number | null;
  /** Burner input in Btu per hour; null for electric or unknown. */
  readonly inputBtuPerHour: number | null;
  /** Element or compressor input in watts; null for combustion or unknown. */
  readonly inputWatts: number | null;
  /** Uniform energy factor, no unit. */
  readonly uniformEnergyFactor: number | null;
  /** First-hour rating in US gallons. */
  readonly firstHourGal: number | null;
};

/** The home that the heater serves. A heater without a unit serves `homesServed` homes. */
export type Home = {
  readonly label: string | null;
  readonly floor: number | null;
  readonly riser: string | null;
  readonly bedrooms: number | null;
  readonly bathrooms: number | null;
  readonly occupants: number | null;
  /** Homes that are without hot water when it fails. */
  readonly homesServed: number;
};

/** Water at the property, from its latest test. */
export type Water = {
  /** Total hardness in mg/L as CaCO3. */
  readonly hardnessMgPerLitre: number | null;
  readonly softened: Answer;
  readonly ph: number | null;
  /** Alkalinity in mg/L as CaCO3. */
  readonly alkalinityMgPerLitre: number | null;
  readonly dissolvedSolidsMgPerLitre: number | null;
};

/** What the service history says: days of each kind of care, oldest first. */
export type Care = {
  readonly flushDays: readonly CalendarDay[];
  readonly anodeReplacementDays: readonly CalendarDay[];
  /** Last anode inspection, or null when none is on record. */
  readonly anodeInspection: { readonly day: CalendarDay; readonly state: AnodeState } | null;
  /** The last day each task was done. */
  readonly lastDone: Readonly<Partial<Record<TaskKind, CalendarDay>>>;
};

/** Climate, use and prices of a property. */
export type Site = {
  readonly propertyId: string;
  /** Annual mean and half of the summer-to-winter range of outdoor air, in degrees Fahrenheit. */
  readonly annualMeanAirF: number;
  readonly airAmplitudeF: number;
  /** Month (1 to 12) of the coldest air; 1 in most of the northern hemisphere. */
  readonly coldestMonth: number;
  readonly demandLevel: DemandLevel;
  readonly gasCentsPerTherm: number;
  readonly electricityCentsPerKwh: number;
  /** Monthly standing charge that ends with the last gas appliance of a home's own meter. */
  readonly gasStandingCentsPerMonth: number;
  /** Code of the electricity grid region, as in the emission factor table. */
  readonly gridRegion: string;
};

/** How a heater's life ended. The day is a bracket as the install day is. */
export type Retirement = {
  readonly heaterId: string;
  readonly earliest: CalendarDay;
  readonly latest: CalendarDay;
  readonly cause: RetirementCause;
  /** Hot water was lost before the swap was arranged. */
  readonly emergency: boolean;
};

/** One item of a site survey. */
export type ReadinessAnswer = {
  readonly item: ReadinessItem;
  readonly answer: Answer;
  readonly observedOn: CalendarDay | null;
  readonly note: string | null;
};

/** What a building's electrical service can still carry, in new heat-pump circuits of 240 V. */
export type BuildingCapacity = {
  readonly buildingId: string;
  readonly name: string;
  readonly propertyId: string;
  /** New circuits before an upgrade; null when it is not limited. */
  readonly headroomCircuits: number | null;
  /** Price of the upgrade in cents and the circuits it adds; null when none is possible. */
  readonly upgrade: { readonly costCents: number; readonly addsCircuits: number } | null;
};
