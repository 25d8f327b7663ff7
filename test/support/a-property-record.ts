import { PUBLISHED_BOOK } from "@/lib/core/emissions/factors";
import {
  type AccountFrame,
  accountProperty,
  type PropertyAccount,
  type PropertyRecord,
} from "@/lib/core/emissions/property-account";
import { ASSUMED_REFRIGERANT_TERMS } from "@/lib/core/emissions/refrigerant-account";
import type { HeaterLife } from "@/lib/core/emissions/service-history";
import { UNKNOWN_PROPERTY_ENERGY } from "@/lib/core/energy/property-energy";
import type { Heater } from "@/lib/core/heaters/heater";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { aHeater } from "@/test/support/a-heater";

/** Years 2022 to 2025 with published factors. */
export const A_FRAME: AccountFrame = {
  baseYear: 2022,
  reportingYear: 2025,
  lastYear: 2025,
  book: PUBLISHED_BOOK,
  gwpSet: "AR5",
  refrigerantTerms: ASSUMED_REFRIGERANT_TERMS,
};

/** A heater that has served since `installed` and, where said, until `retired`. */
export function aLife(
  heater: Partial<Heater> & { readonly id: string },
  {
    installed = "2015-06-01",
    retired = null,
    after = null,
  }: {
    readonly installed?: string;
    readonly retired?: string | null;
    readonly after?: string | null;
  } = {},
): HeaterLife {
  const day = calendarDay(installed);
  const end = retired === null ? null : calendarDay(retired);
  return {
    heater: aHeater({
      tag: heater.id,
      unitId: `home of ${after ?? heater.id}`,
      home: { ...aHeater().home, occupants: 3 },
      install: { earliest: day, latest: day, evidence: "invoice" },
      ...heater,
    }),
    predecessorId: after,
    retired: end && { earliest: end, latest: end },
    builtYear: null,
  };
}

/** A heat pump of 50 gallons with a rated factor of 3.5. */
export const HEAT_PUMP: Pick<Heater, "technology" | "fuel" | "nameplate"> = {
  technology: "heat-pump-storage",
  fuel: "electricity",
  nameplate: {
    ...aHeater().nameplate,
    volumeGal: 50,
    inputBtuPerHour: null,
    uniformEnergyFactor: 3.5,
    firstHourGal: 65,
  },
};

export function aPropertyRecord(changes: Partial<PropertyRecord> = {}): PropertyRecord {
  return {
    propertyId: "property-1",
    site: {
      propertyId: "property-1",
      annualMeanAirF: 55,
      airAmplitudeF: 18,
      coldestMonth: 1,
      demandLevel: "medium",
      gasCentsPerTherm: 150,
      electricityCentsPerKwh: 18,
      gasStandingCentsPerMonth: 0,
      gridRegion: "RFCW",
    },
    energy: UNKNOWN_PROPERTY_ENERGY,
    lives: [aLife({ id: "gas" })],
    readings: [],
    refrigerantLog: [],
    ...changes,
  };
}

/** The account of a property that differs from the plain one in `changes`. */
export function accountOf(
  changes: Partial<PropertyRecord> = {},
  frame: Partial<AccountFrame> = {},
): PropertyAccount {
  return accountProperty(aPropertyRecord(changes), { ...A_FRAME, ...frame });
}
