import type { Technology } from "@/lib/core/heaters/vocabulary";
import { requirePositive } from "@/lib/core/shared/requirements";
import type { Surroundings } from "./climate";
import { OUTDOOR_AIR_SPREAD_F } from "./defaults";
import { type DrawPattern, PATTERN_GALLONS, RATING_CONDITIONS } from "./draw-pattern";
import { type HeatPump, heatPumpDay, heatPumpTankLoss, ratedCopOf } from "./heat-pump";
import { type DailyDraw, deliveredBtuPerDay, gallonsAtSetpoint } from "./hot-water-draw";
import { combustionTankOf, electricTankOf, type TankDay, tankInputBtuPerDay } from "./storage-tank";
import { heatOfWaterBtu } from "./water";

/** A heater at its place with the water it gives. */
export type HeaterSetup = {
  readonly technology: Technology;
  readonly draw: DailyDraw;
  /** Thermostat setting, degrees Fahrenheit. */
  readonly setpointF: number;
  readonly surroundings: Surroundings;
  readonly rating: Rating;
};

export type Rating = {
  /** Uniform energy factor, no unit. For a central plant: its coefficient of performance. */
  readonly uniformEnergyFactor: number;
  /** Draw pattern in which the factor was measured. */
  readonly drawPattern: DrawPattern;
  /** Rated volume in US gallons; null where there is no tank. */
  readonly volumeGal: number | null;
  /** Heat input of burner or element in Btu per hour. */
  readonly inputBtuPerHour: number;
};

/** What a month's mean day brings. */
export type DayConditions = {
  readonly inletF: number;
  /** Air around the tank. */
  readonly airF: number;
  readonly outdoorF: number;
  /** Share of a burner's recovery efficiency lost to scale. */
  readonly scaleLoss: number;
};

/** One day's flows at a heater, Btu. */
export type HeaterDay = {
  readonly deliveredBtu: number;
  readonly fuelBtu: number;
  readonly electricityBtu: number;
  /** Net heat that leaves the room around the tank for it; negative when the tank warms the room. */
  readonly takenFromRoomBtu: number;
  /** Coefficient of performance of a heat pump's compressor; 0 without one. */
  readonly cop: number;
  /** Share of the heat made by elements beside a heat pump; 0 without one. */
  readonly resistanceShare: number;
};

const NO_FLOWS: HeaterDay = {
  deliveredBtu: 0,
  fuelBtu: 0,
  electricityBtu: 0,
  takenFromRoomBtu: 0,
  cop: 0,
  resistanceShare: 0,
};

/**
 * Share of a natural-draught gas tank's standing loss that reaches the room; the rest leaves by the
 * flue. 0.64, laboratory value as used in NREL's public model source (quoted).
 */
const GAS_LOSS_TO_ROOM = 0.64;

/**
 * Tankless heaters are rated with long draws; short ones warm the exchanger anew each time. The
 * uniform energy factor is taken times 0.94 (ANSI/RESNET/ICC 301-2019, as in NREL's public model
 * source).
 */
export const TANKLESS_CYCLING = 0.94;

/** The heater as a function from a day's conditions to that day's flows. */
export function heaterDayModel(setup: HeaterSetup): (day: DayConditions) => HeaterDay {
  switch (setup.technology) {
    case "gas-storage":
      return combustionTankModel(setup);
    case "gas-instantaneous":
    case "electric-instantaneous":
      return tanklessModel(setup);
    case "electric-storage":
      return electricTankModel(setup);
    case "heat-pump-storage":
    case "heat-pump-plug-in":
    case "heat-pump-split":
    case "heat-pump-central":
      return heatPumpModel(setup);
  }
}

/** The day of the rating test: the draw pattern's gallons under {@link RATING_CONDITIONS}. */
export function ratingTestDay(drawPattern: DrawPattern): TankDay {
  const { inletF, setpointF, airF } = RATING_CONDITIONS;
  return {
    deliveredBtu: heatOfWaterBtu(PATTERN_GALLONS[drawPattern], inletF, setpointF),
    tankF: setpointF,
    airF,
  };
}

