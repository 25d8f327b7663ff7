import { z } from "zod";
import { type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  DEFAULT_PLANT,
  type HeatPumpPlant,
  type PlantSize,
  plantByPeople,
  sizeHeatPumpPlant,
} from "./central-plant";
import {
  checkMeasuredHeadroom,
  circuitsBeforeUpgrade,
  ELECTRICIAN_DECIDES,
  HEAT_PUMP_CIRCUIT_VA,
  type HeadroomCheck,
} from "./electrical";
import {
  assessHeadroom,
  buildingElectricalSchema,
  type HeadroomAssessment,
} from "./electrical-building";
import { checkSizing, type SizingCheck } from "./sizing";
import { HOT_WATER_USES } from "./sizing-tables";
import { DEMAND_LEVELS, TECHNOLOGIES } from "./vocabulary";

const known = z.number().positive().max(1_000_000).nullable().default(null);

/** Input of the command `sizing`: a heater and its home; a service, a building, a plant if wanted. */
export const sizingSchema = z.strictObject({
  heater: z.strictObject({
    technology: z.enum(TECHNOLOGIES),
    volumeGal: known,
    firstHourGal: known,
    inputBtuPerHour: known,
    inputWatts: known,
    uniformEnergyFactor: known,
  }),
  home: z.strictObject({
    bedrooms: z.int().min(0).max(100).nullable().default(null),
    bathrooms: z.number().positive().max(100).nullable().default(null),
    occupants: z.int().min(0).max(1_000).nullable().default(null),
    homesServed: z.int().min(1).max(1_000).default(1),
  }),
  /** Uses of the busiest hour where they were counted. */
  uses: z
    .partialRecord(z.enum(HOT_WATER_USES), z.number().min(0).max(1_000))
    .nullable()
    .default(null),
  worksheet: z.enum(["older", "newer"]).default("older"),
  demandLevel: z.enum(DEMAND_LEVELS).default("medium"),
  service: z
    .strictObject({
      amps: z.number().positive().max(100_000),
      volts: z.number().positive().max(1_000),
      phases: z.union([z.literal(1), z.literal(3)], "phases must be 1 or 3").default(1),
      measuredPeakKw: z.number().min(0).max(100_000),
      newVoltAmperes: z.number().positive().max(1_000_000).default(HEAT_PUMP_CIRCUIT_VA.value),
    })
    .nullable()
    .default(null),
  /** A building's service and how its headroom is worked out. */
  building: z
    .strictObject({
      amps: z.number().positive().max(100_000),
      volts: z.number().positive().max(1_000),
      measuredPeakKw: z.number().min(0).max(100_000).nullable().default(null),
      electrical: buildingElectricalSchema,
    })
    .nullable()
    .default(null),
  /** A plant for several homes. */
  plant: z
    .strictObject({
      people: z.number().positive().max(100_000),
      homes: z.int().min(1).max(50_000),
      level: z.enum(DEMAND_LEVELS).default("medium"),
      runHours: z.number().positive().max(24).default(DEFAULT_PLANT.runHours),
      storageF: z.number().min(120).max(180).default(DEFAULT_PLANT.storageF),
      coldestInletF: z.number().min(32).max(100),
      coefficientOfPerformance: z
        .number()
        .positive()
        .max(10)
        .default(DEFAULT_PLANT.coefficientOfPerformance),
      loopWattsPerHome: z.number().min(0).max(5_000).default(DEFAULT_PLANT.loopWattsPerHome),
    })
    .nullable()
    .default(null),
});

export type SizingReport = SizingCheck & {
  readonly electrical:
    | (HeadroomCheck & { readonly circuitsBeforeUpgrade: number; readonly note: string })
    | null;
  readonly building: (HeadroomAssessment & { readonly note: string }) | null;
  readonly plant: { readonly byPeople: PlantSize; readonly heatPump: HeatPumpPlant } | null;
};

/** Whether a heater is large enough and a service can carry a new one; docs/compute.md has the format. */
export function computeSizing(input: unknown): Outcome<SizingReport> {
  const parsed = parseWith(sizingSchema, input);
  if (!parsed.ok) return parsed;
  const { heater, home, uses, worksheet, demandLevel, service, building, plant } = parsed.value;
  const { technology, ...nameplate } = heater;
  const check = checkSizing(
    { technology, nameplate, home },
    { uses, edition: worksheet, demandLevel },
  );
  return success({
    ...check,
    electrical: service && {
      ...checkMeasuredHeadroom(service, service.measuredPeakKw, service.newVoltAmperes),
      circuitsBeforeUpgrade: circuitsBeforeUpgrade(
        service,
        service.measuredPeakKw,
        service.newVoltAmperes,
      ),
      note: ELECTRICIAN_DECIDES,
    },
    building: building && {
      ...assessHeadroom(building, building.measuredPeakKw, building.electrical),
      note: ELECTRICIAN_DECIDES,
    },
    plant: plant && {
      byPeople: plantByPeople(plant.people, plant.level),
      heatPump: sizeHeatPumpPlant(plant),
    },
  });
}
