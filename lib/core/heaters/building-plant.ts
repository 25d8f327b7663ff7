import { z } from "zod";
import { requirePositive } from "@/lib/core/shared/requirements";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { BTU_PER_KWH } from "@/lib/core/shared/units";
import {
  type HeatPumpPlant,
  mostWithin,
  type PlantSize,
  plantByPeople,
  sizeHeatPumpPlant,
  TABLE_F,
} from "./central-plant";
import { ampsOf, type Service } from "./electrical";
import { recoveryHeatBtuPerHour, USABLE_SHARE } from "./sizing";
import { APARTMENT_WINDOWS } from "./sizing-tables";
import { DEMAND_LEVELS } from "./vocabulary";

/** Which single heaters of a building would give way to a central plant together. */
export const PLANT_SCOPES = ["none", "building", "riser"] as const;
export type PlantScope = (typeof PLANT_SCOPES)[number];

export const PLANT_SCOPE_LABELS: Readonly<Record<PlantScope, string>> = {
  none: "Not offered to plans",
  building: "One plant for the building",
  riser: "One plant for each riser",
};

/** What a building's central plant is sized from and what is thought of for it, as it is stored. */
export const buildingPlantSchema = z.strictObject({
  homes: z.int().min(2).max(50_000),
  people: z.int().min(1).max(100_000),
  level: z.enum(DEMAND_LEVELS),
  runHours: z.number().positive().max(24),
  storageF: z.number().min(120).max(180),
  coldestInletF: z.number().min(32).max(100),
  coefficientOfPerformance: z.number().positive().max(10),
  loopWattsPerHome: z.number().min(0).max(5_000),
  /** Tank volume thought of, US gallons; null: as much as the method asks. */
  storageGal: z.number().positive().max(1_000_000).nullable(),
  /** Heat output thought of on the coldest day, Btu per hour; null: as much as the method asks. */
  heatBtuPerHour: z.number().positive().max(100_000_000).nullable(),
  /** Floor that is free for tanks and heat pumps, square feet; null when nobody has looked. */
  floorSqFt: z.number().min(0).max(1_000_000).nullable(),
  scope: z.enum(PLANT_SCOPES),
});
export type BuildingPlant = z.output<typeof buildingPlantSchema>;

/** What the space of a plant is estimated from; every figure is assumed and meant to be checked. */
export const PLANT_SPACE = {
  tankGal: known(119, "gal", "the largest tank commonly stocked; common practice, no source"),
  tankSqFt: known(16.5, "sq ft", "36 × 36 in and 30 in of working room before it; assumed"),
  heatPumpSqFt: known(14, "sq ft a 50,000 Btu/h", "unit and service side, outdoors or in; assumed"),
  fullLbPerGal: known(11.3, "lb/gal", "8.33 lb of water and 3 lb of tank a gallon; assumed"),
} as const;

/** Compressors count at 125 % where a new load is added to a service: NEC 430.24 and 440.32, from memory. */
export const COMPRESSOR_FACTOR: SourcedValue = {
  value: 1.25,
  unit: "",
  source: "largest motor at 125 %, NEC 430.24 and 440.32, from memory; all of it is taken so",
  evidence: "memory",
};

export type PlantVerdict = "enough" | "short" | "unknown";

/** What is there against what is needed. */
export type PlantMargin = {
  readonly needed: number;
  /** null where it is not known. */
  readonly offered: number | null;
  readonly margin: number | null;
  readonly verdict: PlantVerdict;
};

export type PlantAssessment = {
  /** By the published table, with the heat pumps at rest in the busiest three hours. */
  readonly needed: HeatPumpPlant;
  /** Method 2 of the ASPE handbook, which asks more recovery and less storage; gallons at 120 °F. */
  readonly byPeople: PlantSize;
  /** Tank volume, US gallons. */
  readonly storage: PlantMargin;
  /** Heat output on the coldest day, Btu per hour. */
  readonly heat: PlantMargin;
  /** With the heat pumps running: the window of the table that leaves least in the tank. */
  readonly running: PlantRun;
  /** Floor, square feet. */
  readonly floor: PlantMargin & {
    readonly tanks: number;
    /** Weight of the full tanks, pounds. */
    readonly fullLb: number;
  };
  readonly electrical: {
    readonly kilowatts: number;
    /** With the compressor factor. */
    readonly voltAmperes: number;
    /** null where volts are not on record. */
    readonly amps: number | null;
    /** Spare on the service, volt-amperes; null where it is not known. */
    readonly spareVoltAmperes: number | null;
    readonly verdict: PlantVerdict;
  };
};

