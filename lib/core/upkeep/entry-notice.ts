import { z } from "zod";

/** What a notice can say of a visit; written as {home} in the wording. */
export const NOTICE_WORDS = {
  organization: "the organisation",
  property: "the property",
  building: "the building",
  home: "the home's number",
  day: "the day of the visit",
  from: "earliest time",
  to: "latest time",
  tasks: "what will be done",
  minutes: "about how many minutes",
  person: "who comes",
} as const;
export type NoticeWord = keyof typeof NOTICE_WORDS;
export type NoticeValues = Readonly<Record<NoticeWord, string>>;

/** What must stay true of any wording: rules of notice differ by place. */
export const NOTICE_REMINDER =
  "How long before, in what way and in what words residents must be told of an entry is local law and the lease. Check both before you use this wording; nothing here replaces them.";

export const DEFAULT_NOTICE_WORDING = `Notice of entry

To the residents of home {home}, {building}, {property}

On {day}, between {from} and {to}, {person} of {organization} will come to look after the water heater of your home: {tasks}. It takes about {minutes} minutes. Hot water may be off for up to an hour afterwards.

Please keep the place in front of the water heater clear. Nobody needs to be at home. If the day does not suit you, or if a pet or anything else should be known, please tell the office before then.

If you smell gas or see water under the heater, do not wait for this visit: leave if it is gas, and call at once.`;

const PLACEHOLDER = /\{([^{}]*)\}/g;

/** A wording as a form sends it: every word in braces is one that a notice can fill in. */
export const noticeWordingSchema = z
  .string()
  .transform((text) => text.replace(/\r\n?/g, "\n").trim())
  .pipe(
    z
      .string()
      .min(1, "write what the notice says")
      .max(4000, "at most 4,000 characters")
      .superRefine((text, context) => {
        const unknown = [...text.matchAll(PLACEHOLDER)]
          .map(([, word]) => word)
          .filter((word) => !(word in NOTICE_WORDS));
        for (const word of new Set(unknown)) {
          context.addIssue({
            code: "custom",
            message: `{${word}} cannot be filled in; there is ${Object.keys(NOTICE_WORDS)
              .map((known) => `{${known}}`)
              .join(", ")}`,
          });
        }
        for (const needed of ["home", "day"] as const) {
          if (!text.includes(`{${needed}}`)) {
            context.addIssue({
              code: "custom",
              message: `a notice must say ${NOTICE_WORDS[needed]}: use {${needed}}`,
            });
          }
        }
      }),
  );

/** The wording with its words filled in, once: a value that holds braces is left as it is. */
export function fillNotice(wording: string, values: NoticeValues): string {
  return wording.replace(PLACEHOLDER, (whole, word: string) =>
    word in NOTICE_WORDS ? values[word as NoticeWord] : whole,
  );
}

export type NoticeSpan = { readonly fromMinute: number; readonly toMinute: number };

const EITHER_SIDE_MINUTES = 60;
const ROUNDED_TO_MINUTES = 30;

/**
 * The times that a notice gives for a planned arrival: an hour either side, to the half hour, within
 * the home's own window where it has one.
 */
export function noticeSpan(arriveMinute: number, window: NoticeSpan | null): NoticeSpan {
  const down = (minute: number) => Math.floor(minute / ROUNDED_TO_MINUTES) * ROUNDED_TO_MINUTES;
  const up = (minute: number) => Math.ceil(minute / ROUNDED_TO_MINUTES) * ROUNDED_TO_MINUTES;
  return {
    fromMinute: Math.max(down(arriveMinute - EITHER_SIDE_MINUTES), window?.fromMinute ?? 0),
    toMinute: Math.min(up(arriveMinute + EITHER_SIDE_MINUTES), window?.toMinute ?? 24 * 60),
  };
}

/** `510` becomes `8:30 am`. */
export function clockTime(minute: number): string {
  const rounded = Math.round(minute);
  const hour = Math.floor(rounded / 60) % 24;
  const shown = hour % 12 === 0 ? 12 : hour % 12;
  return `${shown}:${String(rounded % 60).padStart(2, "0")} ${hour < 12 ? "am" : "pm"}`;
}
