import type { Heater, Site } from "@/lib/core/heaters/heater";
import {
  type Answer,
  type Fuel,
  hasTank,
  isCombustion,
  isHeatPump,
  type Technology,
} from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, maxDay, yearsBetween } from "@/lib/core/shared/calendar-day";
import { roundToCents } from "@/lib/core/shared/money";
import { requireAtLeastZero, requireFinite, requirePositive } from "@/lib/core/shared/requirements";
import { BTU_PER_KWH, BTU_PER_THERM } from "@/lib/core/shared/units";
import {
  type Climate,
  monthlyInletWaterF,
  monthlyOutdoorAirF,
  monthlySurroundingAirF,
} from "./climate";
import {
  DEFAULT_OCCUPANTS,
  DEFAULT_SETPOINT_F,
  INDOOR_AIR_F,
  PLACE_SURROUNDINGS,
} from "./defaults";
import { type HeaterDay, type HeaterSetup, heaterDayModel } from "./heater-day";
import {
  type DailyDraw,
  drawOfBedrooms,
  drawOfDemandLevel,
  drawOfOccupants,
  GALLONS_PER_PERSON,
  scaleDraw,
} from "./hot-water-draw";
import { DAYS_OF_MONTH, type Monthly, sumOf } from "./months";
import { isPossibleBurner, isPossibleFactor, ratingOf, recordedOr } from "./rating";
import { NO_SCALE_LOSS, type ScaleLoss, scaleLossOf } from "./scale-loss";
import { type SpaceConditioning, type SpaceEffect, spaceEffectOf } from "./space-effect";
import { costByMonth, type Tariff } from "./tariff";

/** Everything that a heater's year of energy and cost follows from. */
export type EnergyInput = HeaterSetup & {
  readonly fuel: Fuel;
  readonly climate: Climate;
  /** Share of a burner's recovery efficiency lost to scale. */
  readonly scaleLoss: ScaleLoss;
  /** How the home around the heater is heated and cooled; null when not known. */
  readonly spaceConditioning: SpaceConditioning | null;
  readonly tariffs: Tariffs;
  /**
   * What the property's meters make of the model (see {@link calibrate} in calibration.ts): every flow
   * is multiplied by it, as if so much more or less hot water were drawn. 1 when absent.
   */
  readonly meterFactor?: number;
  /** In words: each value above that was assumed because it is not on record. */
  readonly assumed: readonly string[];
};

export type Tariffs = {
  /** Price of the burner's fuel per therm (100,000 Btu of any fuel). */
  readonly fuel: Tariff;
  /** Price of electricity per kilowatt hour. */
  readonly electricity: Tariff;
  readonly gasStandingCentsPerMonth: number;
  /** True when the gas meter serves this heater alone, so that its standing charge ends with it. */
  readonly lastGasAppliance: boolean;
};

/** A year of one heater. Therms and kilowatt hours are what meters of its own would read. */
export type EnergyResult = {
  /** Therms (100,000 Btu) of the heater's fuel. */
  readonly thermsPerYear: number;
  readonly kwhPerYear: number;
  /** Heat in the hot water drawn. */
  readonly deliveredBtuPerYear: number;
  /** Whole cents; the sum of the months, and of what the two meters are billed. */
  readonly costCentsPerYear: number;
  /** What the fuel's meter is billed, standing charge included, whole cents. */
  readonly fuelCostCentsPerYear: number;
  /** What the electricity meter is billed, whole cents. */
  readonly electricityCostCentsPerYear: number;
  /** Standing charge contained in the cost, whole cents. */
  readonly standingCentsPerYear: number;
  /** Delivered heat over energy used; above 1 for heat pumps; null when nothing is used. */
  readonly systemEfficiency: number | null;
  /** Therms a year at the low and at the high end of the scale loss; equal where there is none. */
  readonly thermsRange: readonly [low: number, high: number];
  readonly monthly: MonthlyEnergy;
  /** What the heater does to the heating and cooling of the home, apart from the figures above. */
  readonly spaceEffect: SpaceEffect;
  readonly assumed: readonly string[];
};

export type MonthlyEnergy = {
  readonly inletWaterF: Monthly;
  /** Air around the tank. */
  readonly surroundingAirF: Monthly;
  readonly deliveredBtu: Monthly;
  readonly therms: Monthly;
  readonly kwh: Monthly;
  /** Whole cents, standing charge included. */
  readonly costCents: Monthly;
  /** Coefficient of performance of the compressor alone; null where there is none. */
  readonly cop: Monthly | null;
  /** Share of the heat made by elements beside a heat pump; null where there is no heat pump. */
  readonly resistanceShare: Monthly | null;
};

/**
 * Energy and cost of a heater's year, month by month (365 days).
 *
 * Method, sources and limits: docs/methods/energy.md.
 *
 * @throws {RangeError} naming the first value that is outside its domain.
 */
