import type { InstrumentKind } from "@/lib/core/emissions/market-instruments";
import type { PolicyRule } from "@/lib/core/emissions/policies";
import type { ReadingUnit } from "@/lib/core/energy/meter-readings";
import type {
  Answer,
  DemandLevel,
  Fuel,
  HeaterStatus,
  InstallEvidence,
  Place,
  ReadinessItem,
  RetirementCause,
  TaskKind,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { DemoTechnology } from "./truth";

/**
 * Rows of the demo, with the column names of prisma/schema.prisma. `organizationId`, `createdAt`,
 * `updatedAt` and `version` are left to the writer and the database's defaults.
 */
export type PropertyRow = {
  readonly id: string;
  readonly name: string;
  readonly street: string;
  readonly city: string;
  readonly region: string;
  readonly postalCode: string;
  readonly annualMeanAirF: number;
  readonly airAmplitudeF: number;
  readonly coldestMonth: number;
  readonly waterSource: string;
  readonly demandLevel: DemandLevel;
  readonly gasCentsPerTherm: number;
  readonly electricityCentsPerKwh: number;
  readonly gasStandingCentsPerMonth: number;
  readonly gridRegion: string;
};

export type BuildingRow = {
  readonly id: string;
  readonly propertyId: string;
  readonly name: string;
  readonly builtYear: number;
  readonly floors: number | null;
  readonly serviceAmps: number | null;
  readonly serviceVolts: number | null;
  readonly measuredPeakKw: number | null;
  readonly headroomCircuits: number | null;
  readonly upgradeCostCents: number | null;
  readonly upgradeAddsCircuits: number | null;
};

export type UnitRow = {
  readonly id: string;
  readonly buildingId: string;
  readonly label: string;
  readonly floor: number | null;
  readonly riser: string | null;
  readonly bedrooms: number | null;
  readonly bathrooms: number | null;
  readonly occupants: number | null;
};

export type WaterTestRow = {
  readonly id: string;
  readonly propertyId: string;
  readonly sampledOn: CalendarDay;
  /** Of the water as delivered, before any softener. */
  readonly hardnessMgPerLitre: number | null;
  readonly softened: Answer;
  readonly ph: number | null;
  readonly alkalinityMgPerLitre: number | null;
  readonly dissolvedSolidsMgPerLitre: number | null;
  readonly temperatureF: number | null;
  readonly disinfectant: string | null;
};

export type HeaterRow = {
  readonly id: string;
  readonly buildingId: string;
  readonly unitId: string | null;
  readonly tag: string;
  readonly technology: DemoTechnology;
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
  readonly predecessorId: string | null;
};

export type RetirementRow = {
  readonly id: string;
  readonly heaterId: string;
  readonly earliest: CalendarDay;
  readonly latest: CalendarDay;
  readonly cause: RetirementCause;
  readonly emergency: boolean;
  readonly costCents: number | null;
  readonly note: string | null;
};

export type ReadinessAnswerRow = {
  readonly id: string;
  readonly heaterId: string;
  readonly item: ReadinessItem;
  readonly answer: Answer;
  readonly observedOn: CalendarDay;
  readonly observedBy: string;
  readonly note: string | null;
};

export type ServiceVisitRow = {
  readonly id: string;
  readonly heaterId: string;
  readonly visitedOn: CalendarDay;
  readonly performedBy: string | null;
  readonly minutes: number | null;
  readonly note: string | null;
  readonly idempotencyKey: null;
};

export type VisitTaskRow = {
  readonly id: string;
  readonly visitId: string;
  readonly heaterId: string;
  readonly task: TaskKind;
  readonly finding: string | null;
  readonly doneOn: CalendarDay;
};

export type MeterReadingRow = {
  readonly id: string;
  readonly propertyId: string;
  readonly fuel: Fuel;
  readonly fromDay: CalendarDay;
  readonly toDay: CalendarDay;
  /** Therms or kilowatt hours. */
  readonly units: number;
  readonly otherUnits: number;
  readonly enteredAmount: number;
  readonly enteredUnit: ReadingUnit;
  readonly source: string;
};

export type EnergyInstrumentRow = {
  readonly id: string;
  readonly kind: InstrumentKind;
  readonly name: string;
  readonly propertyId: string | null;
  readonly coversKwh: number | null;
  readonly coversShare: number | null;
  readonly kgCo2ePerKwh: number;
  readonly vintage: number;
  readonly market: string;
  readonly conveysRate: boolean;
  readonly soleClaim: boolean;
  readonly retired: boolean;
  readonly firstYear: number;
  readonly lastYear: number;
  readonly source: string;
};

export type PropertyPolicyRow = {
  readonly id: string;
  readonly propertyId: string;
  readonly name: string;
  readonly rule: PolicyRule;
  readonly source: string;
};

/** What really happened to a heater on record; never written to the database. */
export type TrueLife = {
  readonly heaterId: string;
  readonly technology: DemoTechnology;
  readonly installedOn: CalendarDay;
  /** Day the record of it begins: its installation, or the first inventory that met it. */
  readonly seenFrom: CalendarDay;
  /** Day of its end, or today. */
  readonly seenTo: CalendarDay;
  /** True when it ended by failing (leak or no heat); false when it was swapped or still stands. */
  readonly failed: boolean;
  /** Years of wear gathered by `seenFrom` and by `seenTo`. */
  readonly exposureAtEntryYears: number;
  readonly exposureAtEndYears: number;
};

/** The invented portfolio as plain rows; predecessors stand before their successors. */
export type DemoPortfolio = {
  /** First day of the owner's records: 15 years before today. */
  readonly recordsBeginOn: CalendarDay;
  /** Properties bought since have records only from the purchase. */
  readonly recordsBeginByProperty: ReadonlyMap<string, CalendarDay>;
  readonly properties: readonly PropertyRow[];
  readonly buildings: readonly BuildingRow[];
  readonly units: readonly UnitRow[];
  readonly waterTests: readonly WaterTestRow[];
  readonly heaters: readonly HeaterRow[];
  readonly retirements: readonly RetirementRow[];
  readonly readinessAnswers: readonly ReadinessAnswerRow[];
  readonly serviceVisits: readonly ServiceVisitRow[];
  readonly visitTasks: readonly VisitTaskRow[];
  readonly trueLives: readonly TrueLife[];
};
