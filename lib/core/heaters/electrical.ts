import { requireAtLeastZero, requirePositive } from "@/lib/core/shared/requirements";
import type { SourcedValue } from "@/lib/core/shared/sourced";

/** Stands beside every figure of this page. */
export const ELECTRICIAN_DECIDES =
  "For planning only: a licensed electrician decides what a service, panel or circuit can carry, by the local code and with a permit.";

/** A service as its main breaker or the utility rates it. */
export type Service = {
  /** Rating in amperes. */
  readonly amps: number;
  /** Volts between lines: 240 or 208 in most buildings. */
  readonly volts: number;
  readonly phases: 1 | 3;
};

/** Amperes that `voltAmperes` draw from a service, spread evenly over its phases. */
export function ampsOf(voltAmperes: number, { volts, phases }: Omit<Service, "amps">): number {
  requireAtLeastZero("voltAmperes", voltAmperes);
  requirePositive("volts", volts);
  return voltAmperes / (volts * (phases === 3 ? Math.sqrt(3) : 1));
}

/** What a measured peak counts for: 125 % (NEC 220.87, as quoted by symmetryace.com). */
const MEASURED_PEAK_FACTOR = 1.25;

export type HeadroomCheck = {
  /** 125 % of the measured peak, amperes. */
  readonly existingAmps: number;
  readonly newAmps: number;
  readonly totalAmps: number;
  /** Rating minus total, amperes; negative when it does not fit. */
  readonly spareAmps: number;
  readonly fits: boolean;
};

/**
 * Whether a new load fits a service whose peak was measured: 1.25 × peak + new load ≤ rating.
 *
 * NEC 220.87 (as quoted by symmetryace.com): the peak is the highest demand of one year, or a 30-day
 * recording in 15-minute steps on the highest leg with seasonal loads added; not allowed where solar
 * generation or peak shaving hides the load. The new load counts in full; some authorities ask 125 %
 * of a continuous one (from memory).
 *
 * @param newVoltAmperes new load in volt-amperes.
 * @param newLoadFactor 1, or 1.25 where the authority asks it.
 * @throws {RangeError} when an argument is outside its range.
 */
export function checkMeasuredHeadroom(
  service: Service,
  measuredPeakKw: number,
  newVoltAmperes: number,
  newLoadFactor = 1,
): HeadroomCheck {
  requirePositive("amps", service.amps);
  requireAtLeastZero("measuredPeakKw", measuredPeakKw);
  requirePositive("newLoadFactor", newLoadFactor);
  const existingAmps = MEASURED_PEAK_FACTOR * ampsOf(measuredPeakKw * 1000, service);
  const newAmps = newLoadFactor * ampsOf(newVoltAmperes, service);
  const totalAmps = existingAmps + newAmps;
  const spareAmps = service.amps - totalAmps;
  return { existingAmps, newAmps, totalAmps, spareAmps, fits: spareAmps >= -1e-9 };
}

/** Load that one heat-pump circuit of 240 V and 30 A is planned with. */
export const HEAT_PUMP_CIRCUIT_VA: SourcedValue = {
  value: 4_500,
  unit: "VA",
  source:
    "elements of a 240 V heater in resistance mode: 4,500 W is usual, common practice; the 30 A circuit as in PNNL's field study of 2024",
  evidence: "trade",
};

/**
 * New heat-pump circuits that fit before the service must be upgraded: the greatest n with
 * 1.25 × peak + n × load ≤ rating. Zero when the service is full already.
 *
 * Every circuit counts in full at the same time. That is the cautious reading; heaters seldom heat
 * together, and load-sharing devices fit more.
 */
export function circuitsBeforeUpgrade(
  service: Service,
  measuredPeakKw: number,
  circuitVoltAmperes: number = HEAT_PUMP_CIRCUIT_VA.value,
): number {
  requirePositive("circuitVoltAmperes", circuitVoltAmperes);
  const { spareAmps } = checkMeasuredHeadroom(service, measuredPeakKw, 0);
  return Math.max(0, Math.floor(spareAmps / ampsOf(circuitVoltAmperes, service) + 1e-9));
}

