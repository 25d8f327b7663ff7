"use client";

import { useActionState } from "react";
import type { FormAnswer } from "./checked-form";

/** A button that does one thing and says why when it could not. */
export function ActButton({
  act,
  label,
  className = "button button--quiet",
}: {
  readonly act: () => Promise<FormAnswer>;
  readonly label: string;
  readonly className?: string;
}) {
  const [answer, send, isPending] = useActionState(act, { problems: [], isSaved: false });
  return (
    <form action={send}>
      <button className={className} type="submit" disabled={isPending}>
        {label}
      </button>
      {answer.problems.length > 0 && (
        <p className="field__problem" role="alert">
          {answer.problems.map(({ message }) => message).join(" ")}
        </p>
      )}
    </form>
  );
}
