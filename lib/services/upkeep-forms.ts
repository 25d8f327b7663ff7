import { z } from "zod";
import { TASK_KINDS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import { noticeWordingSchema } from "@/lib/core/upkeep/entry-notice";
import type { OwnInterval } from "@/lib/core/upkeep/rules";
import type { OwnWorkTerms } from "@/lib/core/upkeep/work-terms";
import { optionalNumber, optionalText } from "./settings-fields";

/** Forms of upkeep, checked in the browser and on the server alike. */

/** How an urgent matter was settled. */
export const settleFormSchema = z.object({
  id: z.uuid("the matter is not named"),
  note: z.string().trim().min(1, "Say what was done.").max(2_000, "At most 2,000 characters."),
});

/** Field of a task in a form that has one for each. */
export const taskField = (name: string, task: TaskKind) => `${name}-${task}`;

function perTask<S extends z.ZodType>(name: string, field: S): Record<string, S> {
  return Object.fromEntries(TASK_KINDS.map((task) => [taskField(name, task), field]));
}

/** A property's own base intervals; an empty field follows the program's rules. */
export const intervalsFormSchema = z
  .object({ propertyId: z.uuid("Choose a property.") })
  .and(z.object(perTask("months", optionalNumber({ least: 1, most: 120, isWhole: true }))))
  .and(z.object(perTask("source", optionalText(300))))
  .transform((form, context) => {
    const intervals: Partial<Record<TaskKind, OwnInterval>> = {};
    const values = form as Readonly<Record<string, string | number | null>>;
    for (const task of TASK_KINDS) {
      const months = values[taskField("months", task)];
      const source = values[taskField("source", task)];
      if (typeof months === "number") intervals[task] = { months, source: String(source ?? "") };
      else if (source !== null) {
        context.addIssue({
          code: "custom",
          path: [taskField("months", task)],
          message: "Enter the months that this source gives, or clear the source.",
        });
      }
    }
    return { propertyId: form.propertyId, intervals };
  });

const clock = z
  .string()
  .default("")
  .transform((text, context) => {
    if (text.trim() === "") return undefined;
    const match = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(text.trim());
    if (match) return Number(match[1]) * 60 + Number(match[2]);
    context.addIssue({ code: "custom", message: "Enter a time such as 08:30." });
    return z.NEVER;
  });

const minutes = (least: number, most: number, isWhole = true) =>
  optionalNumber({ least, most, isWhole });

/** How long work takes and what it costs; an empty field is assumed. */
export const workTermsFormSchema = z
  .object({
    entryMinutes: minutes(0, 120),
    labourDollarsPerHour: optionalNumber({ least: 0, most: 1_000 }),
    doorToDoorMinutes: minutes(0, 60, false),
    perFloorMinutes: minutes(0, 30, false),
    betweenBuildingsMinutes: minutes(0, 240, false),
    start: clock,
    dayMinutes: minutes(30, 900),
    noticeDays: optionalNumber({ least: 0, most: 60, isWhole: true }),
  })
  .and(z.object(perTask("minutes", minutes(1, 480))))
  .and(z.object(perTask("parts", optionalNumber({ least: 0, most: 5_000 }))))
  .transform((form): Omit<OwnWorkTerms, "noticeWording"> => {
    const values = form as Readonly<Record<string, number | null | undefined>>;
    const byTask = (name: string, factor: number) =>
      Object.fromEntries(
        TASK_KINDS.flatMap((task) => {
          const value = values[taskField(name, task)];
          return typeof value === "number" ? [[task, Math.round(value * factor)]] : [];
        }),
      );
    return {
      taskMinutes: byTask("minutes", 1),
      taskPartsCents: byTask("parts", 100),
      entryMinutes: form.entryMinutes ?? undefined,
      labourCentsPerHour:
        form.labourDollarsPerHour === null
          ? undefined
          : Math.round(form.labourDollarsPerHour * 100),
      doorToDoorMinutes: form.doorToDoorMinutes ?? undefined,
      perFloorMinutes: form.perFloorMinutes ?? undefined,
      betweenBuildingsMinutes: form.betweenBuildingsMinutes ?? undefined,
      startMinute: form.start,
      dayMinutes: form.dayMinutes ?? undefined,
      noticeDays: form.noticeDays ?? undefined,
    };
  });

/** The wording of entry notices. */
export const noticeFormSchema = z.object({ wording: noticeWordingSchema });
