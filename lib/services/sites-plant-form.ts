import { z } from "zod";
import { type BuildingPlant, PLANT_SCOPES } from "@/lib/core/heaters/building-plant";
import { DEMAND_LEVELS } from "@/lib/core/heaters/vocabulary";
import { optionalNumber, requiredNumber } from "./settings-fields";

/** A central plant as a person types it; the same rules run on both sides. */
export const plantFormSchema = z
  .object({
    homes: requiredNumber({ least: 2, most: 5_000, isWhole: true }),
    people: requiredNumber({ least: 1, most: 20_000, isWhole: true }),
    level: z.enum(DEMAND_LEVELS),
    runHours: requiredNumber({ least: 4, most: 24 }),
    storageF: requiredNumber({ least: 120, most: 180 }),
    coldestInletF: requiredNumber({ least: 32, most: 90 }),
    coefficientOfPerformance: requiredNumber({ least: 0.9, most: 6 }),
    loopWattsPerHome: requiredNumber({ least: 0, most: 1_000 }),
    storageGal: optionalNumber({ least: 20, most: 100_000 }),
    heatBtuPerHour: optionalNumber({ least: 1_000, most: 20_000_000 }),
    floorSqFt: optionalNumber({ least: 0, most: 100_000 }),
    scope: z.enum(PLANT_SCOPES),
  })
  .transform((form): BuildingPlant => form);

export type PlantFormInput = z.input<typeof plantFormSchema>;

/** The form as a building starts it. */
export function formOfPlant(plant: BuildingPlant): Readonly<Record<keyof PlantFormInput, string>> {
  const text = (value: number | null) => (value === null ? "" : String(value));
  return {
    homes: text(plant.homes),
    people: text(plant.people),
    level: plant.level,
    runHours: text(plant.runHours),
    storageF: text(plant.storageF),
    coldestInletF: text(plant.coldestInletF),
    coefficientOfPerformance: text(plant.coefficientOfPerformance),
    loopWattsPerHome: text(plant.loopWattsPerHome),
    storageGal: text(plant.storageGal),
    heatBtuPerHour: text(plant.heatBtuPerHour),
    floorSqFt: text(plant.floorSqFt),
    scope: plant.scope,
  };
}