/** Loads of a dwelling for the calculated-load methods, all in volt-amperes. */
export type DwellingLoads = {
  /** Floor area in square feet; lighting counts 3 VA a square foot. */
  readonly floorAreaSqFt: number;
  /** Small-appliance and laundry circuits of 1,500 VA each. */
  readonly applianceCircuits: number;
  /** Sum of the nameplates of fixed appliances, the water heater among them. */
  readonly fixedAppliancesVa: number;
};

const LIGHTING_VA_PER_SQ_FT = 3;
const APPLIANCE_CIRCUIT_VA = 1_500;
const REMAINDER_FACTOR = 0.4;

function generalLoadVa({ floorAreaSqFt, applianceCircuits, fixedAppliancesVa }: DwellingLoads) {
  return (
    LIGHTING_VA_PER_SQ_FT * requireAtLeastZero("floorAreaSqFt", floorAreaSqFt) +
    APPLIANCE_CIRCUIT_VA * requireAtLeastZero("applianceCircuits", applianceCircuits) +
    requireAtLeastZero("fixedAppliancesVa", fixedAppliancesVa)
  );
}

function withDemandFactor(generalVa: number, fullUpToVa: number): number {
  const full = Math.min(generalVa, fullUpToVa);
  return full + REMAINDER_FACTOR * (generalVa - full);
}

/**
 * Heating and cooling of the optional method, of which the greatest counts: NEC 220.82(C), from
 * memory, agreeing with the code's own examples D2(a) to D2(c) as quoted by flylib.com.
 */
export type ClimateLoads = {
  readonly airConditioningVa: number;
  readonly heatPumpVa: number;
  /** Electric heat that runs with the heat pump: 65 %. */
  readonly supplementalHeatVa: number;
  readonly spaceHeatVa: number;
  /** Rooms with a control of their own: 65 % below four of them, 40 % from four on. */
  readonly spaceHeatControls: number;
};

function climateLoadVa(loads: ClimateLoads): number {
  for (const [name, value] of Object.entries(loads)) requireAtLeastZero(name, value);
  return Math.max(
    loads.airConditioningVa,
    loads.heatPumpVa + 0.65 * loads.supplementalHeatVa,
    (loads.spaceHeatControls >= 4 ? 0.4 : 0.65) * loads.spaceHeatVa,
  );
}

/**
 * Calculated load of a dwelling in volt-amperes by the optional method: the first 10 kVA of the
 * general load in full and 40 % of the rest (NEC 220.82(B), as quoted by flylib.com), and the greatest
 * of the heating and cooling loads.
 */
export function dwellingLoadVa(loads: DwellingLoads, climate: ClimateLoads): number {
  return withDemandFactor(generalLoadVa(loads), 10_000) + climateLoadVa(climate);
}

/**
 * Calculated load of an existing dwelling without new heating or cooling, in volt-amperes: the first
 * 8 kVA in full and 40 % of the rest (NEC 220.83(A), as quoted by ecmag.com).
 */
export function existingDwellingLoadVa(loads: DwellingLoads): number {
  return withDemandFactor(generalLoadVa(loads), 8_000);
}

/** Loads of a building of like homes for the multifamily method, all in volt-amperes. */
export type MultifamilyLoads = {
  readonly homes: number;
  /** Floor area of one home in square feet. */
  readonly floorAreaSqFt: number;
  /** Small-appliance and laundry circuits of one home, 1,500 VA each. */
  readonly applianceCircuits: number;
  /** Nameplate of one home's electric cooking; null where it cooks with gas. */
  readonly cookingVa: number | null;
  /** Nameplates of one home's other fixed appliances, electric water heaters among them. */
  readonly appliancesVa: number;
  /** The greater of one home's heating and cooling, at its nameplate. */
  readonly climateVa: number;
  /** Corridors, elevators, laundry, pumps: counted apart and in full. */
  readonly houseVa: number;
};

