/** Twelve values, January first. */
export type Monthly = readonly number[];

/** Days of each month of a common year; the model's year has 365 days. */
export const DAYS_OF_MONTH: Monthly = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/** Day of the year (1 to 365) in the middle of each month. */
export const MID_MONTH_DAY: Monthly = DAYS_OF_MONTH.map(
  (days, month) => DAYS_OF_MONTH.slice(0, month).reduce((a, b) => a + b, 0) + (days + 1) / 2,
);

/** `of(month index)` for January (0) to December (11). */
export function byMonth(of: (month: number) => number): Monthly {
  return DAYS_OF_MONTH.map((_, month) => of(month));
}

export function sumOf(values: readonly number[]): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum;
}
