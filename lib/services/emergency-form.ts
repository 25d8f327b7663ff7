import { z } from "zod";
import { defaultScenario } from "@/lib/core/planning/scenario";
import { calendarDay, isCalendarDay } from "@/lib/core/shared/calendar-day";

/** Whom to call when a heater fails. */
export const DUTIES = [
  "on-call",
  "plumber",
  "gas-fitter",
  "electrician",
  "supplier",
  "restoration",
  "gas-emergency",
  "water-utility",
] as const;
export type Duty = (typeof DUTIES)[number];

export const DUTY_LABELS: Readonly<Record<Duty, string>> = {
  "on-call": "On call, maintenance",
  plumber: "Licensed plumber",
  "gas-fitter": "Licensed gas fitter",
  electrician: "Licensed electrician",
  supplier: "Supplier of heaters",
  restoration: "Water damage",
  "gas-emergency": "Gas emergency line",
  "water-utility": "Water utility",
};

const contactSchema = z.strictObject({
  duty: z.enum(DUTIES),
  name: z.string().trim().min(1, "Enter a name.").max(80, "Keep the name to 80 characters."),
  phone: z
    .string()
    .trim()
    .regex(/^[+0-9()\-. ]{3,30}( ?(ext|x)\.? ?\d{1,6})?$/i, "Enter a telephone number."),
  /** Null for every property. */
  propertyId: z.uuid().nullable(),
});
export type EmergencyContact = z.output<typeof contactSchema>;

const codes = z.array(z.string().min(1)).max(30);

/** What a person decides about failures beforehand, as the form sends it. */
export const emergencyFormSchema = z
  .strictObject({
    /** Options approved beforehand, in the order in which they are tried. */
    preApproved: codes,
    /** What goes in when none of those is ready. */
    otherwise: codes.min(1, "Choose what goes in when nothing approved is ready."),
    contacts: z.array(contactSchema).max(60, "At most 60 numbers."),
  })
  .refine(({ preApproved, otherwise }) => !preApproved.some((code) => otherwise.includes(code)), {
    path: ["otherwise"],
    message: "An option stands in both lists.",
  });
export type EmergencyFormValues = z.output<typeof emergencyFormSchema>;

/** The same as it is stored, with who approved it and when. */
export const emergencyTermsSchema = z.strictObject({
  preApproved: codes,
  otherwise: codes,
  contacts: z.array(contactSchema),
  approvedBy: z.string(),
  approvedOn: z.string().refine(isCalendarDay),
});

export type EmergencyTerms = EmergencyFormValues & {
  /** Null while nobody has approved anything: the lists are the starting ones. */
  readonly approved: { readonly by: string; readonly on: string } | null;
};

/** The starting lists; the day does not matter to them. */
const START = defaultScenario(calendarDay("2026-01-01")).emergency;

/** The organisation's decision, or the starting lists while there is none. */
export function readEmergencyTerms(stored: unknown): EmergencyTerms {
  const read = emergencyTermsSchema.safeParse(stored);
  if (!read.success) {
    return {
      preApproved: START.whenReady === null ? [] : [START.whenReady],
      otherwise: [...START.otherwise],
      contacts: [],
      approved: null,
    };
  }
  const { approvedBy, approvedOn, ...form } = read.data;
  return { ...form, approved: { by: approvedBy, on: approvedOn } };
}
