import { z } from "zod";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import {
  ampsOf,
  checkMeasuredHeadroom,
  existingDwellingLoadVa,
  HEAT_PUMP_CIRCUIT_VA,
  type MultifamilyLoads,
  multifamilyDemandFactor,
  multifamilyLoadVa,
  type Service,
  SIMULATED_COOKING_VA,
} from "./electrical";
import { ANSWERS } from "./vocabulary";

/** Ways to say how many new circuits a building's service still carries. */
export const HEADROOM_METHODS = ["measured", "calculated", "stated"] as const;
export type HeadroomMethod = (typeof HEADROOM_METHODS)[number];

export const HEADROOM_METHOD_LABELS: Readonly<Record<HeadroomMethod, string>> = {
  measured: "Measured peak",
  calculated: "Calculated load",
  stated: "An electrician’s statement",
};

/** Where a measured peak comes from. */
export const PEAK_BASES = ["year", "thirty-days"] as const;
export type PeakBasis = (typeof PEAK_BASES)[number];

export const PEAK_BASIS_LABELS: Readonly<Record<PeakBasis, string>> = {
  year: "Highest of 12 months, from the utility",
  "thirty-days": "30 days recorded in 15-minute steps",
};

const day = z.string().refine(isCalendarDay, "must be a day such as 2027-06-30");
const volt = z.number().min(0).max(1_000_000);

/** How a building's headroom was worked out, as it is stored with the building. */
export const buildingElectricalSchema = z.strictObject({
  phases: z.union([z.literal(1), z.literal(3)]),
  /** The method whose answer the plan uses. */
  method: z.enum(HEADROOM_METHODS),
  /** Load of one new circuit, volt-amperes. */
  circuitVoltAmperes: z.number().positive().max(50_000),
  /** 1, or 1.25 where the authority counts a storage heater as a continuous load of the service. */
  newLoadFactor: z.number().min(1).max(1.25),
  /** What the measured peak rests on; null where none was measured. */
  peak: z
    .strictObject({
      basis: z.enum(PEAK_BASES),
      /** Heating or cooling that did not run in a 30-day recording, kilowatts. */
      seasonalKw: z.number().min(0).max(100_000),
      /** Solar generation or peak shaving hides part of the load: then the method may not be used. */
      isHidden: z.enum(ANSWERS),
    })
    .nullable(),
  /** Loads of the calculated method; null where they were not entered. */
  loads: z
    .strictObject({
      homes: z.int().min(1).max(5_000),
      floorAreaSqFt: z.number().min(0).max(100_000),
      applianceCircuits: z.int().min(0).max(20),
      cookingVa: volt.nullable(),
      appliancesVa: volt,
      climateVa: volt,
      houseVa: z.number().min(0).max(10_000_000),
      /** New heaters count in full instead of with the demand factor: the cautious reading. */
      newInFull: z.boolean(),
    })
    .nullable(),
  /** What an electrician stated; null where none was asked. */
  stated: z
    .strictObject({
      circuits: z.int().min(0).max(10_000),
      by: z.string().trim().min(1).max(120),
      on: day,
    })
    .nullable(),
});
export type BuildingElectrical = z.output<typeof buildingElectricalSchema>;

/** One method's answer. */
export type HeadroomFigure = {
  readonly method: Exclude<HeadroomMethod, "stated">;
  /** What is there already, amperes. */
  readonly existingAmps: number;
  /** Rating less what is there, amperes; negative when the service is over-full on paper. */
  readonly spareAmps: number;
  /** What one more heater takes of it, amperes. */
  readonly perCircuitAmps: number;
  /** Most new circuits that fit. */
  readonly circuits: number;
};

export type HeadroomAssessment = {
  readonly measured: HeadroomFigure | null;
  readonly calculated: HeadroomFigure | null;
  readonly stated: {
    readonly circuits: number;
    readonly by: string;
    readonly on: CalendarDay;
  } | null;
  /** The answer of the method chosen; null when it has none. */
  readonly circuits: number | null;
  /** Why the method chosen has no answer, in sentences. */
  readonly missing: readonly string[];
  /** What the answers take as given, in sentences. */
  readonly assumed: readonly string[];
};

/**
 * New heat-pump circuits that a building's service carries before an upgrade, by every method there is
 * data for. For planning only: a licensed electrician decides.
 *
 * @param service rating on record; null where amperes or volts are not known
 * @param measuredPeakKw highest demand; null when never measured
 */
export function assessHeadroom(
  service: Omit<Service, "phases"> | null,
  measuredPeakKw: number | null,
  electrical: BuildingElectrical,
): HeadroomAssessment {
  const missing: string[] = [];
  const assumed: string[] = [];
  const rated: Service | null = service && { ...service, phases: electrical.phases };
  const measured = rated && measuredFigure(rated, measuredPeakKw, electrical, assumed);
  const calculated = rated && calculatedFigure(rated, electrical, assumed);
  const { method } = electrical;
  const { stated } = electrical;
  if (method !== "stated" && rated === null) {
    missing.push("The rating of the service, amperes and volts.");
  }
  if (method === "measured" && rated !== null && measured === null) {
    missing.push(
      electrical.peak?.isHidden === "yes"
        ? "Solar generation or peak shaving hides part of the load, so a measured peak may not be used: calculate the load instead."
        : "The highest demand, from the utility or a recording.",
    );
  }
  if (method === "calculated" && electrical.loads === null) missing.push("The loads of the homes.");
  if (method === "stated" && stated === null) missing.push("The electrician’s statement.");
  const circuits = {
    measured: measured?.circuits ?? null,
    calculated: calculated?.circuits ?? null,
    stated: stated?.circuits ?? null,
  }[method];
  return { measured, calculated, stated, circuits, missing, assumed };
}

