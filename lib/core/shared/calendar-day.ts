/**
 * A day of the proleptic Gregorian calendar as `YYYY-MM-DD` (ISO 8601). Never an instant: it has no
 * time zone, so the same text means the same day on every machine. Days sort as text.
 */
export type CalendarDay = string & { readonly __calendarDay: true };

const DAY_PATTERN = /^(\d{4})-(\d{2})-(\d{2})$/;
const MILLISECONDS_PER_DAY = 86_400_000;

/** Mean length of a Gregorian year in days: 365 + 97/400. */
export const DAYS_PER_YEAR = 365.2425;

/** True for `YYYY-MM-DD` text that names a day that exists (`2025-02-29` does not). */
export function isCalendarDay(text: string): text is CalendarDay {
  const match = DAY_PATTERN.exec(text);
  if (!match) return false;
  const month = Number(match[2]);
  const day = Number(match[3]);
  return month >= 1 && month <= 12 && day >= 1 && day <= daysInMonth(Number(match[1]), month);
}

/**
 * Text that is known to be a day, as a day.
 * @throws {RangeError} when the text is not a day that exists.
 */
export function calendarDay(text: string): CalendarDay {
  if (!isCalendarDay(text)) throw new RangeError(`not a calendar day: "${text}"`);
  return text;
}

/** Number of days in a month (1 to 12) of a year. */
export function daysInMonth(year: number, month: number): number {
  if (month === 2) return isLeapYear(year) ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31;
}

export function isLeapYear(year: number): boolean {
  return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
}

/** Days since 1970-01-01, negative before it. */
export function dayNumber(day: CalendarDay): number {
  return Math.round(
    Date.UTC(yearOf(day), monthOf(day) - 1, Number(day.slice(8, 10))) / MILLISECONDS_PER_DAY,
  );
}

/** The day that is `number` days after 1970-01-01. */
export function dayOfNumber(number: number): CalendarDay {
  return new Date(number * MILLISECONDS_PER_DAY).toISOString().slice(0, 10) as CalendarDay;
}

export function yearOf(day: CalendarDay): number {
  return Number(day.slice(0, 4));
}

/** Month of the day, 1 to 12. */
export function monthOf(day: CalendarDay): number {
  return Number(day.slice(5, 7));
}

export function addDays(day: CalendarDay, days: number): CalendarDay {
  return dayOfNumber(dayNumber(day) + days);
}

/** Adds whole months; a day past the month's end becomes its last day (Jan 31 + 1 month = Feb 28 or 29). */
export function addMonths(day: CalendarDay, months: number): CalendarDay {
  const index = yearOf(day) * 12 + (monthOf(day) - 1) + months;
  const year = Math.floor(index / 12);
  const month = index - year * 12 + 1;
  return dayFromParts(year, month, Math.min(Number(day.slice(8, 10)), daysInMonth(year, month)));
}

export function addYears(day: CalendarDay, years: number): CalendarDay {
  return addMonths(day, years * 12);
}

/**
 * A day from its parts.
 * @throws {RangeError} when no such day exists.
 */
export function dayFromParts(year: number, month: number, day: number): CalendarDay {
  const pad = (value: number, width: number) => String(value).padStart(width, "0");
  return calendarDay(`${pad(year, 4)}-${pad(month, 2)}-${pad(day, 2)}`);
}

/** Days from `from` to `to`; negative when `to` is earlier. */
export function daysBetween(from: CalendarDay, to: CalendarDay): number {
  return dayNumber(to) - dayNumber(from);
}

/** Years from `from` to `to`, in mean Gregorian years; negative when `to` is earlier. */
export function yearsBetween(from: CalendarDay, to: CalendarDay): number {
  return daysBetween(from, to) / DAYS_PER_YEAR;
}

export function minDay(a: CalendarDay, b: CalendarDay): CalendarDay {
  return a <= b ? a : b;
}

export function maxDay(a: CalendarDay, b: CalendarDay): CalendarDay {
  return a >= b ? a : b;
}
