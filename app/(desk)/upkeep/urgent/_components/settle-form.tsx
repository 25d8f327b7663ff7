"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { settle } from "@/app/(desk)/upkeep/urgent/actions";
import { settleFormSchema } from "@/lib/services/upkeep-forms";

/** Says what was done about a matter, which settles it. */
export function SettleForm({ id }: { readonly id: string }) {
  return (
    <CheckedForm
      schema={settleFormSchema}
      action={settle}
      submitLabel="Settle"
      savedMessage="Settled."
    >
      {(problems) => (
        <>
          <input type="hidden" name="id" value={id} />
          <TextField name="note" label="What was done" problems={problems} />
        </>
      )}
    </CheckedForm>
  );
}
