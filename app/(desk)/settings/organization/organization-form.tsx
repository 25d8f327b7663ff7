"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { organizationFormSchema } from "@/lib/services/settings-property-form";
import { editOrganization } from "./actions";

export const UNIT_SYSTEMS = [
  { value: "us", label: "US customary first (°F, gallons), SI beside" },
  { value: "si", label: "SI first (°C, litres), US customary beside" },
] as const;

/** The form of the organisation's name and units. */
export function OrganizationForm({
  name,
  unitSystem,
}: {
  readonly name: string;
  readonly unitSystem: "us" | "si";
}) {
  return (
    <CheckedForm schema={organizationFormSchema} action={editOrganization} submitLabel="Save">
      {(problems) => (
        <>
          <TextField name="name" label="Name" defaultValue={name} problems={problems} />
          <SelectField
            name="unitSystem"
            label="Units"
            defaultValue={unitSystem}
            options={UNIT_SYSTEMS}
            problems={problems}
          />
        </>
      )}
    </CheckedForm>
  );
}
