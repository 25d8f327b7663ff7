import { type CalendarDay, dayOfNumber } from "@/lib/core/shared/calendar-day";

/** Day numbers (since 1970-01-01) of serial 0: 1899-12-30 and 1904-01-01. */
const EPOCH_1900 = -25_569;
const EPOCH_1904 = -24_107;
/** Serial of 9999-12-31 in the 1900 system, the last day a workbook can hold. */
const LAST_SERIAL_1900 = 2_958_465;

/**
 * The day that a workbook stores as a serial number (ISO/IEC 29500-1, 18.17.4.1). In the 1900 system
 * serial 1 is 1900-01-01 and serial 60 stands for 29 February 1900, which never was; serials
 * from 61 on therefore count from 1899-12-30. In the 1904 system serial 0 is 1904-01-01. The time
 * of day (the fraction) is dropped.
 *
 * @returns null for a serial that names no day
 */
export function dayOfExcelSerial(serial: number, uses1904: boolean): CalendarDay | null {
  const whole = Math.floor(serial);
  if (uses1904) {
    return whole >= 0 && whole <= LAST_SERIAL_1900 - 1462 ? dayOfNumber(EPOCH_1904 + whole) : null;
  }
  if (!(whole >= 1) || whole > LAST_SERIAL_1900 || whole === 60) return null;
  return dayOfNumber(EPOCH_1900 + whole + (whole < 60 ? 1 : 0));
}
