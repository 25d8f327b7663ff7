import { z } from "zod";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { isFindingOf } from "./findings";

/**
 * A task done on one heater, as a form sends it; the same schema in the browser and on the server.
 * @param today the last day on which work can have been done.
 */
export function visitFormSchema(today: CalendarDay) {
  return z
    .strictObject({
      heaterId: z.uuid("the heater is not named"),
      task: z.enum(TASK_KINDS, "choose what was done"),
      doneOn: z
        .string()
        .refine(isCalendarDay, "give the day as year-month-day")
        .refine((day) => day <= today, `the day is after today, ${today}`),
      finding: z
        .string()
        .transform((text) => (text === "" ? null : text))
        .nullable(),
      minutes: z
        .string()
        .transform((text) => (text.trim() === "" ? null : Number(text)))
        .refine(
          (minutes) =>
            minutes === null || (Number.isInteger(minutes) && minutes >= 1 && minutes <= 600),
          "give whole minutes, 1 to 600",
        ),
      note: z
        .string()
        .max(2000, "at most 2,000 characters")
        .transform((text) => text.trim() || null),
      /** Sent again after a lost answer, the entry is kept once. */
      idempotencyKey: z.uuid("the entry has no key: load the page again"),
    })
    .refine(({ task, finding }) => finding === null || isFindingOf(task, finding), {
      path: ["finding"],
      message: "this finding does not belong to the task",
    });
}

export type VisitEntry = z.output<ReturnType<typeof visitFormSchema>>;
