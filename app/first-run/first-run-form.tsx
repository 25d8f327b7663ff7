"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { firstRunSchema, LEAST_PASSWORD_LENGTH } from "@/lib/services/settings-people-form";
import { foundInstallation } from "./actions";

/** Makes the organisation and its owner. */
export function FirstRunForm() {
  return (
    <CheckedForm schema={firstRunSchema} action={foundInstallation} submitLabel="Begin">
      {(problems) => (
        <>
          <TextField
            name="organizationName"
            label="Organization"
            autoComplete="organization"
            problems={problems}
          />
          <SelectField
            name="unitSystem"
            label="Units"
            defaultValue="us"
            options={[
              { value: "us", label: "US customary first, SI beside" },
              { value: "si", label: "SI first, US customary beside" },
            ]}
            problems={problems}
          />
          <TextField name="name" label="Your name" autoComplete="name" problems={problems} />
          <TextField
            name="email"
            label="Your email"
            type="email"
            autoComplete="username"
            problems={problems}
          />
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
