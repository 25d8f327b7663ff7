import { z } from "zod";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { parseCents } from "@/lib/core/shared/money";
import { isFindingOf } from "./findings";

const optionalText = (most: number) =>
  z
    .string()
    .max(most, `at most ${most.toLocaleString("en-US")} characters`)
    .transform((text) => text.trim() || null);

/** Dollars and cents as typed; empty is not known. */
const dollars = z.string().transform((text, context) => {
  if (text.trim() === "") return null;
  const parsed = parseCents(text);
  if (parsed.ok && parsed.value >= 0 && parsed.value <= 100_000_000) return parsed.value;
  context.addIssue({ code: "custom", message: "give dollars and cents, such as 42.50" });
  return z.NEVER;
});

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
      /** Name of the part used, and what it cost. */
      partName: optionalText(120),
      partDollars: dollars,
      /** Paid to others, such as a contractor. */
      paidDollars: dollars,
      note: optionalText(2000),
      /** Sent again after a lost answer, the entry is kept once. */
      idempotencyKey: z.uuid("the entry has no key: load the page again"),
    })
    .refine(({ task, finding }) => finding === null || isFindingOf(task, finding), {
      path: ["finding"],
      message: "this finding does not belong to the task",
    })
    .refine(({ partName, partDollars }) => partDollars === null || partName !== null, {
      path: ["partName"],
      message: "name the part that was paid for",
    });
}

export type VisitEntry = z.output<ReturnType<typeof visitFormSchema>>;
