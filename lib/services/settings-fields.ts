import { z } from "zod";

/** Parts that the forms of the settings are made of: text in, typed values out, used on both sides. */

export type NumberRange = {
  readonly least: number;
  readonly most: number;
  readonly isWhole?: boolean;
};

/** A number that must be entered. */
export function requiredNumber(range: NumberRange) {
  return z
    .string()
    .default("")
    .transform((text, context) => {
      const value = readNumber(text, range, context);
      if (value === null) {
        context.addIssue({ code: "custom", message: "Enter a number." });
        return z.NEVER;
      }
      return value;
    });
}

/** A number that may be left empty: then it is not known. */
export function optionalNumber(range: NumberRange) {
  return z
    .string()
    .default("")
    .transform((text, context) => readNumber(text, range, context));
}

function readNumber(
  text: string,
  { least, most, isWhole = false }: NumberRange,
  context: z.RefinementCtx,
): number | null {
  const digits = text.replace(/[$,%\s]/g, "");
  if (digits === "") return null;
  const complain = (message: string) => {
    context.addIssue({ code: "custom", message });
    return z.NEVER;
  };
  const value = Number(digits);
  if (!Number.isFinite(value)) return complain(`"${text.trim()}" is not a number.`);
  if (isWhole && !Number.isInteger(value)) return complain("Must be a whole number.");
  if (value < least || value > most) {
    return complain(
      `Must be from ${least.toLocaleString("en-US")} to ${most.toLocaleString("en-US")}.`,
    );
  }
  return value;
}

/** A text that must be there. */
export function requiredText(most: number, message: string) {
  return z
    .string()
    .default("")
    .transform((text) => text.trim())
    .pipe(z.string().min(1, message).max(most, `Keep it within ${most} characters.`));
}

/** A text that may be left empty: then it is not known. */
export function optionalText(most: number) {
  return z
    .string()
    .default("")
    .transform((text) => text.trim())
    .pipe(z.string().max(most, `Keep it within ${most} characters.`))
    .transform((text) => (text === "" ? null : text));
}
