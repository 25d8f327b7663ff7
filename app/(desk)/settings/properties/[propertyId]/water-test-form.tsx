"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { recordWaterTest } from "@/app/(desk)/settings/properties/actions";
import { ANSWER_LABELS, ANSWERS } from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import {
  HARDNESS_UNIT_LABELS,
  HARDNESS_UNITS,
  waterTestFormSchema,
} from "@/lib/services/settings-property-form";

/** Records a water test; what was not measured is left empty. */
export function WaterTestForm({
  propertyId,
  today,
  unitSystem,
}: {
  readonly propertyId: string;
  readonly today: CalendarDay;
  readonly unitSystem: "us" | "si";
}) {
  return (
    <CheckedForm
      schema={waterTestFormSchema}
      action={recordWaterTest.bind(null, propertyId)}
      submitLabel="Add the test"
      savedMessage="Added. The fleet is scored anew."
    >
      {(problems) => (
        <div className="field-grid">
          <TextField
            name="sampledOn"
            label="Day of the sample"
            type="date"
            max={today}
            defaultValue={today}
            problems={problems}
          />
          <TextField
            name="hardness"
            label="Total hardness"
            hint="As delivered, before any softener."
            inputMode="decimal"
            problems={problems}
          />
          <SelectField
            name="hardnessUnit"
            label="Unit of hardness"
            defaultValue={unitSystem === "us" ? "grains" : "mg"}
            options={HARDNESS_UNITS.map((value) => ({ value, label: HARDNESS_UNIT_LABELS[value] }))}
            problems={problems}
          />
          <SelectField
            name="softened"
            label="Softened before the heaters"
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
            label="Temperature, °F"
            inputMode="decimal"
            problems={problems}
          />
          <TextField
            name="disinfectant"
            label="Disinfectant"
            hint="Chlorine, chloramine, none."
            problems={problems}
          />
        </div>
      )}
    </CheckedForm>
  );
}
