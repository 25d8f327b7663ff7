"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { enterFactor } from "@/app/(desk)/emissions/record-actions";
import { factorFormSchema } from "@/lib/services/emissions-forms";

/** Enters a factor of the organisation's own, or its next version. */
export function FactorForm() {
  return (
    <CheckedForm schema={factorFormSchema} action={enterFactor} submitLabel="Add the factor">
      {(problems) => (
        <div className="field-grid">
          <SelectField
            name="activity"
            label="Of what"
            options={[
              { value: "grid-electricity", label: "Electricity of a grid region" },
              { value: "residual-mix", label: "Residual mix of a region or market" },
              { value: "natural-gas", label: "Natural gas" },
              { value: "propane", label: "Propane" },
              { value: "fuel-oil", label: "Fuel oil" },
            ]}
            problems={problems}
          />
          <TextField
            name="region"
            label="Grid region or market"
            hint="For electricity: the code, such as RFCE."
            problems={problems}
          />
          <TextField
            name="vintage"
            label="Year it describes"
            inputMode="numeric"
            problems={problems}
          />
          <TextField
            name="co2"
            label="CO2"
            hint="lb/MWh for electricity, kg/mmBtu for a fuel."
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="ch4"
            label="Methane, same unit"
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="n2o"
            label="Nitrous oxide, same unit"
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="co2e"
            label="CO2-equivalent, kg/kWh"
            hint="For a residual mix alone."
            inputMode="decimal"
            problems={problems}
          />
          <TextField name="source" label="Where it is published" problems={problems} />
        </div>
      )}
    </CheckedForm>
  );
}
