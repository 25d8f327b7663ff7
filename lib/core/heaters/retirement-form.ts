import { z } from "zod";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { parseCents } from "@/lib/core/shared/money";
import {
  areRead,
  type DayBracket,
  formText,
  oneOf,
  optionalText,
  readBracket,
  readFields,
} from "./form-fields";
import { RETIREMENT_CAUSES, type RetirementCause } from "./vocabulary";

/** How a heater's life ended, as a person enters it. */
export type RetirementEntry = DayBracket & {
  readonly cause: RetirementCause;
  /** Hot water was lost before the swap was arranged. */
  readonly emergency: boolean;
  /** What its replacement cost, all in; null when not known. */
  readonly costCents: number | null;
  readonly note: string | null;
};

export const RETIREMENT_FORM_FIELDS = [
  "cause",
  "endFrom",
  "endTo",
  "emergency",
  "cost",
  "note",
] as const;
export type RetirementFormText = Readonly<Record<(typeof RETIREMENT_FORM_FIELDS)[number], string>>;

export const EMPTY_RETIREMENT_FORM: RetirementFormText = {
  cause: "",
  endFrom: "",
  endTo: "",
  emergency: "",
  cost: "",
  note: "",
};

/** $10 million; a larger sum is a slip. */
const MOST_CENTS = 1_000_000_000;

/**
 * The form that retires a heater.
 * @param today the last day on which it can have ended
 * @param installedFrom the first day on which it can have been installed
 */
export function retirementFormSchema({
  today,
  installedFrom,
}: {
  readonly today: CalendarDay;
  readonly installedFrom: CalendarDay;
}) {
  return formText.transform((text, context): RetirementEntry => {
    const values = readFields(FIELD_SCHEMAS, text, context);
    const bracket = readBracket(
      { from: text.endFrom ?? "", to: text.endTo ?? "" },
      { from: "endFrom", to: "endTo", noun: "last day" },
      { today, first: installedFrom },
      context,
    );
    const isContradiction = values.emergency === "yes" && values.cause === "planned";
    if (isContradiction) {
      context.addIssue({
        code: "custom",
        path: ["emergency"],
        message: "A planned swap is arranged before hot water is lost.",
      });
    }
    if (!bracket || isContradiction || !areRead(values, "cause", "emergency", "cost", "note")) {
      return z.NEVER;
    }
    return {
      ...bracket,
      cause: values.cause,
      emergency: values.emergency === "yes",
      costCents: values.cost,
      note: values.note,
    };
  });
}

const FIELD_SCHEMAS = {
  cause: oneOf(RETIREMENT_CAUSES, "Choose why it left service."),
  emergency: z.enum(["", "yes"]).default(""),
  cost: z.string().default("").transform(readCost),
  note: optionalText(2000),
};

function readCost(text: string, context: z.RefinementCtx): number | null {
  if (text.trim() === "") return null;
  const complain = (message: string) => {
    context.addIssue({ code: "custom", message });
    return z.NEVER;
  };
  const cents = parseCents(text);
  if (!cents.ok) return complain(`"${text.trim()}" is not an amount in dollars and cents.`);
  if (cents.value < 0 || cents.value > MOST_CENTS) return complain("From $0 to $10,000,000.");
  return cents.value;
}
