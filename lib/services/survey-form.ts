import { z } from "zod";
import { SURVEY_ITEMS, type SurveyItem } from "@/lib/core/heaters/readiness";
import {
  isMeasuredItem,
  MEASURES,
  type SurveyMeasures,
} from "@/lib/core/heaters/readiness-measures";
import { ANSWERS } from "@/lib/core/heaters/vocabulary";
import { type CalendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";

/** What a phone sends of one heater's place. The same rules run in the browser and on the server. */

const answerSchema = z
  .strictObject({
    item: z.enum(SURVEY_ITEMS),
    answer: z.enum(ANSWERS),
    note: z
      .string()
      .max(500, "Keep the note to 500 characters.")
      .transform((text) => text.trim() || null)
      .nullable(),
    measures: z.unknown(),
  })
  .transform(({ measures, ...answer }, context) => {
    if (measures === null || measures === undefined) return { ...answer, measures: null };
    const read = isMeasuredItem(answer.item) ? MEASURES[answer.item].safeParse(measures) : null;
    if (!read?.success) {
      context.addIssue({
        code: "custom",
        path: ["measures"],
        message: "These measures are not complete, or not of this item.",
      });
      return z.NEVER;
    }
    return { ...answer, measures: read.data as SurveyMeasures };
  });

/**
 * @param latest the last day on which a place can have been looked at: the day after the server's own,
 *   since a phone may stand in a later time zone
 */
export function surveyEntrySchema(latest: CalendarDay) {
  return z.strictObject({
    observedOn: z
      .string()
      .refine(isCalendarDay, "Enter the day of the visit.")
      .refine((day) => day <= latest, "The day of the visit is in the future."),
    /** Only what was answered on this visit. */
    answers: z
      .array(answerSchema)
      .min(1, "Nothing was answered yet.")
      .refine(
        (answers) => new Set(answers.map(({ item }) => item)).size === answers.length,
        "An item was answered twice.",
      ),
  });
}

/** Which answers go from a heater that was seen to its like. */
export const surveyCopySchema = z.strictObject({
  fromId: z.uuid(),
  toIds: z.array(z.uuid()).min(1, "Choose at least one heater to carry the answers to.").max(2_000),
  items: z
    .array(z.enum(SURVEY_ITEMS))
    .min(1, "Choose at least one answer to carry over.")
    .transform((items): readonly SurveyItem[] => [...new Set(items)]),
  sameRiser: z.boolean(),
});

/** Largest picture kept, in bytes; the browser makes it smaller before it is sent. */
export const MOST_SURVEY_PHOTO_BYTES = 2 * 1024 * 1024;
/** Pictures kept of one heater's place. */
export const MOST_SURVEY_PHOTOS = 24;
