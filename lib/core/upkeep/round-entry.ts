import { z } from "zod";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { isFindingOf } from "./findings";
import { URGENT_KINDS } from "./urgent-matters";

/** Photos of a visit: size of one, number for one heater and entry. */
export const MOST_PHOTO_BYTES = 4 * 1024 * 1024;
export const MOST_PHOTOS = 6;

const text = (most: number) =>
  z
    .string()
    .max(most, `at most ${most.toLocaleString("en-US")} characters`)
    .transform((value) => value.trim() || null)
    .nullable();

const part = z.strictObject({
  name: z.string().trim().min(1, "name the part").max(120, "at most 120 characters"),
  quantity: z.number().positive("above zero").max(1_000, "at most 1,000"),
  /** For all of them together; null when not known. */
  costCents: z.int().min(0).max(10_000_000).nullable(),
});

const heaterEntry = z.strictObject({
  heaterId: z.uuid(),
  /** Tasks that were done; what is absent was not. */
  tasks: z
    .array(
      z
        .strictObject({ task: z.enum(TASK_KINDS), finding: z.string().nullable() })
        .refine(({ task, finding }) => finding === null || isFindingOf(task, finding), {
          path: ["finding"],
          message: "this finding does not belong to the task",
        }),
    )
    .max(TASK_KINDS.length),
  minutes: z.int().min(1, "1 to 600 minutes").max(600, "1 to 600 minutes").nullable(),
  tapF: z.number().min(32, "32 to 212 °F").max(212, "32 to 212 °F").nullable(),
  parts: z.array(part).max(30),
  /** Paid to others, cents. */
  costCents: z.int().min(0).max(100_000_000).nullable(),
  urgent: z.array(z.enum(URGENT_KINDS)).max(URGENT_KINDS.length),
  /** Photos that follow under this entry's key. */
  photos: z.int().min(0).max(MOST_PHOTOS),
  note: text(2_000),
});

/**
 * What was recorded at one stop of a round, as a phone keeps and sends it. The key is made once, on the
 * phone; an entry that arrives twice under one key counts once.
 *
 * @param latest the last day on which work can have been done: the day after the server's own, since a
 *   phone may stand in a later time zone.
 */
export function roundEntrySchema(latest: CalendarDay) {
  return z.strictObject({
    key: z.uuid(),
    roundId: z.uuid(),
    stopId: z.uuid(),
    outcome: z.enum(["done", "no-access"]),
    doneOn: z
      .string()
      .refine(isCalendarDay, "not a day as year-month-day")
      .refine((day) => day <= latest, `after ${latest}`),
    heaters: z.array(heaterEntry).max(40),
    note: text(2_000),
    /** Keep it although somebody else has recorded the stop. */
    keepBoth: z.boolean(),
  });
}

export type RoundEntry = z.output<ReturnType<typeof roundEntrySchema>>;
export type HeaterEntry = RoundEntry["heaters"][number];

/** What became of an entry that reached the server. */
export type EntryAnswer =
  /** On record now. */
  | { readonly status: "kept"; readonly visits: number }
  /** Was on record already, by this very entry: nothing was added. */
  | { readonly status: "already" }
  /** The person took it back before it arrived: it stays without effect. */
  | { readonly status: "taken-back" }
  /** Somebody else has recorded the stop, or the round has changed: the person decides. */
  | { readonly status: "conflict"; readonly message: string; readonly mayKeepBoth: boolean }
  /** Cannot be taken as it is. */
  | { readonly status: "refused"; readonly message: string };

/** Takes an entry back, whether or not it has arrived yet. */
export const takeBackSchema = z.strictObject({
  key: z.uuid(),
  roundId: z.uuid(),
  stopId: z.uuid(),
});
