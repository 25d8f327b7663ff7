"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { enterDisposal } from "@/app/(desk)/emissions/record-actions";
import { DISPOSAL_ROUTE_LABELS, DISPOSAL_ROUTES } from "@/lib/core/emissions/retirement-ledger";
import { disposalFormSchema } from "@/lib/services/emissions-forms";

/** Notes where a retired heater went. */
export function DisposalForm({
  heaters,
}: {
  readonly heaters: readonly { readonly id: string; readonly label: string }[];
}) {
  return (
    <CheckedForm schema={disposalFormSchema} action={enterDisposal} submitLabel="Note it">
      {(problems) => (
        <div className="field-grid">
          <SelectField
            name="heaterId"
            label="Heater"
            options={heaters.map(({ id, label }) => ({ value: id, label }))}
            problems={problems}
          />
          <SelectField
            name="route"
            label="Went to"
            options={DISPOSAL_ROUTES.map((value) => ({
              value,
              label: DISPOSAL_ROUTE_LABELS[value],
            }))}
            problems={problems}
          />
          <TextField
            name="weighedPounds"
            label="Weight on the ticket, lb"
            hint="Empty when it was not weighed."
            inputMode="decimal"
            problems={problems}
          />
          <TextField name="receiver" label="Receiver" problems={problems} />
          <TextField name="document" label="Ticket or document" problems={problems} />
        </div>
      )}
    </CheckedForm>
  );
}
