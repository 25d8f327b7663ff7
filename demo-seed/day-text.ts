import { type CalendarDay, dayOfNumber } from "@/lib/core/shared/calendar-day";

const cache = new Map<number, CalendarDay>();

/** The day of a day number; remembered, since a large portfolio writes the same days again and again. */
export function dayText(day: number): CalendarDay {
  let text = cache.get(day);
  if (text === undefined) {
    text = dayOfNumber(day);
    cache.set(day, text);
  }
  return text;
}
