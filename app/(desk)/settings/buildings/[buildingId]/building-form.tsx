"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { editBuilding } from "@/app/(desk)/settings/properties/actions";
import type { BuildingRow } from "@/lib/services/settings-properties";
import { buildingFormSchema } from "@/lib/services/settings-property-form";

/** The form of a building and what its electrical service can carry. */
export function BuildingForm({ building }: { readonly building: BuildingRow }) {
  const { upgradeCostCents } = building;
  return (
    <CheckedForm
      schema={buildingFormSchema}
      action={editBuilding.bind(null, building.id)}
      submitLabel="Save the building"
    >
      {(problems) => (
        <>
          <div className="field-grid">
            <TextField name="name" label="Name" defaultValue={building.name} problems={problems} />
            <TextField
              name="builtYear"
              label="Year built"
              inputMode="numeric"
              defaultValue={building.builtYear ?? ""}
              problems={problems}
            />
            <TextField
              name="floors"
              label="Floors"
              inputMode="numeric"
              defaultValue={building.floors ?? ""}
              problems={problems}
            />
          </div>
          <h3>Electrical service</h3>
          <div className="field-grid">
            <TextField
              name="serviceAmps"
              label="Service, amperes"
              inputMode="decimal"
              defaultValue={building.serviceAmps ?? ""}
              problems={problems}
            />
            <TextField
              name="serviceVolts"
              label="Service, volts"
              inputMode="decimal"
              defaultValue={building.serviceVolts ?? ""}
              problems={problems}
            />
            <TextField
              name="measuredPeakKw"
              label="Highest demand measured over a year, kW"
              hint="From the meter or the utility; leave empty when never measured."
              inputMode="decimal"
              defaultValue={building.measuredPeakKw ?? ""}
              problems={problems}
            />
            <TextField
              name="headroomCircuits"
              label="New 240 V heat-pump circuits it can carry"
              hint="Before an upgrade. Empty: not limited as far as is known."
              inputMode="numeric"
              defaultValue={building.headroomCircuits ?? ""}
              problems={problems}
            />
          </div>
          <h3>Upgrade of the service</h3>
          <div className="field-grid">
            <TextField
              name="upgradeDollars"
              label="Cost, dollars"
              inputMode="decimal"
              defaultValue={upgradeCostCents === null ? "" : upgradeCostCents / 100}
              problems={problems}
            />
            <TextField
              name="upgradeAddsCircuits"
              label="Circuits it adds"
              inputMode="numeric"
              defaultValue={building.upgradeAddsCircuits ?? ""}
              problems={problems}
            />
          </div>
        </>
      )}
    </CheckedForm>
  );
}
