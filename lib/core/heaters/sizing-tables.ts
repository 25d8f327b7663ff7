import type { Evidence } from "@/lib/core/shared/sourced";
import type { DemandLevel } from "./vocabulary";

/** Uses of hot water that the peak-hour worksheet counts. */
export const HOT_WATER_USES = [
  "shower",
  "bath",
  "shave",
  "hands-and-face",
  "shampoo",
  "hand-dishwashing",
  "dishwasher",
  "food-preparation",
  "clothes-washer",
] as const;
export type HotWaterUse = (typeof HOT_WATER_USES)[number];

/** The US Department of Energy's peak-hour worksheet, in gallons a use. */
export const WORKSHEETS = {
  /** As quoted by energycode.com, whose worked example adds up to 46 gallons. */
  older: {
    evidence: "quoted" as Evidence,
    gallons: {
      shower: 12,
      bath: 9,
      shave: 2,
      "hands-and-face": 4,
      shampoo: 4,
      "hand-dishwashing": 4,
      dishwasher: 14,
      "food-preparation": 5,
      "clothes-washer": 32,
    },
  },
  /** From memory; baths, washing and shampoo are carried over from the older edition. */
  newer: {
    evidence: "memory" as Evidence,
    gallons: {
      shower: 20,
      bath: 9,
      shave: 2,
      "hands-and-face": 4,
      shampoo: 4,
      "hand-dishwashing": 4,
      dishwasher: 7,
      "food-preparation": 5,
      "clothes-washer": 25,
    },
  },
} as const satisfies Readonly<
  Record<string, { evidence: Evidence; gallons: Readonly<Record<HotWaterUse, number>> }>
>;
export type WorksheetEdition = keyof typeof WORKSHEETS;

/** Windows of the apartment table in minutes: the busiest 5 minutes to the busiest 3 hours, and a day. */
export const APARTMENT_WINDOWS = [5, 15, 30, 60, 120, 180, 1_440] as const;

/** A row of the apartment table. */
export type ApartmentDemand = {
  /** The busiest 60 minutes. */
  readonly peakHourGal: number;
  /** The greatest day. */
  readonly greatestDayGal: number;
  /** The most drawn within each of {@link APARTMENT_WINDOWS}. */
  readonly mostWithinGal: readonly number[];
  readonly evidence: Evidence;
};

/**
 * Hot water of apartment houses in gallons a person at 120 °F. ASHRAE Handbook, HVAC Applications,
 * chapter Service Water Heating, apartment guideline table: low and medium as quoted, high from memory.
 */
export const APARTMENT_DEMAND: Readonly<Record<DemandLevel, ApartmentDemand>> = {
  low: apartmentDemand([0.4, 1, 1.7, 2.8, 4.5, 6.1, 20], "quoted"),
  medium: apartmentDemand([0.7, 1.7, 2.9, 4.8, 8, 11, 49], "quoted"),
  high: apartmentDemand([1.2, 3, 5.1, 8.5, 14.5, 19, 90], "memory"),
};

function apartmentDemand(mostWithinGal: readonly number[], evidence: Evidence): ApartmentDemand {
  const [, , , peakHourGal, , , greatestDayGal] = mostWithinGal as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return { peakHourGal, greatestDayGal, mostWithinGal, evidence };
}

/** Fixtures of the hourly-demand table. */
export const FIXTURES = [
  "private-lavatory",
  "bathtub",
  "shower",
  "kitchen-sink",
  "dishwasher",
  "laundry-tub",
  "pantry-sink",
  "service-sink",
] as const;
export type Fixture = (typeof FIXTURES)[number];

/**
 * Hot water of an apartment house by fixture in gallons an hour at 140 °F, with the share drawn at once
 * and the storage that goes with it: ASPE Plumbing Engineering Design Handbook, volume 2, table 6-1
 * (method 1, average hourly demand), as quoted by scribd.com and yumpu.com.
 */
export const FIXTURE_DEMAND = {
  evidence: "quoted" as Evidence,
  gallonsPerHour: {
    "private-lavatory": 2,
    bathtub: 20,
    shower: 30,
    "kitchen-sink": 10,
    dishwasher: 15,
    "laundry-tub": 20,
    "pantry-sink": 5,
    "service-sink": 20,
  } satisfies Readonly<Record<Fixture, number>>,
  demandFactor: 0.3,
  storageFactor: 1.25,
} as const;

/** One row of the minimum-capacity table. */
export type MinimumCapacity = {
  /** Least storage in gallons. */
  readonly storageGal: number;
  /** Least input: Btu per hour for gas, watts for electric. */
  readonly input: number;
  /** Draw of one hour: storage and recovery, gallons. */
  readonly oneHourDrawGal: number;
  /** Recovery in gallons an hour. */
  readonly recoveryGph: number;
};

type Row = readonly [
  bathroomsTo: number,
  bedrooms: number,
  gas: readonly [storageGal: number, kBtuPerHour: number, drawGal: number, recoveryGph: number],
  electric: readonly [storageGal: number, kilowatts: number, drawGal: number, recoveryGph: number],
];

/**
 * HUD-FHA minimum water heater capacities for one- and two-family living units (HUD Minimum Property
 * Standards 4900.1; ASHRAE Handbook, HVAC Applications). Electric storage and kilowatts as NREL's
 * public model source carries them; the gas columns, draws and recoveries from memory.
 */
const MINIMUM_CAPACITIES: readonly Row[] = [
  [1.5, 1, [20, 27, 43, 23], [20, 2.5, 30, 10]],
  [1.5, 2, [30, 36, 60, 30], [30, 3.5, 44, 14]],
  [1.5, 3, [30, 36, 60, 30], [40, 4.5, 58, 18]],
  [2.5, 2, [30, 36, 60, 30], [40, 4.5, 58, 18]],
  [2.5, 3, [40, 36, 70, 30], [50, 5.5, 72, 22]],
  [2.5, 4, [40, 38, 72, 32], [50, 5.5, 72, 22]],
  [2.5, 5, [50, 47, 90, 40], [66, 5.5, 88, 22]],
  [3.5, 3, [40, 38, 72, 32], [50, 5.5, 72, 22]],
  [3.5, 4, [50, 38, 82, 32], [66, 5.5, 88, 22]],
  [3.5, 5, [50, 47, 90, 40], [66, 5.5, 88, 22]],
  [3.5, 6, [50, 50, 92, 42], [80, 5.5, 102, 22]],
];

/**
 * The row of the minimum-capacity table for a home. A home between rows takes the next larger one: a
 * studio counts as one bedroom, and a home with more bedrooms than its row of bathrooms lists takes
 * the row of more bathrooms. Null beyond the table (over 6 bedrooms or 3½ bathrooms).
 */
export function minimumCapacity(
  kind: "gas" | "electric",
  { bedrooms, bathrooms }: { readonly bedrooms: number; readonly bathrooms: number },
): MinimumCapacity | null {
  const row = MINIMUM_CAPACITIES.find(
    ([bathroomsTo, rowBedrooms]) => bathrooms <= bathroomsTo && bedrooms <= rowBedrooms,
  );
  if (!row) return null;
  const [storageGal, input, oneHourDrawGal, recoveryGph] = kind === "gas" ? row[2] : row[3];
  return { storageGal, input: Math.round(1000 * input), oneHourDrawGal, recoveryGph };
}
