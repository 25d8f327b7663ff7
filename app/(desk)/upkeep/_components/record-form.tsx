"use client";

import { startTransition, useActionState, useState } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { UrgentCaution } from "@/app/_components/urgent-caution";
import { type RecordState, recordDone, refreshList, undoDone } from "@/app/(desk)/upkeep/actions";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import { FINDING_LABELS, FINDINGS } from "@/lib/core/upkeep/findings";

/** Records one task as done; what was typed stays when something has to be put right. */
export function RecordForm({
  heaterId,
  task,
  today,
}: {
  readonly heaterId: string;
  readonly task: TaskKind;
  readonly today: string;
}) {
  const [idempotencyKey] = useState(() => crypto.randomUUID());
  const [state, action, isPending] = useActionState<RecordState, FormData>(recordDone, {
    problems: [],
    visitId: null,
    urgent: [],
  });
  const id = `${heaterId}-${task}`;
  const problems = state.problems.map((problem) => ({
    ...problem,
    path: `${id}-${problem.path}`,
  }));
  if (state.visitId !== null) {
    const { visitId } = state;
    return (
      <div className="notice notice--good" role="status">
        <p>Recorded.</p>
        {state.urgent.map((kind) => (
          <UrgentCaution key={kind} kind={kind} />
        ))}
        <div className="actions">
          <button className="button" type="button" onClick={() => void refreshList()}>
            Refresh the list
          </button>
          <button
            className="button button--quiet"
            type="button"
            onClick={() => void undoDone(visitId)}
          >
            Undo
          </button>
        </div>
      </div>
    );
  }
  return (
    <form
      className="section"
      onSubmit={(event) => {
        event.preventDefault();
        const form = new FormData(event.currentTarget);
        form.set("heaterId", heaterId);
        form.set("task", task);
        form.set("idempotencyKey", idempotencyKey);
        for (const name of [
          "doneOn",
          "finding",
          "minutes",
          "partName",
          "partDollars",
          "paidDollars",
          "note",
        ]) {
          form.set(name, String(form.get(`${id}-${name}`) ?? ""));
        }
        startTransition(() => action(form));
      }}
    >
      <div className="field-grid">
        <TextField
          name={`${id}-doneOn`}
          label="Done on"
          type="date"
          defaultValue={today}
          max={today}
          problems={problems}
        />
        <SelectField
          name={`${id}-finding`}
          label="Found"
          options={[
            { value: "", label: "Not noted" },
            ...FINDINGS[task].map((value) => ({ value, label: FINDING_LABELS[value] })),
          ]}
          problems={problems}
        />
        <TextField
          name={`${id}-minutes`}
          label="Minutes"
          type="number"
          min={1}
          max={600}
          inputMode="numeric"
          problems={problems}
        />
        <TextField name={`${id}-partName`} label="Part used" problems={problems} />
        <TextField
          name={`${id}-partDollars`}
          label="Cost of the part, dollars"
          inputMode="decimal"
          problems={problems}
        />
        <TextField
          name={`${id}-paidDollars`}
          label="Paid to others, dollars"
          inputMode="decimal"
          problems={problems}
        />
        <TextField name={`${id}-note`} label="Note" problems={problems} />
      </div>
      {state.problems.some(({ path }) => path === "heaterId" || path === "idempotencyKey") && (
        <p className="field__problem" role="alert">
          {state.problems[0]?.message}
        </p>
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Recording …" : "Record as done"}
        </button>
      </div>
    </form>
  );
}
