import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { isoWeekday } from "@/lib/core/upkeep/arrange-week";
import { clockTime } from "@/lib/core/upkeep/entry-notice";
import { WEEKDAY_LABELS } from "@/lib/services/round-form";

export const ROUND_STATUS_LABELS = {
  planned: "Planned",
  done: "Done",
  cancelled: "Cancelled",
} as const;

export const STOP_STATUS_LABELS = {
  open: "Open",
  done: "Done",
  "no-access": "No access",
} as const;

type Access = {
  readonly fromMinute: number | null;
  readonly toMinute: number | null;
  readonly weekdays: readonly number[];
  readonly note: string | null;
};

/** `Tue, Thu, 9:00 am to 1:00 pm; call first`, or null where a home may be entered at any time. */
export function accessInWords(access: Access | null): string | null {
  if (access === null) return null;
  const { fromMinute, toMinute, weekdays, note } = access;
  const days = weekdays.map((day) => WEEKDAY_LABELS[day - 1]).join(", ");
  const times =
    fromMinute !== null && toMinute !== null
      ? `${clockTime(fromMinute)} to ${clockTime(toMinute)}`
      : fromMinute !== null
        ? `from ${clockTime(fromMinute)}`
        : toMinute !== null
          ? `until ${clockTime(toMinute)}`
          : "";
  const when = [days, times].filter(Boolean).join(", ");
  return [when, note].filter(Boolean).join("; ") || null;
}

/** True when a home is not open on the day of its round. */
export function isShutOn(access: Access | null, day: CalendarDay): boolean {
  return (
    access !== null && access.weekdays.length > 0 && !access.weekdays.includes(isoWeekday(day))
  );
}

/** `1 h 25 min`. */
export function duration(minutes: number): string {
  const whole = Math.round(minutes);
  const hours = Math.floor(whole / 60);
  return hours === 0 ? `${whole} min` : `${hours} h ${whole % 60} min`;
}

/** A count of minutes with as many decimals as it needs. */
export function exactMinutes(minutes: number): string {
  return minutes.toLocaleString("en-US", { maximumFractionDigits: 1 });
}

/** How far from the best order a round can be at the most, in words. */
export function boundInWords(minutes: number, bound: number): string {
  const apart = minutes - bound;
  if (apart < 0.05) return "no order of these stops takes less";
  return `no order of these stops takes less than ${exactMinutes(Math.ceil(bound * 10) / 10)} min`;
}
