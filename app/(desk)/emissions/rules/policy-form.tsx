"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { TextArea } from "@/app/(desk)/emissions/_components/text-area";
import { enterPolicy } from "@/app/(desk)/emissions/record-actions";
import { LIMIT_BASES, LIMIT_BASIS_LABELS, POLICY_KIND_LABELS } from "@/lib/core/emissions/policies";
import { COVERAGE_LABELS, COVERAGES } from "@/lib/core/emissions/target";
import { policyFormSchema } from "@/lib/services/emissions-forms";

/** Enters a limit or an appliance rule. */
export function PolicyForm({
  properties,
}: {
  readonly properties: readonly { readonly id: string; readonly name: string }[];
}) {
  return (
    <CheckedForm schema={policyFormSchema} action={enterPolicy} submitLabel="Add the rule">
      {(problems) => (
        <div className="field-grid">
          <TextField name="name" label="Name" problems={problems} />
          <SelectField
            name="kind"
            label="Kind"
            options={Object.entries(POLICY_KIND_LABELS).map(([value, label]) => ({ value, label }))}
            problems={problems}
          />
          <SelectField
            name="propertyId"
            label="Applies to"
            options={[
              { value: "", label: "All properties" },
              ...properties.map(({ id, name }) => ({ value: id, label: name })),
            ]}
            problems={problems}
          />
          <TextField
            name="from"
            label="From"
            hint="For rules about burners."
            type="date"
            problems={problems}
          />
          <TextArea
            name="steps"
            label="Limits"
            hint="A line each: first year and kilograms, such as 2030: 120."
            defaultValue=""
            problems={problems}
          />
          <SelectField
            name="basis"
            label="Limits are in"
            options={LIMIT_BASES.map((value) => ({ value, label: LIMIT_BASIS_LABELS[value] }))}
            problems={problems}
          />
          <SelectField
            name="coverage"
            label="Counted"
            options={COVERAGES.map((value) => ({ value, label: COVERAGE_LABELS[value] }))}
            problems={problems}
          />
          <TextField
            name="otherKgPerYear"
            label="Other uses that count, kg a year"
            hint="Heating, common areas; empty: none."
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="dollarsPerTonneOver"
            label="Cost a tonne above, $"
            hint="Empty when nothing is charged."
            inputMode="decimal"
            problems={problems}
          />
          <TextField name="source" label="Where the rule can be read" problems={problems} />
        </div>
      )}
    </CheckedForm>
  );
}
