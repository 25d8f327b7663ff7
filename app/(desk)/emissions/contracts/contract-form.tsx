"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { enterContract } from "@/app/(desk)/emissions/record-actions";
import { instrumentFormSchema } from "@/lib/services/emissions-forms";

const YES_NO = [
  { value: "no", label: "No" },
  { value: "yes", label: "Yes" },
] as const;

/** Enters a certificate, a contract or a supplier's rate. */
export function ContractForm({
  properties,
  market,
}: {
  readonly properties: readonly { readonly id: string; readonly name: string }[];
  readonly market: string;
}) {
  return (
    <CheckedForm schema={instrumentFormSchema} action={enterContract} submitLabel="Add">
      {(problems) => (
        <div className="field-grid">
          <TextField name="name" label="Name or serial numbers" problems={problems} />
          <SelectField
            name="kind"
            label="Kind"
            options={[
              { value: "certificate", label: "Certificate" },
              { value: "contract", label: "Contract" },
              { value: "supplier-rate", label: "Supplier’s rate or green tariff" },
            ]}
            problems={problems}
          />
          <SelectField
            name="propertyId"
            label="Covers the electricity of"
            options={[
              { value: "", label: "All properties" },
              ...properties.map(({ id, name }) => ({ value: id, label: name })),
            ]}
            problems={problems}
          />
          <TextField
            name="coversKwh"
            label="Kilowatt hours a year"
            hint="Or a share, beside it."
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="coversPercent"
            label="Share of the electricity, %"
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="kgCo2ePerKwh"
            label="Emission rate, kg CO2e a kWh"
            defaultValue="0"
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="vintage"
            label="Year generated"
            inputMode="numeric"
            problems={problems}
          />
          <TextField
            name="firstYear"
            label="Used for, from"
            inputMode="numeric"
            problems={problems}
          />
          <TextField name="lastYear" label="Used for, to" inputMode="numeric" problems={problems} />
          <TextField name="market" label="Market" defaultValue={market} problems={problems} />
          <SelectField
            name="conveysRate"
            label="Conveys the emission rate"
            options={YES_NO}
            problems={problems}
          />
          <SelectField
            name="soleClaim"
            label="Is the only claim to it"
            options={YES_NO}
            problems={problems}
          />
          <SelectField
            name="retired"
            label="Tracked and retired for us"
            options={YES_NO}
            problems={problems}
          />
          <TextField
            name="source"
            label="Where it can be looked up"
            hint="Registry statement, contract number, tariff sheet."
            problems={problems}
          />
        </div>
      )}
    </CheckedForm>
  );
}
