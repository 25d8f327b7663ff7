"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField } from "@/app/_components/field";
import { computeAccount } from "@/app/(desk)/emissions/actions";
import { accountRequestSchema } from "@/lib/services/emissions-forms";

/** Asks for the account of a year, beside a plan where there is one. */
export function AccountForm({
  years,
  defaultYear,
  plans,
}: {
  readonly years: readonly number[];
  readonly defaultYear: number;
  readonly plans: readonly { readonly id: string; readonly label: string }[];
}) {
  return (
    <CheckedForm
      schema={accountRequestSchema}
      action={computeAccount}
      submitLabel="Compute the account"
      savedMessage=""
    >
      {(problems) => (
        <div className="field-grid">
          <SelectField
            name="year"
            label="Year"
            defaultValue={String(defaultYear)}
            options={years.map((year) => ({ value: String(year), label: String(year) }))}
            problems={problems}
          />
          {plans.length > 0 && (
            <SelectField
              name="plan"
              label="Plan beside it"
              options={[
                { value: "", label: "The latest" },
                ...plans.map(({ id, label }) => ({ value: id, label })),
              ]}
              problems={problems}
            />
          )}
        </div>
      )}
    </CheckedForm>
  );
}