/**
 * Share of the connected load that a multifamily service is planned with, by number of homes: NEC Table
 * 220.84, from memory; 45 % at three homes, 38 % at twenty and 28 % at forty agree with the worked
 * examples that the tests name.
 */
const MULTIFAMILY_DEMAND: readonly (readonly [homesTo: number, percent: number])[] = [
  [5, 45],
  [7, 44],
  [10, 43],
  [11, 42],
  [13, 41],
  [15, 40],
  [17, 39],
  [20, 38],
  [21, 37],
  [23, 36],
  [25, 35],
  [27, 34],
  [30, 33],
  [31, 32],
  [33, 31],
  [36, 30],
  [38, 29],
  [42, 28],
  [45, 27],
  [50, 26],
  [55, 25],
  [61, 24],
];
const MULTIFAMILY_DEMAND_BEYOND = 23;

/** What stands in for gas cooking in the multifamily method (NEC 220.84(A)(2), exception, as quoted). */
export const SIMULATED_COOKING_VA = 8_000;

/** @throws {RangeError} below three homes, where the table has no factor. */
export function multifamilyDemandFactor(homes: number): number {
  if (!(homes >= 3)) throw new RangeError(`homes must be three or more, got ${homes}`);
  const row = MULTIFAMILY_DEMAND.find(([homesTo]) => homes <= homesTo);
  return (row ? row[1] : MULTIFAMILY_DEMAND_BEYOND) / 100;
}

/**
 * Calculated load of a building of like homes in volt-amperes, with `addedVa` of new heaters in it: the
 * connected load times the demand factor of the number of homes, and the house load in full (NEC
 * 220.84). Two homes count as three (220.85).
 *
 * The method asks that one feeder serves each home, that homes cook with electricity (8 kW stand in for
 * gas) and that they have electric heating or cooling.
 *
 * @throws {RangeError} below two homes or when a load is negative.
 */
export function multifamilyLoadVa(loads: MultifamilyLoads, addedVa = 0): number {
  const { homes, cookingVa, appliancesVa, climateVa, houseVa } = loads;
  if (!(homes >= 2)) throw new RangeError(`homes must be two or more, got ${homes}`);
  const counted = Math.max(3, homes);
  const oneHomeVa =
    generalLoadVa({ ...loads, fixedAppliancesVa: appliancesVa }) +
    requireAtLeastZero("cookingVa", cookingVa ?? SIMULATED_COOKING_VA) +
    requireAtLeastZero("climateVa", climateVa);
  const connectedVa =
    counted * oneHomeVa + (counted / homes) * requireAtLeastZero("addedVa", addedVa);
  return multifamilyDemandFactor(counted) * connectedVa + requireAtLeastZero("houseVa", houseVa);
}

/** Standard ratings of breakers in amperes up to 100 (NEC 240.6, from memory). */
const BREAKER_AMPS = [15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100] as const;

export type BranchCircuit = {
  readonly loadAmps: number;
  /** 125 % of the load: a storage heater is a continuous load (NEC 422.13, as quoted). */
  readonly conductorAmps: number;
  /** Smallest standard breaker at or above the conductor's amperes; null above 100 A. */
  readonly smallestBreakerAmps: number | null;
  /** 150 % of the load, up to the next standard rating (NEC 422.11(E)(3), as quoted); null above 100 A. */
  readonly largestBreakerAmps: number | null;
};

/** Branch circuit of a storage water heater of up to 120 gallons. */
export function branchCircuit(watts: number, volts: number): BranchCircuit {
  requirePositive("watts", watts);
  requirePositive("volts", volts);
  const loadAmps = watts / volts;
  const conductorAmps = 1.25 * loadAmps;
  return {
    loadAmps,
    conductorAmps,
    smallestBreakerAmps: nextBreaker(conductorAmps),
    largestBreakerAmps: nextBreaker(1.5 * loadAmps),
  };
}

function nextBreaker(amps: number): number | null {
  return BREAKER_AMPS.find((rating) => rating >= amps - 1e-9) ?? null;
}
