import { DEFAULT_EMISSIONS_TERMS, type EmissionsTerms } from "@/lib/core/emissions/emissions-terms";
import type { PolicyRule } from "@/lib/core/emissions/policies";
import { type CalendarDay, yearOf } from "@/lib/core/shared/calendar-day";
import type { Ids } from "./ids";
import type { EnergyInstrumentRow, PropertyPolicyRow, PropertyRow } from "./rows";

/** Position of the property with the green tariff: its homes are all-electric on the owner's meter. */
const TARIFF_POSITION = 4;
/** Position of the property under a limit. */
const LIMIT_POSITION = 0;

/** The base year: 2022, the first vintage of the published grid factors, or four years back if earlier. */
export function demoBaseYear(today: CalendarDay): number {
  return Math.min(2022, yearOf(today) - 4);
}

/** Rules of the account: a base year, a target and an outlook of the grid, all invented. */
export function makeTerms(today: CalendarDay): EmissionsTerms {
  const baseYear = demoBaseYear(today);
  const thisYear = yearOf(today);
  return {
    ...DEFAULT_EMISSIONS_TERMS,
    baseYear,
    target: [
      { year: baseYear + 8, cutShare: 0.3 },
      { year: baseYear + 18, cutShare: 0.8 },
    ],
    gridOutlook: {
      source: "Invented outlook of the demo",
      points: [
        { region: null, year: thisYear, shareOfTable: 1 },
        { region: null, year: thisYear + 10, shareOfTable: 0.7 },
      ],
    },
  };
}

/** A green tariff that may be used, and certificates that may not: nobody retired them. */
export function makeInstruments(
  ids: Ids,
  properties: readonly PropertyRow[],
  today: CalendarDay,
): EnergyInstrumentRow[] {
  const thisYear = yearOf(today);
  const place = properties[TARIFF_POSITION];
  const common = { kgCo2ePerKwh: 0, market: "US", conveysRate: true, soleClaim: true } as const;
  const tariff: EnergyInstrumentRow = {
    ...common,
    id: ids.energyInstrument.next(),
    kind: "supplier-rate",
    name: "Green tariff (invented)",
    propertyId: place?.id ?? null,
    coversKwh: null,
    coversShare: place ? 1 : 0.5,
    vintage: thisYear - 1,
    retired: true,
    firstYear: thisYear - 2,
    lastYear: thisYear,
    source: "Invented supplier's product sheet",
  };
  const certificates: EnergyInstrumentRow = {
    ...common,
    id: ids.energyInstrument.next(),
    kind: "certificate",
    name: "Wind certificates (invented)",
    propertyId: null,
    coversKwh: 40_000,
    coversShare: null,
    vintage: thisYear - 1,
    retired: false,
    firstYear: thisYear - 1,
    lastYear: thisYear - 1,
    source: "Invented registry statement: still in the seller's account",
  };
  return [tariff, certificates];
}

/** A building performance limit for one property, which tightens below what it emits. */
export function makePolicies(
  ids: Ids,
  properties: readonly PropertyRow[],
  today: CalendarDay,
): PropertyPolicyRow[] {
  const thisYear = yearOf(today);
  const rule: PolicyRule = {
    kind: "limit",
    basis: "home",
    coverage: "all-location",
    steps: [
      { fromYear: thisYear, limitKg: 1_400 },
      { fromYear: thisYear + 4, limitKg: 600 },
    ],
    otherKgPerYear: 0,
    centsPerTonneOver: 25_000,
  };
  return [
    {
      id: ids.propertyPolicy.next(),
      propertyId: (properties[LIMIT_POSITION] as PropertyRow).id,
      name: "Hot water limit (invented)",
      rule,
      source: "Invented rule of the demo",
    },
  ];
}
