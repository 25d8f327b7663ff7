"use client";

import { useState } from "react";
import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { ROLE_LABELS, ROLES } from "@/lib/core/shared/roles";
import type { PasswordLink } from "@/lib/services/settings-people";
import { addPersonSchema } from "@/lib/services/settings-people-form";
import { invitePerson } from "./actions";
import { LinkNote } from "./link-note";

/** Adds a person with a role and shows the link to hand on. */
export function AddPersonForm() {
  const [link, setLink] = useState<PasswordLink | null>(null);
  return (
    <>
      {/* A new form after each person, so that the fields are empty again. */}
      <CheckedForm
        key={link?.token}
        schema={addPersonSchema}
        action={async (form) => {
          const answer = await invitePerson(form);
          if (answer.link) setLink(answer.link);
          return answer;
        }}
        submitLabel="Add the person"
        savedMessage=""
      >
        {(problems) => (
          <div className="field-grid">
            <TextField name="name" label="Name" autoComplete="off" problems={problems} />
            <TextField
              name="email"
              label="Email"
              type="email"
              autoComplete="off"
              problems={problems}
            />
            <SelectField
              name="role"
              label="Role"
              defaultValue="viewer"
              options={ROLES.map((value) => ({ value, label: ROLE_LABELS[value] }))}
              problems={problems}
            />
          </div>
        )}
      </CheckedForm>
      {link && <LinkNote link={link} />}
    </>
  );
}
