import { z } from "zod";
import { ROLES } from "@/lib/core/shared/roles";
import { requiredText } from "./settings-fields";

/** Shortest password that is taken, as the sign-in itself demands. */
export const LEAST_PASSWORD_LENGTH = 12;

const email = z
  .string()
  .default("")
  .transform((text) => text.trim().toLowerCase())
  .pipe(z.email("Enter an email address.").max(200, "Keep it within 200 characters."));

const role = z.enum(ROLES, { message: "Choose a role." });

/** A password typed twice. The longest that is taken keeps the hashing of it cheap. */
const newPassword = z
  .object({
    password: z
      .string()
      .default("")
      .pipe(
        z
          .string()
          .min(LEAST_PASSWORD_LENGTH, `Use at least ${LEAST_PASSWORD_LENGTH} characters.`)
          .max(128, "Use at most 128 characters."),
      ),
    repeated: z.string().default(""),
  })
  .refine(({ password, repeated }) => password === repeated, {
    path: ["repeated"],
    message: "The two entries differ: type the password again.",
  });

export const addPersonSchema = z.object({
  name: requiredText(120, "Enter the person's name."),
  email,
  role,
});

export const changeRoleSchema = z.object({ userId: z.string().min(1), role });

export const personSchema = z.object({ userId: z.string().min(1) });

export const choosePasswordSchema = newPassword;

export const changePasswordSchema = z.intersection(
  z.object({ current: z.string().default("").pipe(z.string().min(1, "Enter your password.")) }),
  newPassword,
);

/** The first start of an installation: the organisation and its owner. */
export const firstRunSchema = z.intersection(
  z.object({
    organizationName: requiredText(120, "Enter the organization's name."),
    unitSystem: z.enum(["us", "si"], { message: "Choose which units come first." }),
    name: requiredText(120, "Enter your name."),
    email,
  }),
  newPassword,
);
