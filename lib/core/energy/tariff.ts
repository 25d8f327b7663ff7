import { z } from "zod";
import type { Monthly } from "./months";

/** Price of a metered energy in cents per unit (therm or kilowatt hour). */
export type Tariff =
  | { readonly kind: "flat"; readonly centsPerUnit: number }
  | TieredTariff
  | TimeOfUseTariff;

/** Price rises (or falls) with the month's use of the whole meter. */
export type TieredTariff = {
  readonly kind: "tiered";
  /** In order; the last has `upTo: null`. `upTo` is the month's use in units where the tier ends. */
  readonly tiers: readonly { readonly upTo: number | null; readonly centsPerUnit: number }[];
  /** Units a month that the home uses for other things: water heating is priced on top of them. */
  readonly otherUnitsPerMonth: number;
};

/** Price by the hour of the day, with seasons. */
export type TimeOfUseTariff = {
  readonly kind: "time-of-use";
  readonly seasons: readonly {
    /** Months 1 to 12 of the season; each month belongs to exactly one season. */
    readonly months: readonly number[];
    /** Cents per unit for each hour of the day, 24 values from midnight. */
    readonly centsByHour: readonly number[];
  }[];
};

const cents = z.number().min(0);

/** A tariff as a door, a form or the record gives it: tiers rise, seasons cover each month once. */
export const tariffSchema = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("flat"), centsPerUnit: cents }),
  z.strictObject({
    kind: z.literal("tiered"),
    otherUnitsPerMonth: z.number().min(0),
    tiers: z
      .array(z.strictObject({ upTo: z.number().positive().nullable(), centsPerUnit: cents }))
      .min(1)
      .refine(
        (tiers) =>
          tiers.every((tier, index) => {
            const from = index === 0 ? 0 : tiers[index - 1]?.upTo;
            const isLast = index === tiers.length - 1;
            return isLast
              ? tier.upTo === null
              : tier.upTo !== null && from !== null && tier.upTo > (from ?? 0);
          }),
        "tiers must rise, and only the last has upTo null",
      ),
  }),
  z.strictObject({
    kind: z.literal("time-of-use"),
    seasons: z
      .array(
        z.strictObject({
          months: z.array(z.int().min(1).max(12)).min(1),
          centsByHour: z.array(cents).length(24, "give 24 prices, from midnight"),
        }),
      )
      .refine((seasons) => {
        const months = seasons.flatMap((season) => season.months);
        return months.length === 12 && new Set(months).size === 12;
      }, "each month belongs to exactly one season"),
  }),
]);

/**
 * Share of a day's hot-water energy by hour from midnight, sum 1. ASHRAE Standard 90.2 residential
 * hot-water profile (from memory). A heater with a timer or a controller uses a shape of its own.
 */
export const HOURLY_HOT_WATER_SHARE: readonly number[] = [
  0.0085, 0.0085, 0.0085, 0.0085, 0.0085, 0.01, 0.075, 0.075, 0.065, 0.065, 0.065, 0.046, 0.046,
  0.037, 0.037, 0.037, 0.037, 0.063, 0.063, 0.063, 0.063, 0.051, 0.051, 0.0085,
];

/**
 * Cost in cents (not rounded) of a month's units: what the meter's bill grows by because of them.
 *
 * @param month 1 to 12
 * @throws {RangeError} when a tier list has no open end or a month belongs to no season.
 */
export function costOfMonth(
  tariff: Tariff,
  units: number,
  month: number,
  hourlyShare: readonly number[] = HOURLY_HOT_WATER_SHARE,
): number {
  switch (tariff.kind) {
    case "flat":
      return units * tariff.centsPerUnit;
    case "tiered":
      return (
        tieredBill(tariff, tariff.otherUnitsPerMonth + units) -
        tieredBill(tariff, tariff.otherUnitsPerMonth)
      );
    case "time-of-use": {
      const season = tariff.seasons.find((candidate) => candidate.months.includes(month));
      if (!season) throw new RangeError(`month ${month} belongs to no season of the tariff`);
      return season.centsByHour.reduce(
        (cents, centsPerUnit, hour) => cents + units * (hourlyShare[hour] ?? 0) * centsPerUnit,
        0,
      );
    }
  }
}

/** Cost in cents (not rounded) of each month. */
export function costByMonth(tariff: Tariff, units: Monthly): Monthly {
  return units.map((value, month) => costOfMonth(tariff, value, month + 1));
}

function tieredBill(tariff: TieredTariff, units: number): number {
  let cents = 0;
  let from = 0;
  for (const tier of tariff.tiers) {
    const to = tier.upTo ?? Number.POSITIVE_INFINITY;
    if (units <= from) return cents;
    cents += (Math.min(units, to) - from) * tier.centsPerUnit;
    from = to;
  }
  if (units > from)
    throw new RangeError(`tiers end at ${from} units; the last must have upTo null`);
  return cents;
}
