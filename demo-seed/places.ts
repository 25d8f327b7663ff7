import type { Place } from "@/lib/core/heaters/vocabulary";
import type { IdMaker } from "./ids";
import { GRID_REGIONS, PROPERTY_NAMES, REGION, STREETS, TOWNS, WATER_SOURCES } from "./names";
import type { DemoRandom } from "./random";
import type { BuildingRow, PropertyRow, UnitRow } from "./rows";

/** How well a property's heaters are looked after. */
export type CareRegime = {
  /** Chance that a heater is reached on its building's yearly round. */
  readonly reached: number;
  readonly flushes: number;
  readonly inspectsAnode: number;
};

export type DemoProperty = {
  readonly row: PropertyRow;
  readonly hardnessMgPerLitre: number;
  readonly softened: boolean;
  readonly isWaterTested: boolean;
  readonly isSofteningKnown: boolean;
  /** Day number from which the property has records. */
  readonly recordsBegin: number;
  readonly care: CareRegime;
  /** Whether the owner swaps old heaters before they fail. */
  readonly plansSwaps: boolean;
  readonly isAllElectric: boolean;
  readonly usesPropane: boolean;
};

export type DemoHome = {
  readonly unit: UnitRow | null;
  readonly bedrooms: number;
  readonly bathrooms: number;
  readonly people: number;
  readonly floor: number;
};

export type DemoBuilding = {
  readonly row: BuildingRow;
  readonly property: DemoProperty;
  readonly units: readonly UnitRow[];
  /** What each heater serves; a shared heater has no unit of its own. */
  readonly slots: readonly DemoHome[];
  readonly homesPerHeater: number;
  readonly isAllElectric: boolean;
  /** Day number of a programme that swaps the building's gas heaters for heat pumps. */
  readonly electrifiedOn: number | null;
  readonly electrifiedWith: "heat-pump-storage" | "heat-pump-plug-in";
  readonly prefersTankless: boolean;
  readonly isSurveyed: boolean;
  readonly isClosedSystem: boolean;
  readonly place: Place;
  /** Day numbers of the building's yearly upkeep rounds, oldest first. */
  readonly rounds: readonly number[];
};

const CARE_REGIMES: readonly CareRegime[] = [
  { reached: 0.85, flushes: 0.9, inspectsAnode: 0.7 },
  { reached: 0.35, flushes: 0.7, inspectsAnode: 0.4 },
  { reached: 0.35, flushes: 0.7, inspectsAnode: 0.3 },
  { reached: 0.08, flushes: 0.3, inspectsAnode: 0.1 },
];

/** Ratings of services of small buildings, amperes (standard sizes of NEC 240.6, from memory). */
const SERVICE_AMPS = [100, 150, 200, 300, 400, 600, 800, 1000, 1200, 1600, 2000, 3000] as const;
const SERVICE_VOLTS = 240;
/** Planning load of one 240 V, 30 A heat-pump circuit in kilowatts: 4,500 W elements. */
const CIRCUIT_KW = 4.5;

/**
 * Splits `total` into whole parts in proportion to `weights`, each at least 1.
 * `total` must not be below the number of weights.
 */
export function apportion(total: number, weights: readonly number[]): number[] {
  const sum = weights.reduce((a, b) => a + b, 0);
  const spare = total - weights.length;
  const shares = weights.map((weight) => (spare * weight) / sum);
  const parts = shares.map((share) => 1 + Math.floor(share));
  const byRemainder = shares
    .map((share, index) => [share - Math.floor(share), index] as const)
    .sort((a, b) => b[0] - a[0] || a[1] - b[1]);
  let left = total - parts.reduce((a, b) => a + b, 0);
  for (const [, index] of byRemainder) {
    if (left === 0) break;
    parts[index] = (parts[index] as number) + 1;
    left--;
  }
  return parts;
}

/**
 * Properties. What must be present in a known share (all-electric, softened, bought later, …) goes
 * by the position in a cycle of 24 instead of by chance, so that 24 properties hold all of it.
 */
