import { z } from "zod";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import {
  addDays,
  type CalendarDay,
  calendarDay,
  isCalendarDay,
} from "@/lib/core/shared/calendar-day";
import { isoWeekday } from "@/lib/core/upkeep/arrange-week";

export const WEEKDAY_LABELS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"] as const;

const list = z
  .union([z.string(), z.array(z.string())])
  .optional()
  .transform((value) => (value === undefined ? [] : typeof value === "string" ? [value] : value));

const whole = (least: number, most: number) => z.coerce.number().int().min(least).max(most);

/** The Monday of the week of a day, ISO 8601. */
export function mondayOf(day: CalendarDay): CalendarDay {
  return addDays(day, 1 - isoWeekday(day));
}

/** What rounds are made of, as the address holds it; what cannot be read takes its usual value. */
export const roundRequestSchema = z.object({
  property: z.uuid().nullable().catch(null),
  building: z.uuid().nullable().catch(null),
  week: z.string().refine(isCalendarDay).transform(calendarDay).nullable().catch(null),
  days: list
    .transform((days) =>
      days.map(Number).filter((day) => Number.isInteger(day) && day >= 1 && day <= 7),
    )
    .catch([]),
  tasks: list.transform((names) => TASK_KINDS.filter((task) => names.includes(task))).catch([]),
  /** How soon work must fall due to be taken along. */
  reach: z.enum(["overdue", "due", "soon"]).catch("soon"),
  person: z.string().min(1).max(200).nullable().catch(null),
  dayMinutes: whole(30, 900).nullable().catch(null),
  noticeDays: whole(0, 60).nullable().catch(null),
});
export type RoundRequest = z.output<typeof roundRequestSchema>;

const clock = z
  .string()
  .default("")
  .transform((text, context) => {
    if (text.trim() === "") return null;
    const match = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(text.trim());
    if (match) return Number(match[1]) * 60 + Number(match[2]);
    context.addIssue({ code: "custom", message: "Enter a time such as 08:30." });
    return z.NEVER;
  });

const WEEKDAYS = [1, 2, 3, 4, 5, 6, 7] as const;

/** Field of a day of the week, 1 Monday to 7 Sunday, in the form of a home's access. */
export const dayField = (day: number) => `day-${day}`;

/** When a home may be entered; no day chosen is any day. */
export const accessFormSchema = z
  .object({
    unitId: z.uuid("The home is not named."),
    from: clock,
    to: clock,
    note: z
      .string()
      .default("")
      .transform((text) => text.trim() || null)
      .pipe(z.string().max(500, "At most 500 characters.").nullable()),
  })
  .and(z.object(Object.fromEntries(WEEKDAYS.map((day) => [dayField(day), z.string().optional()]))))
  .transform((form, context) => {
    const { unitId, from, to, note } = form;
    if (from !== null && to !== null && from >= to) {
      context.addIssue({ code: "custom", path: ["to"], message: "Must be later than the start." });
    }
    const chosen = form as Readonly<Record<string, unknown>>;
    return {
      unitId,
      access: {
        fromMinute: from,
        toMinute: to,
        note,
        weekdays: WEEKDAYS.filter((day) => chosen[dayField(day)] !== undefined),
      },
    };
  });
