import type { Heater } from "@/lib/core/heaters/heater";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import { poundsToKilograms } from "@/lib/core/shared/units";

/** Where a heater went after it was taken out. */
export const DISPOSAL_ROUTES = ["recycled", "reused", "landfill"] as const;
export type DisposalRoute = (typeof DISPOSAL_ROUTES)[number];

export const DISPOSAL_ROUTE_LABELS: Readonly<Record<DisposalRoute, string>> = {
  recycled: "Scrap metal recycler",
  reused: "Used again",
  landfill: "Landfill",
};

/** What is on record about a heater that was taken out. */
export type RetiredHeater = Pick<Heater, "technology"> & {
  readonly nameplate: Pick<Heater["nameplate"], "volumeGal">;
  readonly heaterId: string;
  readonly retiredOn: CalendarDay;
  /** Null where nobody noted where it went: never counted as recycled. */
  readonly route: DisposalRoute | null;
  /** Weight on the recycler's ticket, kilograms; null when it was not weighed. */
  readonly weighedKg: number | null;
  /** Refrigerant charge, kilograms; null without a circuit. */
  readonly chargeKg: number | null;
  /** Refrigerant recovered, kilograms; null where nothing is on record. */
  readonly recoveredKg: number | null;
};

/**
 * Weight of an empty heater in pounds as a base and so much a gallon (our assumptions, of the size of
 * products on sale: a 40 gallon gas tank some 120 lb, a 50 gallon heat pump some 190 lb).
 */
const EMPTY_POUNDS: Readonly<
  Record<
    Technology,
    { readonly base: number; readonly perGallon: number; readonly gallons: number }
  >
> = {
  "gas-storage": { base: 20, perGallon: 2.5, gallons: 40 },
  "gas-instantaneous": { base: 45, perGallon: 0, gallons: 0 },
  "electric-storage": { base: 10, perGallon: 2, gallons: 50 },
  "electric-instantaneous": { base: 20, perGallon: 0, gallons: 0 },
  "heat-pump-storage": { base: 60, perGallon: 2.6, gallons: 50 },
  "heat-pump-plug-in": { base: 60, perGallon: 2.6, gallons: 50 },
  "heat-pump-split": { base: 120, perGallon: 2, gallons: 80 },
  "heat-pump-central": { base: 500, perGallon: 2, gallons: 500 },
};

/** Share of a heater's weight that is metal; the rest is insulation, lining and plastic (our assumption). */
export const METAL_SHARE = 0.85;

/** Weight of an empty heater, kilograms: as weighed, else assumed from technology and volume. */
export function emptyWeightKg(heater: {
  readonly technology: Technology;
  readonly nameplate: Pick<Heater["nameplate"], "volumeGal">;
  readonly weighedKg: number | null;
}): number {
  if (heater.weighedKg !== null) return heater.weighedKg;
  const { base, perGallon, gallons } = EMPTY_POUNDS[heater.technology];
  return poundsToKilograms(base + perGallon * (heater.nameplate.volumeGal ?? gallons));
}

/** The heaters taken out in one year and what became of them. */
export type LedgerYear = {
  readonly year: number;
  readonly retired: number;
  readonly byRoute: Readonly<Record<DisposalRoute, number>>;
  /** Heaters whose way is not on record. */
  readonly unknown: number;
  /** Of those recycled or used again, how many were weighed. */
  readonly weighed: number;
  readonly metalRecycledKg: number;
  /** Recycled metal and heaters used again. */
  readonly landfillAvoidedKg: number;
  readonly landfilledKg: number;
  /** Heat pumps among the retired, their charges, and what was recovered of them by weight. */
  readonly circuits: number;
  readonly chargeKg: number;
  readonly recoveredKg: number;
  /** Circuits without a recovery on record. */
  readonly notRecovered: number;
};

/** The retirement ledger, latest year first. What is not on record counts as unknown. */
export function retirementLedger(heaters: readonly RetiredHeater[]): readonly LedgerYear[] {
  const byYear = new Map<number, RetiredHeater[]>();
  for (const heater of heaters) {
    const year = yearOf(heater.retiredOn);
    const same = byYear.get(year);
    if (same) same.push(heater);
    else byYear.set(year, [heater]);
  }
  return [...byYear].sort(([a], [b]) => b - a).map(([year, same]) => ledgerYear(year, same));
}

function ledgerYear(year: number, heaters: readonly RetiredHeater[]): LedgerYear {
  const byRoute: Record<DisposalRoute, number> = { recycled: 0, reused: 0, landfill: 0 };
  const sums = {
    unknown: 0,
    weighed: 0,
    metalRecycledKg: 0,
    landfillAvoidedKg: 0,
    landfilledKg: 0,
    circuits: 0,
    chargeKg: 0,
    recoveredKg: 0,
    notRecovered: 0,
  };
  for (const heater of heaters) {
    const weightKg = emptyWeightKg(heater);
    if (heater.route === null) sums.unknown += 1;
    else byRoute[heater.route] += 1;
    if (heater.route === "recycled") {
      sums.metalRecycledKg += weightKg * METAL_SHARE;
      sums.landfillAvoidedKg += weightKg * METAL_SHARE;
      sums.landfilledKg += weightKg * (1 - METAL_SHARE);
    } else if (heater.route === "reused") sums.landfillAvoidedKg += weightKg;
    else if (heater.route === "landfill") sums.landfilledKg += weightKg;
    if (heater.weighedKg !== null && heater.route !== null) sums.weighed += 1;
    if (heater.chargeKg !== null) {
      sums.circuits += 1;
      sums.chargeKg += heater.chargeKg;
      sums.recoveredKg += heater.recoveredKg ?? 0;
      if (heater.recoveredKg === null) sums.notRecovered += 1;
    }
  }
  return { year, retired: heaters.length, byRoute, ...sums };
}