function measuredFigure(
  service: Service,
  measuredPeakKw: number | null,
  { peak, circuitVoltAmperes, newLoadFactor }: BuildingElectrical,
  assumed: string[],
): HeadroomFigure | null {
  if (measuredPeakKw === null || peak?.isHidden === "yes") return null;
  const seasonalKw = peak?.basis === "thirty-days" ? peak.seasonalKw : 0;
  const { existingAmps, spareAmps } = checkMeasuredHeadroom(
    service,
    measuredPeakKw + seasonalKw,
    0,
  );
  if (peak === null) assumed.push("The peak on record is taken as the highest of 12 months.");
  if ((peak?.isHidden ?? "unknown") === "unknown") {
    assumed.push("No solar generation or peak shaving is taken to hide part of the peak.");
  }
  if (peak?.basis === "thirty-days" && seasonalKw === 0) {
    assumed.push("The 30 days are taken to hold the season’s heating or cooling.");
  }
  assumed.push(
    newLoadFactor > 1
      ? `Measured peak: every new heater counts at ${Math.round(100 * newLoadFactor)} %, as some authorities ask.`
      : "Measured peak: every new heater counts in full at the same time; load-sharing devices fit more.",
  );
  return figureOf("measured", {
    existingAmps,
    spareAmps,
    perCircuitAmps: newLoadFactor * ampsOf(circuitVoltAmperes, service),
  });
}

function calculatedFigure(
  service: Service,
  { loads, circuitVoltAmperes, newLoadFactor }: BuildingElectrical,
  assumed: string[],
): HeadroomFigure | null {
  if (loads === null) return null;
  if (loads.cookingVa === null && loads.homes > 1) {
    assumed.push(
      `Calculated load: gas cooking is counted as ${SIMULATED_COOKING_VA / 1000} kW a home, as the method asks.`,
    );
  }
  if (loads.climateVa === 0 && loads.homes > 1) {
    assumed.push(
      "Calculated load: the method is for homes with electric heating or cooling, and none was entered: the standard method, which is not computed here, may ask more.",
    );
  }
  assumed.push(
    loads.homes === 1
      ? "Calculated load: one existing dwelling, 8 kVA in full and 40 % of the rest."
      : `Calculated load: ${Math.round(100 * multifamilyDemandFactor(Math.max(3, loads.homes)))} % of what is connected, by the number of homes, and the house load in full${loads.homes === 2 ? "; two homes count as three" : ""}.`,
  );
  const existingVa = loads.homes === 1 ? oneHomeVa(loads, 0) : multifamilyLoadVa(loads);
  const withOneVa =
    loads.homes === 1
      ? oneHomeVa(loads, circuitVoltAmperes)
      : multifamilyLoadVa(loads, circuitVoltAmperes);
  if (loads.newInFull) {
    assumed.push("Calculated load: new heaters count in full, without the demand factor.");
  }
  const existingAmps = ampsOf(existingVa, service);
  return figureOf("calculated", {
    existingAmps,
    spareAmps: service.amps - existingAmps,
    perCircuitAmps:
      newLoadFactor *
      ampsOf(loads.newInFull ? circuitVoltAmperes : withOneVa - existingVa, service),
  });
}

function oneHomeVa(
  {
    floorAreaSqFt,
    applianceCircuits,
    cookingVa,
    appliancesVa,
    climateVa,
    houseVa,
  }: MultifamilyLoads,
  addedVa: number,
): number {
  return (
    existingDwellingLoadVa({
      floorAreaSqFt,
      applianceCircuits,
      fixedAppliancesVa: (cookingVa ?? 0) + appliancesVa + climateVa + addedVa,
    }) + houseVa
  );
}

function figureOf(
  method: HeadroomFigure["method"],
  amps: Pick<HeadroomFigure, "existingAmps" | "spareAmps" | "perCircuitAmps">,
): HeadroomFigure {
  return {
    ...amps,
    method,
    circuits: Math.max(0, Math.floor(amps.spareAmps / amps.perCircuitAmps + 1e-9)),
  };
}

/** What a building starts from where nothing was entered: the measured peak on record, in full. */
export const DEFAULT_ELECTRICAL: BuildingElectrical = {
  phases: 1,
  method: "measured",
  circuitVoltAmperes: HEAT_PUMP_CIRCUIT_VA.value,
  newLoadFactor: 1,
  peak: { basis: "year", seasonalKw: 0, isHidden: "unknown" },
  loads: null,
  stated: null,
};

/**
 * Circuits that a larger service adds by the method in use; null where the method has no answer. An
 * electrician's statement says nothing of another service.
 */
export function circuitsAddedByUpgrade(
  service: Omit<Service, "phases">,
  upgradedAmps: number,
  measuredPeakKw: number | null,
  electrical: BuildingElectrical,
): number | null {
  if (electrical.method === "stated") return null;
  const before = assessHeadroom(service, measuredPeakKw, electrical).circuits;
  const after = assessHeadroom({ ...service, amps: upgradedAmps }, measuredPeakKw, electrical);
  return before === null || after.circuits === null ? null : after.circuits - before;
}
