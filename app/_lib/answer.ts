import type { FormAnswer } from "@/app/_components/checked-form";
import type { Outcome } from "@/lib/core/shared/outcome";

/** An outcome as a form is answered. */
export function answerOf(outcome: Outcome<unknown>): FormAnswer {
  return outcome.ok
    ? { problems: [], isSaved: true }
    : { problems: outcome.problems, isSaved: false };
}
