import type { Heater } from "@/lib/core/heaters/heater";

/** Who holds a meter: buys what it reads, pays its bill and may contract for it. */
export const METER_HOLDERS = ["owner", "resident"] as const;
export type MeterHolder = (typeof METER_HOLDERS)[number];

export const METER_HOLDER_LABELS: Readonly<Record<MeterHolder, string>> = {
  owner: "Owner",
  resident: "Resident",
};

/** Who holds the meters of a property's homes; null where it is not on record. */
export type PropertyMeters = {
  /** Gas, or whatever fuel is burnt. */
  readonly fuel: MeterHolder | null;
  readonly electricity: MeterHolder | null;
};

/** Who holds the meters that read one heater. */
export type HeaterMeters = { readonly fuel: MeterHolder; readonly electricity: MeterHolder };

/** Stands in where a home's meter is not on record (our assumption: homes buy their own energy). */
export const ASSUMED_HOME_METER: MeterHolder = "resident";

/** Whose meters read something, and whether the record said so. */
export type KnownMeters = HeaterMeters & {
  /** True when the record did not say and {@link ASSUMED_HOME_METER} was taken. */
  readonly isAssumed: boolean;
};

/** Whose meters read the homes of a property. */
export function metersOfHomes({ fuel, electricity }: PropertyMeters): KnownMeters {
  return {
    fuel: fuel ?? ASSUMED_HOME_METER,
    electricity: electricity ?? ASSUMED_HOME_METER,
    isAssumed: fuel === null || electricity === null,
  };
}

/**
 * Whose meters read a heater. One that serves several homes, or none in particular, is read by the
 * owner's; one in a home by the home's.
 */
export function metersOfHeater(
  { unitId }: Pick<Heater, "unitId">,
  property: PropertyMeters,
): KnownMeters {
  if (unitId === null) return { fuel: "owner", electricity: "owner", isAssumed: false };
  return metersOfHomes(property);
}
