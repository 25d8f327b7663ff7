import { z } from "zod";

/** Forms of the emissions screens: text in, typed values out, checked alike on both sides. */

/** What a request for an account says. */
export const accountRequestSchema = z.object({
  year: z.coerce.number("choose a year").int().min(1990).max(2150),
  plan: z
    .string()
    .default("")
    .transform((text) => (text === "" ? null : text))
    .pipe(z.uuid("choose a plan of the list").nullable()),
});
