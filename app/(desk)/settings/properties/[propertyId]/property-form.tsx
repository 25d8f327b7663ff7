"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { editProperty } from "@/app/(desk)/settings/properties/actions";
import { DEMAND_LEVELS } from "@/lib/core/heaters/vocabulary";
import type { PropertyRow } from "@/lib/services/settings-properties";
import { GRID_REGIONS, propertyFormSchema } from "@/lib/services/settings-property-form";

const MONTHS = [
  "January",
  "February",
  "March",
  "April",
  "May",
  "June",
  "July",
  "August",
  "September",
  "October",
  "November",
  "December",
];

/** The form of a property's place, climate, use and prices. */
export function PropertyForm({ property }: { readonly property: PropertyRow }) {
  const regions = GRID_REGIONS.includes(property.gridRegion)
    ? GRID_REGIONS
    : [property.gridRegion, ...GRID_REGIONS];
  return (
    <CheckedForm
      schema={propertyFormSchema}
      action={editProperty.bind(null, property.id)}
      submitLabel="Save the property"
    >
      {(problems) => (
        <>
          <div className="field-grid">
            <TextField name="name" label="Name" defaultValue={property.name} problems={problems} />
            <TextField
              name="street"
              label="Street"
              defaultValue={property.street ?? ""}
              problems={problems}
            />
            <TextField
              name="city"
              label="City"
              defaultValue={property.city ?? ""}
              problems={problems}
            />
            <TextField
              name="region"
              label="State or region"
              defaultValue={property.region ?? ""}
              problems={problems}
            />
            <TextField
              name="postalCode"
              label="Postal code"
              defaultValue={property.postalCode ?? ""}
              problems={problems}
            />
          </div>
          <h3>Climate and water</h3>
          <div className="field-grid">
            <TextField
              name="annualMeanAirF"
              label="Mean outdoor air over the year, °F"
              hint="°F = °C × 1.8 + 32"
              inputMode="decimal"
              defaultValue={property.annualMeanAirF}
              problems={problems}
            />
            <TextField
              name="airAmplitudeF"
              label="Swing to the coldest month, °F"
              hint="Half of the difference between the warmest and the coldest month."
              inputMode="decimal"
              defaultValue={property.airAmplitudeF}
              problems={problems}
            />
            <SelectField
              name="coldestMonth"
              label="Coldest month"
              defaultValue={String(property.coldestMonth)}
              options={MONTHS.map((label, index) => ({ value: String(index + 1), label }))}
              problems={problems}
            />
            <TextField
              name="waterSource"
              label="Water source"
              defaultValue={property.waterSource ?? ""}
              problems={problems}
            />
          </div>
          <h3>Use and prices</h3>
          <div className="field-grid">
            <SelectField
              name="demandLevel"
              label="Hot-water use of its homes"
              defaultValue={property.demandLevel}
              options={DEMAND_LEVELS.map((level) => ({ value: level, label: level }))}
              problems={problems}
            />
            <TextField
              name="gasDollarsPerTherm"
              label="Gas, dollars a therm"
              inputMode="decimal"
              defaultValue={property.gasCentsPerTherm / 100}
              problems={problems}
            />
            <TextField
              name="gasStandingDollarsPerMonth"
              label="Gas standing charge, dollars a month"
              hint="What ends when the last gas appliance of a home’s own meter goes."
              inputMode="decimal"
              defaultValue={property.gasStandingCentsPerMonth / 100}
              problems={problems}
            />
            <TextField
              name="electricityCentsPerKwh"
              label="Electricity, cents a kWh"
              inputMode="decimal"
              defaultValue={property.electricityCentsPerKwh}
              problems={problems}
            />
            <SelectField
              name="gridRegion"
              label="Electricity grid region"
              hint="Its emission factors are used for electricity."
              defaultValue={property.gridRegion}
              options={regions.map((code) => ({ value: code, label: code }))}
              problems={problems}
            />
          </div>
        </>
      )}
    </CheckedForm>
  );
}
