"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { TextArea } from "@/app/(desk)/emissions/_components/text-area";
import { enterPropertyEnergy } from "@/app/(desk)/emissions/record-actions";
import { METER_HOLDER_LABELS, METER_HOLDERS } from "@/lib/core/energy/meters";
import type { PropertyEnergy } from "@/lib/core/energy/property-energy";
import { formatTariff } from "@/lib/core/energy/tariff-text";
import { ANSWER_LABELS, ANSWERS, FUEL_LABELS, FUELS } from "@/lib/core/heaters/vocabulary";
import { propertyEnergyFormSchema } from "@/lib/services/emissions-forms";

const HOLDERS = [
  { value: "", label: "Not on record" },
  ...METER_HOLDERS.map((value) => ({ value, label: METER_HOLDER_LABELS[value] })),
];
const TARIFF_HINT =
  "Cents a unit. Flat: 18.5. Tiers: other use 250: 300 at 12, above at 16. By the hour, a line a season: months 1-12: 0-15 at 20, 16-20 at 45, 21-23 at 20. Empty: the property’s flat price.";

/** What is on record about a property's energy, as a form. */
export function EnergyForm({
  propertyId,
  energy,
  version,
}: {
  readonly propertyId: string;
  readonly energy: PropertyEnergy;
  readonly version: number;
}) {
  const { meters, conditioning, tariffs } = energy;
  return (
    <CheckedForm
      schema={propertyEnergyFormSchema}
      action={enterPropertyEnergy.bind(null, propertyId)}
      submitLabel="Save"
    >
      {(problems) => (
        <>
          <input type="hidden" name="version" value={version} />
          <div className="field-grid">
            <SelectField
              name="fuelMeter"
              label="Homes’ fuel meters are held by"
              defaultValue={meters.fuel ?? ""}
              options={HOLDERS}
              problems={problems}
            />
            <SelectField
              name="electricityMeter"
              label="Homes’ electricity meters are held by"
              defaultValue={meters.electricity ?? ""}
              options={HOLDERS}
              problems={problems}
            />
            <SelectField
              name="otherGasAppliances"
              label="Gas meters serve other appliances"
              hint="If not, the standing charge ends with the gas heater."
              defaultValue={energy.otherGasAppliances}
              options={ANSWERS.map((value) => ({ value, label: ANSWER_LABELS[value] }))}
              problems={problems}
            />
            <SelectField
              name="heatingFuel"
              label="Homes are heated with"
              defaultValue={conditioning?.heatingFuel ?? ""}
              options={[
                { value: "", label: "Not on record" },
                ...FUELS.map((value) => ({ value, label: FUEL_LABELS[value] })),
              ]}
              problems={problems}
            />
            <TextField
              name="heatingEfficiency"
              label="Heat per unit of energy, heating"
              hint="About 0.8 furnace, 1 resistance, 3 heat pump."
              inputMode="decimal"
              defaultValue={conditioning?.heatingEfficiency ?? ""}
              problems={problems}
            />
            <TextField
              name="coolingEfficiency"
              label="Heat per unit of energy, cooling"
              hint="Empty without air conditioning."
              inputMode="decimal"
              defaultValue={conditioning?.coolingEfficiency ?? ""}
              problems={problems}
            />
            <SelectField
              name="usesCalibration"
              label="Model multiplied by the meters’ factor"
              hint="Rows then say: calibrated."
              defaultValue={energy.usesCalibration ? "yes" : "no"}
              options={[
                { value: "no", label: "No" },
                { value: "yes", label: "Yes" },
              ]}
              problems={problems}
            />
            <TextField
              name="floorAreaSqFt"
              label="Floor area, square feet"
              inputMode="decimal"
              defaultValue={energy.floorAreaSqFt ?? ""}
              problems={problems}
            />
            <TextField
              name="heldFrom"
              label="In the account from"
              hint="Bought or taken over on; empty: always."
              type="date"
              defaultValue={energy.heldFrom ?? ""}
              problems={problems}
            />
            <TextField
              name="heldTo"
              label="In the account to"
              type="date"
              defaultValue={energy.heldTo ?? ""}
              problems={problems}
            />
          </div>
          <div className="columns">
            <TextArea
              name="occupied"
              label="Homes lived in"
              hint="Where it differed, a line each: year and percent, such as 2023: 92."
              defaultValue={Object.entries(energy.occupiedShare)
                .map(([year, share]) => `${year}: ${Math.round(share * 1e4) / 100}`)
                .join("\n")}
              problems={problems}
            />
            <div className="section">
              <TextArea
                name="fuelTariff"
                label="Fuel tariff, a therm"
                hint={TARIFF_HINT}
                defaultValue={formatTariff(tariffs.fuel?.tariff ?? null)}
                problems={problems}
              />
              <TextField
                name="fuelTariffSource"
                label="Where it was read"
                defaultValue={tariffs.fuel?.source ?? ""}
                problems={problems}
              />
            </div>
            <div className="section">
              <TextArea
                name="electricityTariff"
                label="Electricity tariff, a kilowatt hour"
                hint={TARIFF_HINT}
                defaultValue={formatTariff(tariffs.electricity?.tariff ?? null)}
                problems={problems}
              />
              <TextField
                name="electricityTariffSource"
                label="Where it was read"
                defaultValue={tariffs.electricity?.source ?? ""}
                problems={problems}
              />
            </div>
          </div>
        </>
      )}
    </CheckedForm>
  );
}
