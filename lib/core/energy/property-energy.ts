import { z } from "zod";
import type { Heater } from "@/lib/core/heaters/heater";
import { ANSWERS, FUELS } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import type { EnergyContext } from "./annual-energy";
import { METER_HOLDERS } from "./meters";
import { tariffSchema } from "./tariff";

const day = z.string().refine(isCalendarDay, "must be a day such as 2027-06-30");

const statedTariffSchema = z.strictObject({
  tariff: tariffSchema,
  /** What the supplier calls it and where the prices were read. */
  source: z.string().trim().min(1, "say where the prices were read").max(300),
});

/** What a property's record says about its energy, as it is stored. */
export const propertyEnergySchema = z
  .strictObject({
    meters: z.strictObject({
      fuel: z.enum(METER_HOLDERS).nullable(),
      electricity: z.enum(METER_HOLDERS).nullable(),
    }),
    /** Whether the gas meter of a home serves anything besides the water heater. */
    otherGasAppliances: z.enum(ANSWERS),
    /** How the homes are heated and cooled; null when not known. */
    conditioning: z
      .strictObject({
        heatingFuel: z.enum(FUELS),
        heatingEfficiency: z.number().positive().max(8),
        coolingEfficiency: z.number().positive().max(12).nullable(),
      })
      .nullable(),
    /** Prices in force; null keeps the property's flat price. Fuel per therm, electricity per kWh. */
    tariffs: z.strictObject({
      fuel: statedTariffSchema.nullable(),
      electricity: statedTariffSchema.nullable(),
    }),
    /** First and last day on which the property is in the emissions account; null when open. */
    heldFrom: day.nullable(),
    heldTo: day.nullable(),
    /** Share of the homes lived in by calendar year, where it differed: 0.9 is 90 %. */
    occupiedShare: z.record(
      z.string().regex(/^\d{4}$/, "must be a year"),
      z.number().min(0).max(1.5),
    ),
    /** Whether the model of this property is multiplied by the factor its meters give. */
    usesCalibration: z.boolean(),
    /** Floor area in square feet, where a rule counts by it; null when not known. */
    floorAreaSqFt: z.number().positive().nullable(),
  })
  .refine(({ heldFrom, heldTo }) => heldFrom === null || heldTo === null || heldFrom <= heldTo, {
    path: ["heldTo"],
    message: "must not be before the first day",
  });

export type PropertyEnergy = z.output<typeof propertyEnergySchema>;

/** A property of which nothing about its energy is on record. */
export const UNKNOWN_PROPERTY_ENERGY: PropertyEnergy = {
  meters: { fuel: null, electricity: null },
  otherGasAppliances: "unknown",
  conditioning: null,
  tariffs: { fuel: null, electricity: null },
  heldFrom: null,
  heldTo: null,
  occupiedShare: {},
  usesCalibration: false,
  floorAreaSqFt: null,
};

/**
 * What the energy model takes from a property's record and from the other heaters of the home.
 *
 * @param shareOfDraw share of the home's hot water that the heater gives; see {@link drawShares}
 * @param meterFactor the property's calibration; used where the property says so
 */
export function energyContextOf(
  property: PropertyEnergy,
  {
    today,
    shareOfDraw = 1,
    meterFactor = null,
  }: {
    readonly today: CalendarDay;
    readonly shareOfDraw?: number;
    readonly meterFactor?: number | null;
  },
): EnergyContext {
  const { conditioning, tariffs, otherGasAppliances } = property;
  return {
    today,
    shareOfDraw,
    otherGasAppliances,
    ...(property.usesCalibration && meterFactor !== null && { meterFactor }),
    ...(conditioning && { spaceConditioning: conditioning }),
    ...(tariffs.fuel && { fuelTariff: tariffs.fuel.tariff }),
    ...(tariffs.electricity && { electricityTariff: tariffs.electricity.tariff }),
  };
}

/**
 * Share of its home's hot water that each heater gives, by id: homes served by several heaters draw
 * from each alike (our assumption). A heater of no home in particular gives all of its own.
 */
export function drawShares(
  heaters: readonly Pick<Heater, "id" | "unitId">[],
): ReadonlyMap<string, number> {
  const inHome = new Map<string, number>();
  for (const { unitId } of heaters) {
    if (unitId !== null) inHome.set(unitId, (inHome.get(unitId) ?? 0) + 1);
  }
  return new Map(
    heaters.map(({ id, unitId }) => [id, unitId === null ? 1 : 1 / (inHome.get(unitId) ?? 1)]),
  );
}
