"use client";

import { useActionState } from "react";
import { runScenario } from "@/app/(desk)/plans/actions";

/** Computes a plan of the scenario as it is, and goes to it. */
export function RunButton({
  scenarioId,
  label = "Compute again",
  isPrimary = false,
}: {
  readonly scenarioId: string;
  readonly label?: string;
  readonly isPrimary?: boolean;
}) {
  const [state, action, isPending] = useActionState(runScenario, { problems: [] });
  return (
    <form action={action}>
      <input type="hidden" name="scenarioId" value={scenarioId} />
      <button
        className={isPrimary ? "button button--primary" : "button"}
        type="submit"
        disabled={isPending}
      >
        {isPending ? "Asking …" : label}
      </button>
      {state.problems.map((problem) => (
        <p key={problem.message} className="field__problem" role="alert">
          {problem.message}
        </p>
      ))}
    </form>
  );
}
