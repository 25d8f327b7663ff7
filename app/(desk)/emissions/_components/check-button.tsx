"use client";

import { useActionState } from "react";
import { type CheckAnswer, checkAccount } from "@/app/(desk)/emissions/actions";

/** Computes a kept account again from its own rows and says what came of it. */
export function CheckButton({ runId }: { readonly runId: string }) {
  const [answer, check, isPending] = useActionState<CheckAnswer>(() => checkAccount(runId), null);
  return (
    <form action={check} className="actions">
      <button className="button" type="submit" disabled={isPending}>
        {isPending ? "Computing again …" : "Check that it reproduces"}
      </button>
      <span role="status">
        {answer && (
          <span
            className={`mark ${answer.isGood ? "mark--good" : "mark--attention"}`}
            style={{ whiteSpace: "normal" }}
          >
            {answer.sentence}
          </span>
        )}
      </span>
    </form>
  );
}
