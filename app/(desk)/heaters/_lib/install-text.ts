import { formatDay } from "@/app/_lib/format";
import type { InstallKind } from "@/lib/core/heaters/register-query";
import { type CalendarDay, yearsBetween } from "@/lib/core/shared/calendar-day";

const MONTH = new Intl.DateTimeFormat("en-US", {
  month: "short",
  year: "numeric",
  timeZone: "UTC",
});

/** A bracket wider than this says no more with months than with years. */
const MONTHS_SAY_MORE_YEARS = 3;

/** A day, or a bracket as a bracket: "Mar 9, 2015", "Nov 2000 to Apr 2001", "1994 to 2011". */
export function formatBracket(earliest: CalendarDay, latest: CalendarDay): string {
  if (earliest === latest) return formatDay(earliest);
  const write = (day: CalendarDay) =>
    yearsBetween(earliest, latest) > MONTHS_SAY_MORE_YEARS
      ? day.slice(0, 4)
      : MONTH.format(new Date(`${day}T00:00:00Z`));
  const [from, to] = [write(earliest), write(latest)];
  return from === to ? from : `${from} to ${to}`;
}

/** What stands before an age or a day that is not known for sure. */
export function estimateMark(kind: InstallKind): string {
  return kind === "known" ? "" : "≈ ";
}
