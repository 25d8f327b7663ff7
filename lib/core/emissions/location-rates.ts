import type { Fuel } from "@/lib/core/heaters/vocabulary";
import { annualEmissions } from "./annual-emissions";
import { type FactorBook, isGridRegion, type Refrigerant, refrigerantFactor } from "./factors";
import type { GwpSet } from "./gases";

/** Location-based kilograms of CO2-equivalent of one unit of energy in one year and grid region. */
export type LocationRates = {
  /** The region whose factor is used: the one asked for, or the whole country's where it has none. */
  readonly gridRegion: string;
  /** kg CO2e per therm of a fuel, per kilowatt hour of electricity. */
  readonly kgPerUnit: (fuel: Fuel) => number;
  /** kg CO2e per kilogram of a refrigerant. */
  readonly kgPerKg: (refrigerant: Refrigerant) => number;
};

/** Region that stands in for one without a factor. */
export const FALLBACK_GRID_REGION = "US";

/** The region's own code where the book has a factor for it, else {@link FALLBACK_GRID_REGION}. */
export function knownGridRegion(book: FactorBook, region: string): string {
  return isGridRegion(book, region) ? region : FALLBACK_GRID_REGION;
}

/** Rates of a year, each looked up once and the same that {@link annualEmissions} uses. */
export function locationRates({
  book,
  gwpSet,
  year,
  gridRegion,
}: {
  readonly book: FactorBook;
  readonly gwpSet: GwpSet;
  readonly year: number;
  readonly gridRegion: string;
}): LocationRates {
  const region = knownGridRegion(book, gridRegion);
  const known = new Map<Fuel, number>();
  return {
    gridRegion: region,
    kgPerUnit: (fuel) => {
      let kg = known.get(fuel);
      if (kg === undefined) {
        kg = kgOfOne(fuel);
        known.set(fuel, kg);
      }
      return kg;
    },
    kgPerKg: (refrigerant) => refrigerantFactor(refrigerant, gwpSet).value,
  };

  function kgOfOne(fuel: Fuel): number {
    const { lines } = annualEmissions({
      thermsPerYear: fuel === "electricity" ? 0 : 1,
      kwhPerYear: fuel === "electricity" ? 1 : 0,
      fuel,
      gridRegion: region,
      year,
      gwpSet,
      factors: book,
    });
    return lines.reduce((sum, line) => (line.method === "market" ? sum : sum + line.kgCo2e), 0);
  }
}