export type PlantRun = {
  readonly windowMinutes: number;
  /** Left in the tank then, gallons at storage temperature; below zero: it runs cool. */
  readonly leftGal: number;
};

/**
 * A central heat pump of a building, whole: what the published multi-family table asks, whether the plant
 * thought of gives it, whether floor and service carry it.
 *
 * @param spareVoltAmperes what the building's service still carries; null where it is not known
 * @throws {RangeError} when a term is outside its range
 */
export function assessPlant(
  plant: BuildingPlant,
  service: Omit<Service, "amps"> | null,
  spareVoltAmperes: number | null,
): PlantAssessment {
  const needed = sizeHeatPumpPlant(plant);
  const storageGal = plant.storageGal ?? needed.storageGal;
  const heatBtuPerHour = plant.heatBtuPerHour ?? needed.heatBtuPerHour;
  const tanks = Math.ceil(storageGal / PLANT_SPACE.tankGal.value - 1e-9);
  const floorNeeded =
    tanks * PLANT_SPACE.tankSqFt.value +
    Math.ceil(heatBtuPerHour / 50_000) * PLANT_SPACE.heatPumpSqFt.value;
  const kilowatts = (needed.electricKw * heatBtuPerHour) / needed.heatBtuPerHour;
  const voltAmperes = 1000 * kilowatts * COMPRESSOR_FACTOR.value;
  return {
    needed,
    byPeople: plantByPeople(plant.people, plant.level),
    storage: marginOf(needed.storageGal, storageGal),
    heat: marginOf(needed.heatBtuPerHour, heatBtuPerHour),
    running: leastLeft(plant, storageGal, heatBtuPerHour),
    floor: {
      ...marginOf(floorNeeded, plant.floorSqFt),
      tanks,
      fullLb: storageGal * PLANT_SPACE.fullLbPerGal.value,
    },
    electrical: {
      kilowatts,
      voltAmperes,
      amps: service && ampsOf(voltAmperes, service),
      spareVoltAmperes,
      verdict:
        spareVoltAmperes === null
          ? "unknown"
          : voltAmperes <= spareVoltAmperes + 1e-6
            ? "enough"
            : "short",
    },
  };
}

/**
 * Where a full tank comes closest to running cool while the heat pumps run: usable storage + recovery ×
 * time − the table's most within that time, over its windows of five minutes to three hours. The greatest
 * day is met by the heat output.
 * @throws {RangeError} when storage or heat is not above zero
 */
export function leastLeft(
  plant: Pick<
    BuildingPlant,
    "people" | "homes" | "level" | "storageF" | "coldestInletF" | "loopWattsPerHome"
  >,
  storageGal: number,
  heatBtuPerHour: number,
): PlantRun {
  requirePositive("storageGal", storageGal);
  requirePositive("heatBtuPerHour", heatBtuPerHour);
  const { people, level, storageF, coldestInletF } = plant;
  const riseF = storageF - coldestInletF;
  const mixed = (TABLE_F - coldestInletF) / riseF;
  const loopBtuPerHour = ((plant.homes * plant.loopWattsPerHome) / 1000) * BTU_PER_KWH;
  const recoveryGph =
    Math.max(0, heatBtuPerHour - loopBtuPerHour) / recoveryHeatBtuPerHour(1, riseF);
  return APARTMENT_WINDOWS.filter((minutes) => minutes <= 180)
    .map((windowMinutes): PlantRun => {
      const drawn = people * mostWithin(level, windowMinutes) * mixed;
      const made = (recoveryGph * windowMinutes) / 60;
      return { windowMinutes, leftGal: USABLE_SHARE * storageGal + made - drawn };
    })
    .reduce((least, run) => (run.leftGal < least.leftGal ? run : least));
}

function marginOf(needed: number, offered: number | null): PlantMargin {
  const margin = offered === null ? null : offered - needed;
  return {
    needed,
    offered,
    margin,
    verdict: margin === null ? "unknown" : margin >= -1e-6 * needed ? "enough" : "short",
  };
}

function known(value: number, unit: string, source: string): SourcedValue {
  return { value, unit, source, evidence: "assumed" };
}
