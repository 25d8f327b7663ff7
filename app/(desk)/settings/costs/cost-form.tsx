"use client";

import Link from "next/link";
import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { type ConsequenceKey, consequenceEntrySchema } from "@/lib/services/settings-consequences";
import { enterCost } from "./actions";

/** Enters the organisation's own value of one assumption. */
export function CostForm({
  costKey,
  unit,
  entry,
  source,
}: {
  readonly costKey: ConsequenceKey;
  readonly unit: string;
  readonly entry: number;
  readonly source: string;
}) {
  return (
    <CheckedForm
      schema={consequenceEntrySchema}
      action={enterCost}
      submitLabel="Save"
      extraActions={
        <Link className="button button--quiet" href="/settings/costs">
          Cancel
        </Link>
      }
    >
      {(problems) => (
        <div className="field-grid">
          <input type="hidden" name="key" value={costKey} />
          <TextField
            name="entry"
            label={`Your value, ${unit}`}
            inputMode="decimal"
            defaultValue={entry}
            problems={problems}
            autoFocus
          />
          <TextField
            name="source"
            label="Where you have it from"
            hint="An invoice, a claim, a contract; may be left empty."
            defaultValue={source}
            maxLength={300}
            problems={problems}
          />
        </div>
      )}
    </CheckedForm>
  );
}
