import "server-only";
import { type CalendarDay, dayFromParts } from "@/lib/core/shared/calendar-day";

/** Today's day where the server stands: the one place where a page reads the clock. */
export function today(): CalendarDay {
  const now = new Date();
  return dayFromParts(now.getFullYear(), now.getMonth() + 1, now.getDate());
}
