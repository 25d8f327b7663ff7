import {
  computeEnergy,
  type EnergyInput,
  type EnergyResult,
} from "@/lib/core/energy/annual-energy";
import { type HeaterMeters, METER_HOLDERS, type MeterHolder } from "@/lib/core/energy/meters";
import type { LocationRates } from "./location-rates";

/** A home's hot water over a year with one heater. */
export type HomeYear = {
  readonly energy: EnergyResult;
  /** Location-based, whoever pays; refrigerant left out. */
  readonly kgCo2e: number;
  /** Whole cents a year by who holds the meter that is billed. */
  readonly centsPaidBy: Readonly<Record<MeterHolder, number>>;
};

/** What a swap does to one home: the same water, drawn the same way, from another heater. */
export type HomeResult = {
  readonly before: HomeYear;
  readonly after: HomeYear;
  readonly change: {
    readonly thermsPerYear: number;
    readonly kwhPerYear: number;
    readonly kgCo2e: number;
    readonly cents: number;
    readonly centsPaidBy: Readonly<Record<MeterHolder, number>>;
  };
  /** Who pays more after than before while the other pays less: the bill moves to them. */
  readonly billMovesTo: MeterHolder | null;
};

/** A home's energy, emissions and cost before and after, and how the cost moves between meters. */
export function computeHomeResult({
  before,
  after,
  meters,
  rates,
}: {
  readonly before: EnergyInput;
  readonly after: EnergyInput;
  readonly meters: HeaterMeters;
  readonly rates: LocationRates;
}): HomeResult {
  const now = homeYear(before, meters, rates);
  const then = homeYear(after, meters, rates);
  const cents = then.energy.costCentsPerYear - now.energy.costCentsPerYear;
  const centsPaidBy = {
    owner: then.centsPaidBy.owner - now.centsPaidBy.owner,
    resident: then.centsPaidBy.resident - now.centsPaidBy.resident,
  };
  const others = (holder: MeterHolder) => (holder === "owner" ? "resident" : "owner");
  return {
    before: now,
    after: then,
    change: {
      thermsPerYear: then.energy.thermsPerYear - now.energy.thermsPerYear,
      kwhPerYear: then.energy.kwhPerYear - now.energy.kwhPerYear,
      kgCo2e: then.kgCo2e - now.kgCo2e,
      cents,
      centsPaidBy,
    },
    billMovesTo:
      METER_HOLDERS.find((holder) => centsPaidBy[holder] > 0 && centsPaidBy[others(holder)] < 0) ??
      null,
  };
}

function homeYear(input: EnergyInput, meters: HeaterMeters, rates: LocationRates): HomeYear {
  const energy = computeEnergy(input);
  const centsPaidBy = { owner: 0, resident: 0 };
  centsPaidBy[meters.fuel] += energy.fuelCostCentsPerYear;
  centsPaidBy[meters.electricity] += energy.electricityCostCentsPerYear;
  const kgCo2e =
    (energy.thermsPerYear > 0 ? energy.thermsPerYear * rates.kgPerUnit(input.fuel) : 0) +
    energy.kwhPerYear * rates.kgPerUnit("electricity");
  return { energy, kgCo2e, centsPaidBy };
}
