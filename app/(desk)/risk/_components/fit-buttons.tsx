"use client";

import { useActionState } from "react";
import { type ActionState, adopt, startFit, stopFit, testAgain } from "@/app/(desk)/risk/actions";

const NOTHING_WRONG: ActionState = { problems: [] };

function ActionButton({
  action,
  fitId = "",
  label,
  busyLabel,
  isPrimary = false,
}: {
  readonly action: (before: ActionState, form: FormData) => Promise<ActionState>;
  readonly fitId?: string;
  readonly label: string;
  readonly busyLabel: string;
  readonly isPrimary?: boolean;
}) {
  const [state, submit, isPending] = useActionState(action, NOTHING_WRONG);
  return (
    <form action={submit}>
      <input type="hidden" name="fitId" value={fitId} />
      <button
        className={isPrimary ? "button button--primary" : "button"}
        type="submit"
        disabled={isPending}
      >
        {isPending ? busyLabel : label}
      </button>
      {state.problems.map(({ message }) => (
        <p key={message} className="field__problem" role="alert">
          {message}
        </p>
      ))}
    </form>
  );
}

/** Learns from the record as it is today. */
export function StartFitButton({ isPrimary = false }: { readonly isPrimary?: boolean }) {
  return (
    <ActionButton
      action={startFit}
      label="Learn from the record"
      busyLabel="Asking …"
      isPrimary={isPrimary}
    />
  );
}

export function AdoptButton({
  fitId,
  number,
}: {
  readonly fitId: string;
  readonly number: number;
}) {
  return (
    <ActionButton
      action={adopt}
      fitId={fitId}
      label={`Rank with fit ${number}`}
      busyLabel="Taking into use …"
      isPrimary
    />
  );
}

export function AdoptPublishedButton() {
  return (
    <ActionButton
      action={adopt}
      label="Rank with published lifetimes"
      busyLabel="Taking into use …"
    />
  );
}

export function CancelFitButton({ fitId }: { readonly fitId: string }) {
  return <ActionButton action={stopFit} fitId={fitId} label="Cancel" busyLabel="Cancelling …" />;
}

export function TestAgainButton({ fitId }: { readonly fitId: string }) {
  return (
    <ActionButton
      action={testAgain}
      fitId={fitId}
      label="Try on past years again"
      busyLabel="Asking …"
    />
  );
}
