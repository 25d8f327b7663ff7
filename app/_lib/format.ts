import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { formatCents } from "@/lib/core/shared/money";

const LOCALE = "en-US";

export function formatNumber(value: number, decimals = 0): string {
  return new Intl.NumberFormat(LOCALE, {
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
  }).format(value);
}

/** `0.0312` becomes `3.1 %`; below 0.1 % says so rather than nothing. */
export function formatShare(share: number, decimals = 1): string {
  if (share > 0 && share < 0.001) return "< 0.1 %";
  return `${formatNumber(share * 100, decimals)} %`;
}

/** `$12,345`; whole dollars, as a budget is read. */
export function formatMoney(cents: number): string {
  return formatCents(cents, { whole: true });
}

/** `2027-03-09` becomes `Mar 9, 2027`. */
export function formatDay(day: CalendarDay | string): string {
  return new Intl.DateTimeFormat(LOCALE, { dateStyle: "medium", timeZone: "UTC" }).format(
    new Date(`${day}T00:00:00Z`),
  );
}

/** Kilograms as tonnes from one tonne up. */
export function formatKilograms(kilograms: number): string {
  if (Math.abs(kilograms) >= 1000) return `${formatNumber(kilograms / 1000, 1)} t`;
  return `${formatNumber(kilograms)} kg`;
}

/** A moment as the server's clock has it: `Mar 9, 2027, 4:05 PM`. */
export function formatInstant(at: Date): string {
  return new Intl.DateTimeFormat(LOCALE, { dateStyle: "medium", timeStyle: "short" }).format(at);
}