export function makeProperty(
  random: DemoRandom,
  ids: IdMaker,
  index: number,
  { recordsBegin, today }: { readonly recordsBegin: number; readonly today: number },
): DemoProperty {
  const cycle = index % 24;
  const round = Math.floor(index / 24);
  const hardnessMgPerLitre = Math.round(35 + 290 * (((cycle * 7) % 24) / 23) ** 1.2);
  const softened = cycle === 5 || cycle === 11 || cycle === 20;
  const usesPropane = cycle === 17;
  const boughtLater = cycle % 6 === 2;
  return {
    row: {
      id: ids.next(),
      name: `${PROPERTY_NAMES[cycle]}${round === 0 ? "" : ` ${round + 1}`}`,
      street: `${random.whole(1, 480)} ${STREETS[index % STREETS.length]}`,
      city: TOWNS[index % TOWNS.length] as string,
      region: REGION,
      postalCode: `000${10 + (index % TOWNS.length)}`,
      annualMeanAirF: Math.round(random.between(52, 58) * 10) / 10,
      airAmplitudeF: Math.round(random.between(15, 21) * 10) / 10,
      coldestMonth: 1,
      waterSource: WATER_SOURCES[
        hardnessMgPerLitre < 90 ? 0 : hardnessMgPerLitre > 180 ? 1 : 2
      ] as string,
      demandLevel: random.pickWeighted([
        ["low", 25],
        ["medium", 60],
        ["high", 15],
      ]),
      gasCentsPerTherm: usesPropane ? 310 : random.whole(148, 186),
      electricityCentsPerKwh: random.whole(170, 248) / 10,
      gasStandingCentsPerMonth: random.pick([0, 950, 1240]),
      gridRegion: GRID_REGIONS[index % GRID_REGIONS.length] as string,
    },
    hardnessMgPerLitre,
    softened,
    isWaterTested: cycle !== 7 && cycle !== 19,
    isSofteningKnown: cycle !== 10 && cycle !== 16,
    recordsBegin: boughtLater ? today - random.whole(4 * 365, 9 * 365) : recordsBegin,
    care: CARE_REGIMES[cycle % CARE_REGIMES.length] as CareRegime,
    plansSwaps: cycle % 3 === 0,
    isAllElectric: cycle % 6 === 4,
    usesPropane,
  };
}

/** A building of `heaterCount` heaters with its homes laid out by floors and risers. */
export function makeBuilding(
  random: DemoRandom,
  ids: { readonly building: IdMaker; readonly unit: IdMaker },
  property: DemoProperty,
  terms: {
    /** Position in the whole portfolio, from 0. */
    readonly index: number;
    /** Number in the property, from 1. */
    readonly number: number;
    readonly heaterCount: number;
    readonly builtYear: number;
    /** Day number. */
    readonly today: number;
  },
): DemoBuilding {
  const { index, number, heaterCount, builtYear, today } = terms;
  const isAllElectric = property.isAllElectric || index % 30 === 14;
  const homesPerHeater = index % 20 === 11 && !isAllElectric ? 4 : 1;
  const homeCount = heaterCount * homesPerHeater;
  const floors = floorsOf(random, homeCount);
  const isLayoutKnown = index % 15 !== 8;
  const isElectrified = !isAllElectric && homesPerHeater === 1 && index % 18 === 5;
  const buildingId = ids.building.next();
  const homes = makeHomes(random, ids.unit, { buildingId, homeCount, floors, isLayoutKnown });
  return {
    row: {
      id: buildingId,
      propertyId: property.row.id,
      name: `Building ${number}`,
      builtYear,
      floors: isLayoutKnown ? floors : null,
      ...makeService(random, homeCount, isAllElectric),
    },
    property,
    units: homes.map((home) => home.unit),
    slots:
      homesPerHeater === 1
        ? homes
        : homes
            .filter((_, place) => place % homesPerHeater === 0)
            .map(({ floor }) => ({ ...SHARED_HOME, floor })),
    homesPerHeater,
    isAllElectric,
    electrifiedOn: isElectrified ? today - random.whole(200, 4 * 365) : null,
    electrifiedWith: index % 36 === 23 ? "heat-pump-plug-in" : "heat-pump-storage",
    prefersTankless: index % 9 === 3,
    isSurveyed: index % 5 < 3,
    isClosedSystem: random.chance(0.45),
    place:
      homesPerHeater > 1
        ? "mechanical-room"
        : random.pickWeighted<Place>([
            ["interior-closet", 38],
            ["exterior-closet", 24],
            ["laundry", 12],
            ["utility-room", 10],
            ["garage", 8],
            ["kitchen", 4],
            ["basement", 4],
          ]),
    rounds: makeRounds(random, property.recordsBegin, today),
  };
}

/** A tank for four homes is sized and used as one large home. */
const SHARED_HOME = { unit: null, bedrooms: 8, bathrooms: 4, people: 9 } as const;

