"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { SelectField, TextField } from "@/app/_components/field";
import { TextArea } from "@/app/(desk)/emissions/_components/text-area";
import { enterTerms } from "@/app/(desk)/emissions/record-actions";
import type { EmissionsTerms } from "@/lib/core/emissions/emissions-terms";
import { GWP_SETS } from "@/lib/core/emissions/gases";
import { COVERAGE_LABELS, COVERAGES } from "@/lib/core/emissions/target";
import { termsFormSchema } from "@/lib/services/emissions-forms";

const percent = (share: number) => String(Math.round(share * 1e6) / 1e4);

/** The rules of the account as a form. */
export function TermsForm({
  terms,
  version,
}: {
  readonly terms: EmissionsTerms;
  readonly version: number;
}) {
  return (
    <CheckedForm schema={termsFormSchema} action={enterTerms} submitLabel="Save the rules">
      {(problems) => (
        <>
          <input type="hidden" name="version" value={version} />
          <div className="field-grid">
            <SelectField
              name="coverage"
              label="Target and change count"
              defaultValue={terms.coverage}
              options={COVERAGES.map((value) => ({ value, label: COVERAGE_LABELS[value] }))}
              problems={problems}
            />
            <TextField
              name="baseYear"
              label="Base year"
              hint="Empty: five years before the account."
              inputMode="numeric"
              defaultValue={terms.baseYear ?? ""}
              problems={problems}
            />
            <TextField
              name="thresholdPercent"
              label="Recalculate the base year from, %"
              hint="Structural changes together, as a share of it. 5 % is common practice."
              inputMode="decimal"
              defaultValue={percent(terms.recalculationThreshold)}
              problems={problems}
            />
            <SelectField
              name="gwpSet"
              label="Warming potentials over 100 years"
              defaultValue={terms.gwpSet}
              options={GWP_SETS.map((value) => ({ value, label: `IPCC ${value}` }))}
              problems={problems}
            />
            <TextField
              name="market"
              label="Electricity market"
              hint="Certificates of another market are refused."
              defaultValue={terms.market}
              problems={problems}
            />
            <TextField
              name="upstreamPercent"
              label="Methane lost before the gas meter, %"
              hint="Empty leaves it out. Told apart from the account; 2.3 % is one estimate (from memory)."
              inputMode="decimal"
              defaultValue={
                terms.upstreamLeakShare === null ? "" : percent(terms.upstreamLeakShare)
              }
              problems={problems}
            />
            <TextField
              name="leakPercent"
              label="Refrigerant leaked a year, % of the charge"
              inputMode="decimal"
              defaultValue={percent(terms.refrigerant.annualLeakShare)}
              problems={problems}
            />
            <TextField
              name="endOfLifePercent"
              label="Refrigerant lost when scrapped, % of the charge"
              inputMode="decimal"
              defaultValue={percent(terms.refrigerant.endOfLifeLossShare)}
              problems={problems}
            />
          </div>
          <div className="field-grid">
            <TextArea
              name="changes"
              label="Structural changes of the base year"
              hint="A line each: bought, sold, method, factor or error; kilograms a year it adds; what changed. Such as: bought 12000 two houses."
              defaultValue={terms.changes
                .map(({ reason, kgCo2e, description }) => `${reason} ${kgCo2e} ${description}`)
                .join("\n")}
              problems={problems}
            />
            <TextArea
              name="target"
              label="Target"
              hint="A line each: year and cut since the base year in percent, such as 2030: 50."
              defaultValue={terms.target
                .map(({ year, cutShare }) => `${year}: ${percent(cutShare)}`)
                .join("\n")}
              problems={problems}
            />
            <TextArea
              name="outlook"
              label="The grid ahead"
              hint="A line each: year and percent of today’s factor, such as 2030: 70; with a region before it for that region alone."
              defaultValue={terms.gridOutlook.points
                .map(({ region, year, shareOfTable }) =>
                  `${region ?? ""} ${year}: ${percent(shareOfTable)}`.trim(),
                )
                .join("\n")}
              problems={problems}
            />
          </div>
          <TextField
            name="outlookSource"
            label="Source of the outlook"
            defaultValue={terms.gridOutlook.source}
            problems={problems}
          />
        </>
      )}
    </CheckedForm>
  );
}
