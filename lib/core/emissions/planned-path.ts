import {
  burntFuel,
  computeMonthlyUse,
  type EnergyInput,
  energyInputOf,
  energyInputOfOption,
  type OptionRating,
} from "@/lib/core/energy/annual-energy";
import { metersOfHeater } from "@/lib/core/energy/meters";
import { sumOf } from "@/lib/core/energy/months";
import {
  drawShares,
  energyContextOf,
  type PropertyEnergy,
} from "@/lib/core/energy/property-energy";
import type { Heater, Site } from "@/lib/core/heaters/heater";
import { isCombustion } from "@/lib/core/heaters/vocabulary";
import {
  type CalendarDay,
  dayFromParts,
  daysBetween,
  isLeapYear,
  yearOf,
} from "@/lib/core/shared/calendar-day";
import type { Basis, RefrigerantUse, ScopeTotals } from "./annual-emissions";
import type { FactorBook } from "./factors";
import type { GwpSet } from "./gases";
import { knownGridRegion } from "./location-rates";
import { type EnergyUse, emissionPath, type OutlookPoint, type PathHeater } from "./path";
import {
  type Charge,
  chargeOf,
  type RefrigerantEvent,
  type RefrigerantTerms,
} from "./refrigerant-account";

/** A swap that a plan has for a heater. */
export type PlannedSwap = {
  readonly heaterId: string;
  /** The day from which the new heater counts. */
  readonly day: CalendarDay;
  readonly option: OptionRating;
  readonly charge: Charge | null;
};

/** A property along a plan in one year, kg CO2e by scope; market-based without contracts of coming years. */
export type PlannedYear = {
  readonly year: number;
  readonly planned: ScopeTotals;
  /** The plan's heaters kept as they are. */
  readonly unchanged: ScopeTotals;
  readonly swaps: number;
  /** Heaters that burn at the end of the year. */
  readonly burnersLeft: number;
};

export type PlannedInput = {
  readonly site: Site;
  readonly energy: PropertyEnergy;
  /** The heaters that the plan has a line for. */
  readonly heaters: readonly Heater[];
  readonly swaps: readonly PlannedSwap[];
  readonly years: readonly number[];
  /** Day as of which the plan read the record. */
  readonly asOf: CalendarDay;
  /** What the property's meters make of the model; null where they say nothing. */
  readonly meterFactor: number | null;
  readonly book: FactorBook;
  readonly gwpSet: GwpSet;
  readonly gridOutlook: readonly OutlookPoint[];
  readonly gridOutlookSource?: string;
  readonly refrigerantTerms: RefrigerantTerms;
  readonly refrigerantLog: readonly RefrigerantEvent[];
};

/** A property's years along a plan. Emergencies before the planned swaps are left out. */
export function plannedYears(input: PlannedInput): readonly PlannedYear[] {
  const shares = drawShares(input.heaters);
  const swapOf = new Map(input.swaps.map((swap) => [swap.heaterId, swap]));
  const heaters = input.heaters.map((heater) =>
    pathHeater(heater, shares.get(heater.id) ?? 1, swapOf.get(heater.id) ?? null, input),
  );
  const terms = {
    years: input.years,
    gridOutlook: input.gridOutlook,
    ...(input.gridOutlookSource && { gridOutlookSource: input.gridOutlookSource }),
    gwpSet: input.gwpSet,
    factors: input.book,
  };
  const planned = emissionPath({ ...terms, heaters });
  const unchanged = emissionPath({
    ...terms,
    heaters: heaters.map((heater) => ({ ...heater, swap: null })),
  });
  return input.years.map((year, index) => ({
    year,
    planned: (planned[index] as (typeof planned)[number]).inventory.kgCo2e,
    unchanged: (unchanged[index] as (typeof unchanged)[number]).inventory.kgCo2e,
    swaps: input.swaps.filter(({ day }) => yearOf(day) === year).length,
    burnersLeft: input.heaters.filter((heater) => burnsAfter(heater, swapOf.get(heater.id), year))
      .length,
  }));
}

function burnsAfter(heater: Heater, swap: PlannedSwap | undefined, year: number): boolean {
  const isSwapped = swap !== undefined && yearOf(swap.day) <= year;
  return isCombustion(isSwapped ? swap.option.technology : heater.technology);
}

function pathHeater(
  heater: Heater,
  shareOfDraw: number,
  swap: PlannedSwap | null,
  { site, energy, asOf, meterFactor, book, refrigerantTerms, refrigerantLog }: PlannedInput,
): PathHeater {
  const context = energyContextOf(energy, { today: asOf, shareOfDraw, meterFactor });
  const basis: Basis = context.meterFactor === undefined ? "modelled" : "calibrated";
  const log = refrigerantLog.filter(({ heaterId }) => heaterId === heater.id);
  const charge = chargeOf(heater, log);
  const { fuel, electricity } = metersOfHeater(heater, energy.meters);
  return {
    id: heater.id,
    gridRegion: knownGridRegion(book, site.gridRegion),
    meteredBy: { fuel, electricity },
    before: energyUse(energyInputOf(heater, site, context), burntFuel(heater), basis),
    ...(charge && { refrigerantBefore: refrigerantUse(charge, refrigerantTerms) }),
    swap: swap && {
      year: yearOf(swap.day),
      shareBefore: shareOfYearBefore(swap.day),
      after: energyUse(
        energyInputOfOption(heater, site, swap.option, context),
        burntFuel({ technology: swap.option.technology, fuel: heater.fuel }),
        basis,
      ),
      ...(swap.charge && { refrigerantAfter: refrigerantUse(swap.charge, refrigerantTerms) }),
    },
  };
}

function energyUse(input: EnergyInput, fuel: EnergyUse["fuel"], basis: Basis): EnergyUse {
  const { therms, kwh } = computeMonthlyUse(input);
  return { thermsPerYear: sumOf(therms), kwhPerYear: sumOf(kwh), fuel, basis };
}

function refrigerantUse({ refrigerant, kg }: Charge, terms: RefrigerantTerms): RefrigerantUse {
  return { refrigerant, chargeKg: kg, ...terms };
}

function shareOfYearBefore(day: CalendarDay): number {
  const year = yearOf(day);
  return daysBetween(dayFromParts(year, 1, 1), day) / (isLeapYear(year) ? 366 : 365);
}
