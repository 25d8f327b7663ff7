"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { add } from "@/app/(desk)/upkeep/water/actions";
import { ANSWER_LABELS, ANSWERS } from "@/lib/core/heaters/vocabulary";
import {
  CONCENTRATION_UNIT_LABELS,
  CONCENTRATION_UNITS,
  waterFormSchema,
} from "@/lib/services/water-form";

/** An analysis as a strip or a laboratory gives it; what was not measured stays empty. */
export function AnalysisForm({
  propertyId,
  today,
}: {
  readonly propertyId: string;
  readonly today: string;
}) {
  return (
    <CheckedForm
      schema={waterFormSchema}
      action={add}
      submitLabel="Add analysis"
      savedMessage="Added."
    >
      {(problems) => (
        <>
          <input type="hidden" name="propertyId" value={propertyId} />
          <div className="field-grid">
            <TextField
              name="sampledOn"
              label="Day of the sample"
              type="date"
              defaultValue={today}
              max={today}
              problems={problems}
            />
            <SelectField
              name="unit"
              label="Hardness and calcium are in"
              options={CONCENTRATION_UNITS.map((value) => ({
                value,
                label: CONCENTRATION_UNIT_LABELS[value],
              }))}
              problems={problems}
            />
            <TextField
              name="hardness"
              label="Total hardness"
              inputMode="decimal"
              problems={problems}
            />
            <TextField
              name="calcium"
              label="Calcium hardness"
              hint="The part of the hardness that is calcium."
              inputMode="decimal"
              problems={problems}
            />
            <SelectField
              name="softened"
              label="Softened"
              defaultValue="unknown"
              options={ANSWERS.map((value) => ({ value, label: ANSWER_LABELS[value] }))}
              problems={problems}
            />
            <TextField name="ph" label="pH" inputMode="decimal" problems={problems} />
            <TextField
              name="alkalinityMgPerLitre"
              label="Alkalinity, mg/L as CaCO3"
              inputMode="decimal"
              problems={problems}
            />
            <TextField
              name="dissolvedSolidsMgPerLitre"
              label="Dissolved solids, mg/L"
              inputMode="decimal"
              problems={problems}
            />
            <TextField
              name="temperatureF"
              label="Cold water, °F"
              inputMode="decimal"
              problems={problems}
            />
            <TextField
              name="disinfectant"
              label="Disinfectant"
              hint="Such as chlorine or chloramine."
              problems={problems}
            />
            <TextField name="note" label="Note" problems={problems} />
          </div>
        </>
      )}
    </CheckedForm>
  );
}