export function computeEnergy(input: EnergyInput): EnergyResult {
  requireValid(input);
  const { conditions, dayOf } = yearOfDays(input);
  const { inletWaterF, outdoorAirF, surroundingAirF } = conditions;
  const thermsAtScale = (scaleLoss: number): number =>
    sumOf(perMonth(dayOf(scaleLoss), (day) => day.fuelBtu)) / BTU_PER_THERM;

  const days = dayOf(input.scaleLoss.central);
  const deliveredBtu = perMonth(days, (day) => day.deliveredBtu);
  const therms = perMonth(days, (day) => day.fuelBtu / BTU_PER_THERM);
  const kwh = perMonth(days, (day) => day.electricityBtu / BTU_PER_KWH);
  const usedBtu = sumOf(perMonth(days, (day) => day.fuelBtu + day.electricityBtu));

  const standingCents = standingCentsPerMonth(input);
  const fuelCents = costByMonth(input.tariffs.fuel, therms).map(
    (cents) => roundToCents(cents) + standingCents,
  );
  const electricityCents = costByMonth(input.tariffs.electricity, kwh).map(roundToCents);

  const heatPump = isHeatPump(input.technology);
  const { low, high } = input.scaleLoss;
  return {
    thermsPerYear: sumOf(therms),
    kwhPerYear: sumOf(kwh),
    deliveredBtuPerYear: sumOf(deliveredBtu),
    costCentsPerYear: sumOf(fuelCents) + sumOf(electricityCents),
    fuelCostCentsPerYear: sumOf(fuelCents),
    electricityCostCentsPerYear: sumOf(electricityCents),
    standingCentsPerYear: 12 * standingCents,
    systemEfficiency: usedBtu > 0 ? sumOf(deliveredBtu) / usedBtu : null,
    thermsRange:
      low === high ? [sumOf(therms), sumOf(therms)] : [thermsAtScale(low), thermsAtScale(high)],
    monthly: {
      inletWaterF,
      surroundingAirF,
      deliveredBtu,
      therms,
      kwh,
      costCents: fuelCents.map((cents, month) => cents + of(electricityCents, month)),
      cop: heatPump ? days.map((day) => day.cop) : null,
      resistanceShare: heatPump ? days.map((day) => day.resistanceShare) : null,
    },
    spaceEffect: spaceEffectOf({
      takenBtu: perMonth(days, (day) =>
        input.surroundings.conditioned ? day.takenFromRoomBtu : 0,
      ),
      outdoorAirF,
      conditioning: input.spaceConditioning,
    }),
    assumed: input.assumed,
  };
}

/** What a heater's meters read, month by month (365 days). */
export type MonthlyUse = { readonly therms: Monthly; readonly kwh: Monthly };

/**
 * The energy of {@link computeEnergy} alone, without costs and ranges: for fleets over many years.
 *
 * @throws {RangeError} as {@link computeEnergy}.
 */
export function computeMonthlyUse(input: EnergyInput): MonthlyUse {
  requireValid(input);
  const days = yearOfDays(input).dayOf(input.scaleLoss.central);
  return {
    therms: perMonth(days, (day) => day.fuelBtu / BTU_PER_THERM),
    kwh: perMonth(days, (day) => day.electricityBtu / BTU_PER_KWH),
  };
}

/** The conditions of each month and the heater's mean day in it, by the scale loss. */
function yearOfDays(input: EnergyInput) {
  const conditions = {
    inletWaterF: monthlyInletWaterF(input.climate),
    outdoorAirF: monthlyOutdoorAirF(input.climate),
    surroundingAirF: monthlySurroundingAirF(input.climate, input.surroundings),
  };
  const { meterFactor = 1 } = input;
  const model = scaledModel(heaterDayModel(input), meterFactor);
  const dayOf = (scaleLoss: number): readonly HeaterDay[] =>
    conditions.inletWaterF.map((inletF, month) =>
      model({
        inletF,
        airF: of(conditions.surroundingAirF, month),
        outdoorF: of(conditions.outdoorAirF, month),
        scaleLoss,
      }),
    );
  return { conditions, dayOf };
}

function scaledModel(
  model: ReturnType<typeof heaterDayModel>,
  factor: number,
): ReturnType<typeof heaterDayModel> {
  if (factor === 1) return model;
  return (conditions) => {
    const day = model(conditions);
    return {
      ...day,
      deliveredBtu: day.deliveredBtu * factor,
      fuelBtu: day.fuelBtu * factor,
      electricityBtu: day.electricityBtu * factor,
      takenFromRoomBtu: day.takenFromRoomBtu * factor,
    };
  };
}

