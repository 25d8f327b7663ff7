import { z } from "zod";
import {
  type CalendarDay,
  dayFromParts,
  daysInMonth,
  isCalendarDay,
  minDay,
} from "@/lib/core/shared/calendar-day";

/** Parts of the forms of a heater: text in, typed values out, the same in the browser and on the server. */

export type DayBracket = { readonly earliest: CalendarDay; readonly latest: CalendarDay };

/**
 * Reads a day, a month or a year as people write them: "2015-06-03", "6/3/2015", "2015-06", "2015".
 * @returns the days it can mean; null when it is none of these.
 */
export function readDayText(text: string): DayBracket | null {
  const trimmed = text.trim();
  const american = /^(\d{1,2})\/(\d{1,2})\/(\d{4})$/.exec(trimmed);
  const iso = american
    ? `${american[3]}-${String(american[1]).padStart(2, "0")}-${String(american[2]).padStart(2, "0")}`
    : trimmed;
  if (isCalendarDay(iso)) return { earliest: iso, latest: iso };
  const match = /^(\d{4})(?:-(\d{2}))?$/.exec(iso);
  if (!match) return null;
  const year = Number(match[1]);
  if (match[2] === undefined) {
    return { earliest: dayFromParts(year, 1, 1), latest: dayFromParts(year, 12, 31) };
  }
  const month = Number(match[2]);
  if (month < 1 || month > 12) return null;
  return {
    earliest: dayFromParts(year, month, 1),
    latest: dayFromParts(year, month, daysInMonth(year, month)),
  };
}

const HOW_TO_WRITE = "write it as year-month-day, or only the month or the year";

/**
 * The days between which something happened, from two fields: the second is left empty where the first
 * says all. A month or year that runs past `today` ends today.
 *
 * @returns the bracket, or null after the problems were added to the fields that have them.
 */
export function readBracket(
  { from, to }: { readonly from: string; readonly to: string },
  names: { readonly from: string; readonly to: string; readonly noun: string },
  { today, first }: { readonly today: CalendarDay; readonly first: CalendarDay },
  context: z.RefinementCtx,
): DayBracket | null {
  const complain = (path: string, message: string): null => {
    context.addIssue({ code: "custom", path: [path], message });
    return null;
  };
  if (from.trim() === "") {
    return complain(
      names.from,
      `Give the ${names.noun}; where it is not known, the earliest and the latest it can have been.`,
    );
  }
  const start = readDayText(from);
  const end = to.trim() === "" ? start : readDayText(to);
  if (!start) return complain(names.from, `"${from.trim()}" is not a day: ${HOW_TO_WRITE}.`);
  if (!end) return complain(names.to, `"${to.trim()}" is not a day: ${HOW_TO_WRITE}.`);
  if (start.earliest > today) {
    return complain(names.from, `${start.earliest} is in the future; today is ${today}.`);
  }
  if (start.earliest < first) {
    return complain(names.from, `${start.earliest} is before ${first}: is the year right?`);
  }
  if (end.earliest > today) {
    return complain(names.to, `${end.earliest} is in the future; today is ${today}.`);
  }
  if (end.latest < start.earliest) {
    return complain(
      names.to,
      `The latest day ${end.latest} is before the earliest, ${start.earliest}.`,
    );
  }
  return { earliest: start.earliest, latest: minDay(end.latest, today) };
}

/** A text of at most `most` characters; empty is not known. */
export function optionalText(most: number) {
  return z
    .string()
    .default("")
    .transform((text) => text.trim())
    .pipe(z.string().max(most, `At most ${most} characters.`))
    .transform((text) => (text === "" ? null : text));
}

/** A text that has to be there. */
export function requiredText(most: number, missing: string) {
  return z
    .string()
    .default("")
    .transform((text) => text.trim())
    .pipe(z.string().min(1, missing).max(most, `At most ${most} characters.`));
}

export type NumberRange = {
  readonly low: number;
  readonly high: number;
  readonly isWhole?: boolean;
  readonly unit?: string;
};

/** A number within its range; empty is not known. Thousands may be set off by commas. */
export function optionalNumber({ low, high, isWhole = false, unit }: NumberRange) {
  return z
    .string()
    .default("")
    .transform((text, context) => {
      const digits = text.replace(/[,\s]/g, "");
      if (digits === "") return null;
      const value = Number(digits);
      const refuse = (message: string) => {
        context.addIssue({ code: "custom", message });
        return z.NEVER;
      };
      if (!Number.isFinite(value)) return refuse(`"${text.trim()}" is not a number.`);
      if (isWhole && !Number.isInteger(value)) return refuse("A whole number is needed.");
      if (value < low || value > high) {
        const write = (bound: number) => bound.toLocaleString("en-US");
        return refuse(`From ${write(low)} to ${write(high)}${unit ? ` ${unit}` : ""}.`);
      }
      return value;
    });
}

/** What a form sends: its fields by name. What it does not know is passed over. */
export const formText = z.record(z.string(), z.string().optional());

/**
 * Reads each field by its own schema and adds every problem, so that checks of fields together can go
 * on with those that could be read.
 */
export function readFields<S extends Readonly<Record<string, z.ZodType>>>(
  schemas: S,
  text: Readonly<Record<string, string | undefined>>,
  context: z.RefinementCtx,
): { readonly [F in keyof S]?: z.output<S[F]> } {
  const values: { [F in keyof S]?: unknown } = {};
  for (const field of Object.keys(schemas) as (keyof S & string)[]) {
    const result = (schemas[field] as z.ZodType).safeParse(text[field]);
    if (result.success) values[field] = result.data;
    else {
      for (const { message } of result.error.issues) {
        context.addIssue({ code: "custom", path: [field], message });
      }
    }
  }
  return values as { [F in keyof S]?: z.output<S[F]> };
}

/** One of a closed set; what is not in it is refused with `message`. */
export function oneOf<const T extends readonly string[]>(choices: T, message: string) {
  return z.enum(choices, { error: message });
}

/** True where every named field could be read. */
export function areRead<T extends object, K extends keyof T>(
  values: T,
  ...fields: readonly K[]
): values is T & { readonly [F in K]-?: Exclude<T[F], undefined> } {
  return fields.every((field) => values[field] !== undefined);
}
