import { z } from "zod";
import { type Outcome, success } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  checkMeasuredHeadroom,
  circuitsBeforeUpgrade,
  ELECTRICIAN_DECIDES,
  HEAT_PUMP_CIRCUIT_VA,
  type HeadroomCheck,
} from "./electrical";
import { checkSizing, type SizingCheck } from "./sizing";
import { HOT_WATER_USES } from "./sizing-tables";
import { DEMAND_LEVELS, TECHNOLOGIES } from "./vocabulary";

const known = z.number().positive().max(1_000_000).nullable().default(null);

/** Input of the command `sizing`: a heater, its home and, if wanted, the service it hangs on. */
export const sizingSchema = z.strictObject({
  heater: z.strictObject({
    technology: z.enum(TECHNOLOGIES),
    volumeGal: known,
    firstHourGal: known,
    inputBtuPerHour: known,
    inputWatts: known,
    uniformEnergyFactor: known,
  }),
  home: z.strictObject({
    bedrooms: z.int().min(0).max(100).nullable().default(null),
    bathrooms: z.number().positive().max(100).nullable().default(null),
    occupants: z.int().min(0).max(1_000).nullable().default(null),
    homesServed: z.int().min(1).max(1_000).default(1),
  }),
  /** Uses of the busiest hour where they were counted. */
  uses: z
    .partialRecord(z.enum(HOT_WATER_USES), z.number().min(0).max(1_000))
    .nullable()
    .default(null),
  worksheet: z.enum(["older", "newer"]).default("older"),
  demandLevel: z.enum(DEMAND_LEVELS).default("medium"),
  service: z
    .strictObject({
      amps: z.number().positive().max(100_000),
      volts: z.number().positive().max(1_000),
      phases: z.union([z.literal(1), z.literal(3)], "phases must be 1 or 3").default(1),
      measuredPeakKw: z.number().min(0).max(100_000),
      newVoltAmperes: z.number().positive().max(1_000_000).default(HEAT_PUMP_CIRCUIT_VA.value),
    })
    .nullable()
    .default(null),
});

export type SizingReport = SizingCheck & {
  readonly electrical:
    | (HeadroomCheck & { readonly circuitsBeforeUpgrade: number; readonly note: string })
    | null;
};

/** Whether a heater is large enough and a service can carry a new one; docs/compute.md has the format. */
export function computeSizing(input: unknown): Outcome<SizingReport> {
  const parsed = parseWith(sizingSchema, input);
  if (!parsed.ok) return parsed;
  const { heater, home, uses, worksheet, demandLevel, service } = parsed.value;
  const { technology, ...nameplate } = heater;
  const check = checkSizing(
    { technology, nameplate, home },
    { uses, edition: worksheet, demandLevel },
  );
  return success({
    ...check,
    electrical:
      service === null
        ? null
        : {
            ...checkMeasuredHeadroom(service, service.measuredPeakKw, service.newVoltAmperes),
            circuitsBeforeUpgrade: circuitsBeforeUpgrade(
              service,
              service.measuredPeakKw,
              service.newVoltAmperes,
            ),
            note: ELECTRICIAN_DECIDES,
          },
  });
}