function perMonth(days: readonly HeaterDay[], flow: (day: HeaterDay) => number): Monthly {
  return days.map((day, month) => flow(day) * of(DAYS_OF_MONTH, month));
}

/** What the record does not hold and a caller may know. */
export type EnergyContext = {
  /** The day from which the time since the last flush is counted; without it scale is left out. */
  readonly today?: CalendarDay;
  /** Share of the home's hot water that this heater gives, where a home has several. 1 when absent. */
  readonly shareOfDraw?: number;
  /** Whether the gas meter serves anything else; see {@link Tariffs.lastGasAppliance}. */
  readonly otherGasAppliances?: Answer;
  readonly spaceConditioning?: SpaceConditioning;
  readonly fuelTariff?: Tariff;
  readonly electricityTariff?: Tariff;
  /** See {@link EnergyInput.meterFactor}. */
  readonly meterFactor?: number;
};

/** The energy model's input for a heater as it stands. Unknown values are assumed and listed. */
export function energyInputOf(
  heater: Heater,
  site: Site,
  context: EnergyContext = {},
): EnergyInput {
  const assumed: string[] = [];
  const fuel = burntFuel(heater);
  if (fuel !== heater.fuel)
    assumed.push(`fuel ${fuel} (on record, but impossible: ${heater.fuel})`);
  return {
    ...placeInputOf(heater, site, context, assumed),
    technology: heater.technology,
    fuel,
    rating: ratingOf(heater.technology, heater.nameplate, assumed),
    scaleLoss: scaleLossOfHeater(heater, context.today, assumed),
    tariffs: tariffsOf(fuel, site, context, assumed),
    assumed,
  };
}

/** A product that may replace a heater; null where the catalogue does not say. */
export type OptionRating = {
  readonly technology: Technology;
  readonly volumeGal: number | null;
  readonly uniformEnergyFactor: number | null;
  /** Element or compressor input in watts. */
  readonly inputWatts: number | null;
};

/**
 * The energy model's input for a replacement at the same place, with the same water drawn at the same
 * setpoint. A new tank has no scale.
 */
export function energyInputOfOption(
  heater: Heater,
  site: Site,
  option: OptionRating,
  context: EnergyContext = {},
): EnergyInput {
  const assumed: string[] = [];
  const fuel = burntFuel({ technology: option.technology, fuel: heater.fuel });
  return {
    ...placeInputOf(heater, site, context, assumed),
    technology: option.technology,
    fuel,
    rating: ratingOf(
      option.technology,
      { ...option, inputBtuPerHour: null, firstHourGal: null },
      assumed,
    ),
    scaleLoss: NO_SCALE_LOSS,
    tariffs: tariffsOf(fuel, site, context, assumed),
    assumed,
  };
}

function placeInputOf(
  heater: Heater,
  site: Site,
  context: EnergyContext,
  assumed: string[],
): Pick<
  EnergyInput,
  "draw" | "setpointF" | "climate" | "surroundings" | "spaceConditioning" | "meterFactor"
> {
  const surroundings = { ...PLACE_SURROUNDINGS[heater.place], indoorAirF: INDOOR_AIR_F };
  const setpointF = recordedOr(
    DEFAULT_SETPOINT_F,
    {
      recorded: heater.setpointF,
      isPossible: isPossibleSetpoint,
      words: (f) => `setpoint ${f} °F`,
    },
    assumed,
  );
  if (heater.place === "other") assumed.push("air around the heater mostly that of the building");
  if (surroundings.conditioned && !context.spaceConditioning) {
    assumed.push("heating and cooling of the home not known: heat taken from its rooms not priced");
  }
  return {
    draw: scaleDraw(drawOfHome(heater, site, assumed), context.shareOfDraw ?? 1),
    setpointF,
    climate: {
      annualMeanAirF: site.annualMeanAirF,
      airAmplitudeF: site.airAmplitudeF,
      coldestMonth: site.coldestMonth,
    },
    surroundings,
    spaceConditioning: context.spaceConditioning ?? null,
    ...(context.meterFactor !== undefined && { meterFactor: context.meterFactor }),
  };
}

function drawOfHome({ home }: Heater, site: Site, assumed: string[]): DailyDraw {
  if (home.occupants !== null) return drawOfOccupants(home.occupants);
  if (home.bedrooms !== null) {
    assumed.push(`hot water of a reference home with ${home.bedrooms} bedrooms`);
    return drawOfBedrooms(home.bedrooms);
  }
  const people = DEFAULT_OCCUPANTS * home.homesServed;
  assumed.push(
    `${people} people drawing ${GALLONS_PER_PERSON[site.demandLevel]} gallons each a day (demand level ${site.demandLevel})`,
  );
  return drawOfDemandLevel(site.demandLevel, people);
}

