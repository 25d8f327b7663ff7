import { z } from "zod";
import { REFRIGERANTS } from "@/lib/core/emissions/factors";
import { REFRIGERANT_EVENTS } from "@/lib/core/emissions/refrigerant-account";
import { calendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";
import { poundsToKilograms } from "@/lib/core/shared/units";
import { optionalNumber, optionalText, requiredText } from "./settings-fields";

const OUNCES_PER_POUND = 16;
/** The largest charge that is believed. */
const MOST_KG = 1_000;

/** What was done to a heat pump's circuit, weighed in kilograms or in pounds and ounces. */
export const refrigerantFormSchema = z
  .object({
    tag: requiredText(80, "Enter the heater’s tag."),
    day: z.string().default("").refine(isCalendarDay, "Enter the day."),
    kind: z.enum(REFRIGERANT_EVENTS, "Choose what was done."),
    refrigerant: z.enum(REFRIGERANTS, "Choose the refrigerant."),
    kilograms: optionalNumber({ least: 0, most: MOST_KG }),
    pounds: optionalNumber({ least: 0, most: 2_200 }),
    ounces: optionalNumber({ least: 0, most: 2_200 }),
    note: optionalText(300),
  })
  .transform(({ kilograms, pounds, ounces, day, ...form }, context) => {
    const isImperial = pounds !== null || ounces !== null;
    if (kilograms !== null && isImperial) {
      const message = "Enter kilograms, or pounds and ounces, not both.";
      context.addIssue({ code: "custom", path: ["kilograms"], message });
      return z.NEVER;
    }
    const kg = isImperial
      ? poundsToKilograms((pounds ?? 0) + (ounces ?? 0) / OUNCES_PER_POUND)
      : kilograms;
    if (kg === null || (kg === 0 && form.kind !== "recovery")) {
      const message = "Enter the weight.";
      context.addIssue({ code: "custom", path: ["kilograms"], message });
      return z.NEVER;
    }
    return { ...form, day: calendarDay(day), kg };
  });
