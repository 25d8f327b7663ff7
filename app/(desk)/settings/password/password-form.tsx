"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { changePasswordSchema, LEAST_PASSWORD_LENGTH } from "@/lib/services/settings-people-form";
import { changePassword } from "./actions";

export function PasswordForm() {
  return (
    <CheckedForm
      schema={changePasswordSchema}
      action={changePassword}
      submitLabel="Change the password"
    >
      {(problems) => (
        <>
          <TextField
            name="current"
            label="Password now"
            type="password"
            autoComplete="current-password"
            problems={problems}
          />
          <TextField
            name="password"
            label="New password"
            type="password"
            autoComplete="new-password"
            hint={`At least ${LEAST_PASSWORD_LENGTH} characters.`}
            problems={problems}
          />
          <TextField
            name="repeated"
            label="New password again"
            type="password"
            autoComplete="new-password"
            problems={problems}
          />
        </>
      )}
    </CheckedForm>
  );
}