function scaleLossOfHeater(
  heater: Heater,
  today: CalendarDay | undefined,
  assumed: string[],
): ScaleLoss {
  if (heater.technology !== "gas-storage" || heater.water.softened === "yes") return NO_SCALE_LOSS;
  const hardness = heater.water.hardnessMgPerLitre;
  if (hardness === null) {
    assumed.push("no loss to scale, hardness not known");
    return NO_SCALE_LOSS;
  }
  if (today === undefined) {
    assumed.push("no loss to scale");
    return NO_SCALE_LOSS;
  }
  const flushed = lastFlushOf(heater, today);
  const clean = flushed ? maxDay(flushed, heater.install.earliest) : heater.install.earliest;
  return scaleLossOf(hardness, Math.max(0, yearsBetween(clean, today)));
}

/** The last flush on record by the day asked for; null when there is none. */
function lastFlushOf({ care }: Heater, today: CalendarDay): CalendarDay | null {
  const days = [...care.flushDays, care.lastDone.flush ?? null];
  return days.reduce<CalendarDay | null>(
    (last, day) => (day !== null && day <= today && (last === null || day > last) ? day : last),
    null,
  );
}

function tariffsOf(fuel: Fuel, site: Site, context: EnergyContext, assumed: string[]): Tariffs {
  const burnsFuel = fuel !== "electricity";
  if (burnsFuel && fuel !== "natural-gas" && !context.fuelTariff) {
    assumed.push("fuel at the price of natural gas per therm");
  }
  const standing = site.gasStandingCentsPerMonth > 0;
  const answer = context.otherGasAppliances ?? "unknown";
  if (burnsFuel && standing && answer === "unknown") {
    assumed.push("the gas meter serves this heater alone");
  }
  return {
    fuel: context.fuelTariff ?? { kind: "flat", centsPerUnit: site.gasCentsPerTherm },
    electricity: context.electricityTariff ?? {
      kind: "flat",
      centsPerUnit: site.electricityCentsPerKwh,
    },
    gasStandingCentsPerMonth: site.gasStandingCentsPerMonth,
    lastGasAppliance: answer !== "yes",
  };
}

/**
 * The fuel that goes with a technology: the one on record where it burns, natural gas where that is
 * none; electricity where nothing burns.
 */
export function burntFuel({ technology, fuel }: Pick<Heater, "technology" | "fuel">): Fuel {
  if (!isCombustion(technology)) return "electricity";
  return fuel === "electricity" ? "natural-gas" : fuel;
}

function standingCentsPerMonth({ technology, tariffs }: EnergyInput): number {
  return isCombustion(technology) && tariffs.lastGasAppliance
    ? roundToCents(tariffs.gasStandingCentsPerMonth)
    : 0;
}

function requireValid(input: EnergyInput): void {
  requireAtLeastZero("draw.mixedGallons", input.draw.mixedGallons);
  requireAtLeastZero("draw.hotGallons", input.draw.hotGallons);
  if (!isPossibleSetpoint(input.setpointF)) {
    throw new RangeError(`setpointF must be from 80 to 200, got ${input.setpointF}`);
  }
  requireFinite("climate.annualMeanAirF", input.climate.annualMeanAirF);
  requireAtLeastZero("climate.airAmplitudeF", input.climate.airAmplitudeF);
  requirePositive("rating.inputBtuPerHour", input.rating.inputBtuPerHour);
  if (input.technology === "gas-storage" && !isPossibleBurner(input.rating.inputBtuPerHour)) {
    throw new RangeError(
      `rating.inputBtuPerHour of a burner must be 5000 or more, got ${input.rating.inputBtuPerHour}`,
    );
  }
  if (hasTank(input.technology)) {
    requirePositive("rating.volumeGal", input.rating.volumeGal ?? Number.NaN);
  }
  if (!isPossibleFactor(input.technology, input.rating.uniformEnergyFactor)) {
    throw new RangeError(
      `rating.uniformEnergyFactor of a ${input.technology} heater must be ${isHeatPump(input.technology) ? "from 1 to 8" : "below 1"}, got ${input.rating.uniformEnergyFactor}`,
    );
  }
  if (isCombustion(input.technology) === (input.fuel === "electricity")) {
    throw new RangeError(`fuel ${input.fuel} does not go with ${input.technology}`);
  }
  requireAtLeastZero("meterFactor", input.meterFactor ?? 1);
  requireAtLeastZero("scaleLoss.low", input.scaleLoss.low);
  if (!(input.scaleLoss.high < 1)) {
    throw new RangeError(`scaleLoss.high must be below 1, got ${input.scaleLoss.high}`);
  }
}

/** Thermostat settings a household heater can be set to, degrees Fahrenheit. */
function isPossibleSetpoint(setpointF: number): boolean {
  return setpointF >= 80 && setpointF <= 200;
}

function of(values: Monthly, month: number): number {
  return values[month] as number;
}
