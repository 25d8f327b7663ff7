"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { enterReading } from "@/app/(desk)/emissions/record-actions";
import { READING_UNITS } from "@/lib/core/energy/meter-readings";
import { FUEL_LABELS, FUELS } from "@/lib/core/heaters/vocabulary";
import { readingFormSchema } from "@/lib/services/emissions-forms";

/** Enters what a meter read, as it stands on the bill. */
export function ReadingForm({
  propertyId,
  buildings,
}: {
  readonly propertyId: string;
  readonly buildings: readonly { readonly id: string; readonly name: string }[];
}) {
  return (
    <CheckedForm schema={readingFormSchema} action={enterReading} submitLabel="Add the reading">
      {(problems) => (
        <div className="field-grid">
          <input type="hidden" name="propertyId" value={propertyId} />
          <SelectField
            name="fuel"
            label="What was read"
            options={FUELS.map((value) => ({ value, label: FUEL_LABELS[value] }))}
            problems={problems}
          />
          <SelectField
            name="buildingId"
            label="Which heaters it reads"
            options={[
              { value: "", label: "All of the property" },
              ...buildings.map(({ id, name }) => ({ value: id, label: name })),
            ]}
            problems={problems}
          />
          <TextField name="from" label="First day" type="date" problems={problems} />
          <TextField name="to" label="Last day" type="date" problems={problems} />
          <TextField name="amount" label="Amount" inputMode="decimal" problems={problems} />
          <SelectField
            name="unit"
            label="Unit of the bill"
            options={Object.entries(READING_UNITS).map(([value, { label }]) => ({ value, label }))}
            problems={problems}
          />
          <TextField
            name="otherAmount"
            label="Of it, not for hot water"
            hint="Your estimate, same unit; empty where the meter reads water heaters alone."
            inputMode="decimal"
            problems={problems}
          />
          <TextField name="source" label="Bill or meter" problems={problems} />
        </div>
      )}
    </CheckedForm>
  );
}
