import { z } from "zod";
import type { SourcedValue } from "@/lib/core/shared/sourced";
import { optionalNumber, requiredNumber } from "./settings-fields";

/** What a spare is planned with where nothing was entered. */
export const SPARES_START = {
  leadDays: {
    value: 21,
    unit: "days",
    source: "from order to delivery of a heat pump that is not in stock: one to six weeks",
    evidence: "assumed",
  },
  servicePercent: {
    value: 95,
    unit: "%",
    source: "nineteen lead times in twenty without waiting",
    evidence: "assumed",
  },
} as const satisfies Record<string, SourcedValue>;

const perOption = <S extends z.ZodType>(schema: S) => z.record(z.string().min(1), schema);

/** Lead times, stock and the chance asked, as the form sends them. */
export const sparesFormSchema = z.object({
  servicePercent: requiredNumber({ least: 50, most: 99.9 }),
  /** By option code; empty takes the general one. */
  leadDays: perOption(optionalNumber({ least: 1, most: 365, isWhole: true })).default({}),
  generalLeadDays: requiredNumber({ least: 1, most: 365, isWhole: true }),
  /** In stock or on order, by option code. */
  onHand: perOption(optionalNumber({ least: 0, most: 10_000, isWhole: true })).default({}),
});

/** The same as it is stored. */
export const sparesTermsSchema = z.strictObject({
  servicePercent: z.number().min(50).max(99.9),
  generalLeadDays: z.int().min(1).max(365),
  leadDays: z.record(z.string(), z.int().min(1).max(365)),
  onHand: z.record(z.string(), z.int().min(0).max(10_000)),
});
export type SparesTerms = z.output<typeof sparesTermsSchema> & { readonly isEntered: boolean };

export function readSparesTerms(stored: unknown): SparesTerms {
  const read = sparesTermsSchema.safeParse(stored);
  return read.success
    ? { ...read.data, isEntered: true }
    : {
        servicePercent: SPARES_START.servicePercent.value,
        generalLeadDays: SPARES_START.leadDays.value,
        leadDays: {},
        onHand: {},
        isEntered: false,
      };
}
