"use client";

import { useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { ProblemList } from "@/app/(desk)/plans/_components/problem-list";
import type { Problem } from "@/lib/core/shared/outcome";
import { submitReplan } from "./actions";
import styles from "./replan.module.css";

/** Penalty and reason; what was typed stays when something is to be put right. */
export function ReplanForm({
  runId,
  ownScenarioId,
  scenarios,
  defaultPenalty,
}: {
  readonly runId: string;
  readonly ownScenarioId: string;
  readonly scenarios: readonly { readonly id: string; readonly name: string }[];
  /** Dollars. */
  readonly defaultPenalty: string;
}) {
  const [scenarioId, setScenarioId] = useState(ownScenarioId);
  const [penalty, setPenalty] = useState(defaultPenalty);
  const [reason, setReason] = useState("");
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isPending, start] = useTransition();
  return (
    <form
      className={styles.form}
      onSubmit={(event) => {
        event.preventDefault();
        start(async () =>
          setProblems((await submitReplan(runId, { scenarioId, penalty, reason })).problems),
        );
      }}
    >
      <ProblemList problems={problems.filter(({ path }) => path === "")} />
      <SelectField
        name="scenarioId"
        label="Budgets, crews, options and prices of"
        hint="A budget or rule that has changed is changed in the scenario: save it as another, then choose it here."
        options={scenarios.map(({ id, name }) => ({
          value: id,
          label: id === ownScenarioId ? `${name} (this plan's own)` : name,
        }))}
        value={scenarioId}
        onChange={(event) => setScenarioId(event.target.value)}
        problems={problems}
      />
      <TextField
        name="penalty"
        label="Moving a line must save at least, $"
        hint={`In present value, for each line. $${defaultPenalty} is assumed: about two hours of office work for a new notice to the resident, a new date with the crew and a changed order. 0 moves whatever pays at all.`}
        inputMode="decimal"
        value={penalty}
        onChange={(event) => setPenalty(event.target.value)}
        problems={problems}
      />
      <TextField
        name="reason"
        label="Why the plan is made anew"
        hint="Stands beside the changes, for example: three failures since June and a smaller budget."
        value={reason}
        maxLength={500}
        onChange={(event) => setReason(event.target.value)}
        problems={problems}
      />
      <p className="actions">
        <button type="submit" className="button button--primary" disabled={isPending}>
          {isPending ? "Asking …" : "Replan from today"}
        </button>
      </p>
    </form>
  );
}