function combustionTankModel({ draw, setpointF, rating }: HeaterSetup) {
  const tank = combustionTankOf(
    rating.uniformEnergyFactor,
    rating.inputBtuPerHour,
    ratingTestDay(rating.drawPattern),
  );
  return ({ inletF, airF, scaleLoss }: DayConditions): HeaterDay => {
    const deliveredBtu = deliveredBtuPerDay(draw, setpointF, inletF);
    const recoveryEfficiency = tank.recoveryEfficiency * (1 - scaleLoss);
    const fuelBtu = tankInputBtuPerDay(
      { ...tank, recoveryEfficiency },
      { deliveredBtu, tankF: setpointF, airF },
    );
    const lostBtu = 24 * tank.lossBtuPerHourF * Math.max(0, setpointF - airF);
    return { ...NO_FLOWS, deliveredBtu, fuelBtu, takenFromRoomBtu: -GAS_LOSS_TO_ROOM * lostBtu };
  };
}

function electricTankModel({ draw, setpointF, rating }: HeaterSetup) {
  const tank = electricTankOf(rating.uniformEnergyFactor, ratingTestDay(rating.drawPattern));
  return ({ inletF, airF }: DayConditions): HeaterDay => {
    const deliveredBtu = deliveredBtuPerDay(draw, setpointF, inletF);
    const electricityBtu = tankInputBtuPerDay(tank, { deliveredBtu, tankF: setpointF, airF });
    const takenFromRoomBtu = deliveredBtu - electricityBtu;
    return { ...NO_FLOWS, deliveredBtu, electricityBtu, takenFromRoomBtu };
  };
}

function tanklessModel({ technology, draw, setpointF, rating }: HeaterSetup) {
  const efficiency = rating.uniformEnergyFactor * TANKLESS_CYCLING;
  return ({ inletF }: DayConditions): HeaterDay => {
    const deliveredBtu = deliveredBtuPerDay(draw, setpointF, inletF);
    const inputBtu = deliveredBtu / efficiency;
    return technology === "gas-instantaneous"
      ? { ...NO_FLOWS, deliveredBtu, fuelBtu: inputBtu }
      : { ...NO_FLOWS, deliveredBtu, electricityBtu: inputBtu };
  };
}

function heatPumpModel(setup: HeaterSetup) {
  const { draw, setpointF, surroundings } = setup;
  const pump = heatPumpOf(setup);
  const outdoorUnit = hasOutdoorUnit(setup.technology);
  const airSpreadF = OUTDOOR_AIR_SPREAD_F * (outdoorUnit ? 1 : surroundings.outdoorShare);
  return ({ inletF, airF, outdoorF }: DayConditions): HeaterDay => {
    const deliveredBtu = deliveredBtuPerDay(draw, setpointF, inletF);
    const flows = heatPumpDay(pump, {
      deliveredBtu,
      tankF: setpointF,
      airF,
      evaporatorAirF: outdoorUnit ? outdoorF : airF,
      airSpreadF,
      inletF,
      gallonsPerDay: gallonsAtSetpoint(draw, setpointF, inletF),
    });
    return {
      deliveredBtu,
      fuelBtu: 0,
      electricityBtu: flows.inputBtu,
      takenFromRoomBtu: (outdoorUnit ? 0 : flows.takenFromAirBtu) - flows.lostToAirBtu,
      cop: flows.cop,
      resistanceShare: flows.resistanceShare,
    };
  };
}

function hasOutdoorUnit(technology: Technology): boolean {
  return technology === "heat-pump-split" || technology === "heat-pump-central";
}

function heatPumpOf({ technology, rating }: HeaterSetup): HeatPump {
  const volumeGal = requirePositive("rating.volumeGal", rating.volumeGal ?? Number.NaN);
  const lossBtuPerHourF = heatPumpTankLoss(volumeGal);
  return {
    // A central plant carries a coefficient of performance, not a household test's factor.
    ratedCop:
      technology === "heat-pump-central"
        ? rating.uniformEnergyFactor
        : ratedCopOf(
            rating.uniformEnergyFactor,
            lossBtuPerHourF,
            ratingTestDay(rating.drawPattern),
          ),
    lossBtuPerHourF,
    volumeGal,
    hasElement: technology !== "heat-pump-plug-in",
    // Integrated units stop near 40 °F (ENERGY STAR siting range); outdoor units run far below it (our assumption).
    coldestAirF: hasOutdoorUnit(technology) ? -15 : 40,
  };
}
