"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { enterRefrigerant } from "@/app/(desk)/emissions/record-actions";
import { REFRIGERANTS } from "@/lib/core/emissions/factors";
import {
  REFRIGERANT_EVENT_LABELS,
  REFRIGERANT_EVENTS,
} from "@/lib/core/emissions/refrigerant-account";
import { refrigerantFormSchema } from "@/lib/services/refrigerant-form";

/** Notes what was charged, topped up or recovered. */
export function RefrigerantForm() {
  return (
    <CheckedForm schema={refrigerantFormSchema} action={enterRefrigerant} submitLabel="Note it">
      {(problems) => (
        <div className="field-grid">
          <TextField name="tag" label="Heater, by its tag" problems={problems} />
          <TextField name="day" label="Day" type="date" problems={problems} />
          <SelectField
            name="kind"
            label="What was done"
            options={REFRIGERANT_EVENTS.map((value) => ({
              value,
              label: REFRIGERANT_EVENT_LABELS[value],
            }))}
            problems={problems}
          />
          <SelectField
            name="refrigerant"
            label="Refrigerant"
            options={REFRIGERANTS.map((value) => ({ value, label: value }))}
            problems={problems}
          />
          <TextField
            name="kilograms"
            label="Weight, kg"
            hint="Or pounds and ounces."
            inputMode="decimal"
            problems={problems}
          />
          <TextField name="pounds" label="Pounds" inputMode="decimal" problems={problems} />
          <TextField name="ounces" label="Ounces" inputMode="decimal" problems={problems} />
          <TextField name="note" label="Note or document" problems={problems} />
        </div>
      )}
    </CheckedForm>
  );
}