function floorsOf(random: DemoRandom, homeCount: number): number {
  if (homeCount <= 4) return random.whole(1, 2);
  if (homeCount <= 9) return 2;
  return homeCount <= 18 ? 3 : random.whole(3, 5);
}

function makeHomes(
  random: DemoRandom,
  ids: IdMaker,
  terms: {
    readonly buildingId: string;
    readonly homeCount: number;
    readonly floors: number;
    readonly isLayoutKnown: boolean;
  },
): (DemoHome & { readonly unit: UnitRow })[] {
  const { buildingId, homeCount, floors, isLayoutKnown } = terms;
  const risers = Math.ceil(homeCount / floors);
  return Array.from({ length: homeCount }, (_, place) => {
    const floor = Math.floor(place / risers) + 1;
    const riser = place % risers;
    const bedrooms = random.pickWeighted([
      [1, 35],
      [2, 45],
      [3, 20],
    ]);
    const bathrooms = bedrooms === 1 ? 1 : random.pick(bedrooms === 2 ? [1, 1.5, 2] : [1.5, 2]);
    const people = Math.min(
      bedrooms * 2 + 1,
      1 + Math.floor(random.exponential() * bedrooms * 0.9),
    );
    // One home in sixty is on record without its place in the building.
    const isPlaced = isLayoutKnown && !random.chance(1 / 60);
    const unit: UnitRow = {
      id: ids.next(),
      buildingId,
      label: isLayoutKnown ? `${floor}${String(riser + 1).padStart(2, "0")}` : String(place + 1),
      floor: isPlaced ? floor : null,
      riser: isPlaced ? riserName(riser) : null,
      bedrooms: random.chance(0.05) ? null : bedrooms,
      bathrooms: random.chance(0.08) ? null : bathrooms,
      occupants: random.chance(0.3) ? null : people,
    };
    return { unit, bedrooms, bathrooms, people, floor };
  });
}

/** A, B, …, Z, AA, AB, … */
function riserName(riser: number): string {
  const letter = String.fromCharCode(65 + (riser % 26));
  return riser < 26 ? letter : riserName(Math.floor(riser / 26) - 1) + letter;
}

/**
 * Electrical service. Gas buildings get the smallest rating that carries the measured peak, and one
 * in two a larger one, so that some have room for heat pumps and some have none.
 */
function makeService(random: DemoRandom, homeCount: number, isAllElectric: boolean) {
  const peakKw =
    Math.round(
      10 * homeCount * (isAllElectric ? random.between(3.2, 4.4) : random.between(1.5, 2.4)),
    ) / 10;
  const neededAmps = (1.25 * peakKw * 1000) / SERVICE_VOLTS;
  const smallest = SERVICE_AMPS.findIndex((amps) => amps >= neededAmps);
  const spareSizes = random.pickWeighted([
    [0, 50],
    [1, 30],
    [2, 20],
  ]);
  const size = Math.min(
    SERVICE_AMPS.length - 1,
    smallest < 0 ? SERVICE_AMPS.length - 1 : smallest + spareSizes,
  );
  const serviceAmps = SERVICE_AMPS[size] as number;
  const spareKw = (serviceAmps * SERVICE_VOLTS) / 1000 - 1.25 * peakKw;
  const circuits = Math.max(0, Math.floor(spareKw / CIRCUIT_KW));
  // Where tanks are electric already, their circuits serve the heat pumps.
  const headroomCircuits = isAllElectric || circuits >= homeCount ? null : circuits;
  const canUpgrade = headroomCircuits !== null && !random.chance(0.08);
  return {
    serviceAmps: random.chance(0.05) ? null : serviceAmps,
    serviceVolts: SERVICE_VOLTS,
    measuredPeakKw: random.chance(0.45) ? null : peakKw,
    headroomCircuits,
    upgradeCostCents: canUpgrade
      ? 100 * Math.round((9_000 + 1_250 * homeCount) * random.between(0.85, 1.3))
      : null,
    upgradeAddsCircuits: canUpgrade ? homeCount : null,
  };
}

/** One round a year in a month that suits the building, a few days earlier or later. */
function makeRounds(random: DemoRandom, recordsBegin: number, today: number): number[] {
  const rounds: number[] = [];
  for (let day = recordsBegin + random.whole(40, 330); day < today; day += 365) {
    rounds.push(Math.min(today - 1, day + random.whole(-12, 12)));
  }
  return rounds;
}
