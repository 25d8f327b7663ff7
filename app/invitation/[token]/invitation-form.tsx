"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { choosePasswordSchema, LEAST_PASSWORD_LENGTH } from "@/lib/services/settings-people-form";
import { acceptInvitation } from "./actions";

/** Chooses the password of a new or returning person. */
export function InvitationForm({
  token,
  email,
}: {
  readonly token: string;
  readonly email: string;
}) {
  return (
    <CheckedForm
      schema={choosePasswordSchema}
      action={acceptInvitation.bind(null, token)}
      submitLabel="Set the password and sign in"
    >
      {(problems) => (
        <>
          {/* Lets a password keeper store address and password together. */}
          <input type="hidden" name="username" autoComplete="username" value={email} readOnly />
          <TextField
            name="password"
            label="Password"
            type="password"
            autoComplete="new-password"
            hint={`At least ${LEAST_PASSWORD_LENGTH} characters.`}
            problems={problems}
          />
          <TextField
            name="repeated"
            label="Password again"
            type="password"
            autoComplete="new-password"
            problems={problems}
          />
        </>
      )}
    </CheckedForm>
  );
}
