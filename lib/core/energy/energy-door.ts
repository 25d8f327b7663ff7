import { z } from "zod";
import {
  DEMAND_LEVELS,
  FUELS,
  isCombustion,
  PLACES,
  TECHNOLOGIES,
} from "@/lib/core/heaters/vocabulary";
import type { Outcome } from "@/lib/core/shared/outcome";
import { success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { computeEnergy, type EnergyInput, type EnergyResult } from "./annual-energy";
import { DEFAULT_SETPOINT_F, INDOOR_AIR_F, PLACE_SURROUNDINGS } from "./defaults";
import {
  type DailyDraw,
  drawOfBedrooms,
  drawOfDemandLevel,
  drawOfOccupants,
  scaleDraw,
} from "./hot-water-draw";
import { isPossibleBurner, isPossibleFactor, ratingOf } from "./rating";
import { NO_SCALE_LOSS, scaleLossOf } from "./scale-loss";
import { tariffSchema } from "./tariff";

const cents = z.number().min(0);

/** One of four ways to say how much hot water is drawn. A union would hide the name of an unknown key. */
const drawSchema = z
  .strictObject({
    occupants: z.number().min(0).max(500).optional(),
    bedrooms: z.number().min(0).max(500).optional(),
    demandLevel: z.enum(DEMAND_LEVELS).optional(),
    people: z.number().min(0).max(5000).optional(),
    mixedGallons: z.number().min(0).optional(),
    hotGallons: z.number().min(0).optional(),
  })
  .transform((draw, context): DailyDraw => {
    const { occupants, bedrooms, demandLevel, people, mixedGallons, hotGallons } = draw;
    const given = Object.values(draw).filter((value) => value !== undefined).length;
    if (occupants !== undefined && given === 1) return drawOfOccupants(occupants);
    if (bedrooms !== undefined && given === 1) return drawOfBedrooms(bedrooms);
    if (demandLevel !== undefined && people !== undefined && given === 2) {
      return drawOfDemandLevel(demandLevel, people);
    }
    if (mixedGallons !== undefined && hotGallons !== undefined && given === 2) {
      return { mixedGallons, hotGallons };
    }
    context.addIssue({
      code: "custom",
      message: "give occupants, bedrooms, demandLevel with people, or mixedGallons with hotGallons",
    });
    return z.NEVER;
  });

const inputSchema = z.strictObject({
  heater: z
    .strictObject({
      technology: z.enum(TECHNOLOGIES),
      fuel: z.enum(FUELS),
      place: z.enum(PLACES),
      setpointF: z.number().min(80).max(200).optional(),
      volumeGal: z.number().positive().optional(),
      inputBtuPerHour: z
        .number()
        .refine(isPossibleBurner, "must be 5000 or more, in Btu per hour")
        .optional(),
      inputWatts: z.number().positive().optional(),
      uniformEnergyFactor: z.number().positive().optional(),
      firstHourGal: z.number().positive().optional(),
    })
    .refine((heater) => isCombustion(heater.technology) === (heater.fuel !== "electricity"), {
      path: ["fuel"],
      message: "combustion needs a fuel that burns, everything else electricity",
    })
    .refine(
      (heater) =>
        heater.uniformEnergyFactor === undefined ||
        isPossibleFactor(heater.technology, heater.uniformEnergyFactor),
      {
        path: ["uniformEnergyFactor"],
        message: "must be below 1 where heat is made, from 1 to 8 for a heat pump",
      },
    ),
  draw: drawSchema,
  /** Share of the draw that this heater gives. */
  shareOfDraw: z.number().min(0).max(1).default(1),
  climate: z.strictObject({
    annualMeanAirF: z.number().min(-20).max(100),
    airAmplitudeF: z.number().min(0).max(60),
    coldestMonth: z.int().min(1).max(12),
  }),
  scale: z
    .strictObject({
      hardnessMgPerLitre: z.number().min(0).max(2000),
      yearsSinceFlush: z.number().min(0).max(100),
    })
    .optional(),
  tariffs: z.strictObject({
    fuel: tariffSchema,
    electricity: tariffSchema,
    gasStandingCentsPerMonth: cents.default(0),
    lastGasAppliance: z.boolean().default(true),
  }),
  spaceConditioning: z
    .strictObject({
      heatingFuel: z.enum(FUELS),
      heatingEfficiency: z.number().positive().max(8),
      coolingEfficiency: z.number().positive().max(12).nullable(),
    })
    .optional(),
});

/** `compute -- energy`: one heater and its site to a year by month. Format: docs/compute.md. */
export function computeEnergyDoor(input: unknown): Outcome<EnergyResult> {
  const parsed = parseWith(inputSchema, input);
  return parsed.ok ? success(computeEnergy(energyInputOfDoor(parsed.value))) : parsed;
}

function energyInputOfDoor({
  heater,
  draw,
  shareOfDraw,
  climate,
  scale,
  tariffs,
  spaceConditioning,
}: z.output<typeof inputSchema>): EnergyInput {
  const assumed: string[] = [];
  if (heater.setpointF === undefined) assumed.push(`setpoint ${DEFAULT_SETPOINT_F} °F`);
  return {
    technology: heater.technology,
    fuel: heater.fuel,
    draw: scaleDraw(draw, shareOfDraw),
    setpointF: heater.setpointF ?? DEFAULT_SETPOINT_F,
    climate,
    surroundings: { ...PLACE_SURROUNDINGS[heater.place], indoorAirF: INDOOR_AIR_F },
    rating: ratingOf(
      heater.technology,
      {
        volumeGal: heater.volumeGal ?? null,
        inputBtuPerHour: heater.inputBtuPerHour ?? null,
        inputWatts: heater.inputWatts ?? null,
        uniformEnergyFactor: heater.uniformEnergyFactor ?? null,
        firstHourGal: heater.firstHourGal ?? null,
      },
      assumed,
    ),
    scaleLoss:
      scale && heater.technology === "gas-storage"
        ? scaleLossOf(scale.hardnessMgPerLitre, scale.yearsSinceFlush)
        : NO_SCALE_LOSS,
    spaceConditioning: spaceConditioning ?? null,
    tariffs,
    assumed,
  };
}
