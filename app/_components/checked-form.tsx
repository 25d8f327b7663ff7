"use client";

import { type ReactNode, startTransition, useActionState, useEffect, useRef } from "react";
import type { z } from "zod";
import { entriesOf } from "@/app/_lib/entries";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";

/** What a server action answers to a form. */
export type FormAnswer = { readonly problems: readonly Problem[]; readonly isSaved: boolean };

const UNTOUCHED: FormAnswer = { problems: [], isSaved: false };

/**
 * A form that is checked here with the schema that the server checks it with, keeps what was typed
 * and puts the focus on the first field in error.
 */
export function CheckedForm({
  schema,
  action,
  submitLabel,
  savedMessage = "Saved.",
  extraActions,
  children,
}: {
  readonly schema: z.ZodType;
  readonly action: (form: FormData) => Promise<FormAnswer>;
  readonly submitLabel: string;
  readonly savedMessage?: string;
  /** Stands beside the button that sends. */
  readonly extraActions?: ReactNode;
  readonly children: (problems: readonly Problem[]) => ReactNode;
}) {
  const form = useRef<HTMLFormElement>(null);
  const [answer, send, isPending] = useActionState(
    async (_before: FormAnswer, data: FormData): Promise<FormAnswer> => {
      const checked = parseWith(schema, entriesOf(data));
      if (!checked.ok) return { problems: checked.problems, isSaved: false };
      return action(data);
    },
    UNTOUCHED,
  );
  useEffect(() => {
    if (answer.problems.length === 0) return;
    form.current?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus();
  }, [answer]);
  const general = answer.problems.filter(({ path }) => path === "");

  return (
    <form
      ref={form}
      className="section"
      noValidate
      method="post"
      onSubmit={(event) => {
        // Sent by hand, since a form sent by its action is emptied afterwards.
        event.preventDefault();
        const data = new FormData(event.currentTarget);
        startTransition(() => send(data));
      }}
    >
      {children(answer.problems)}
      {general.length > 0 && (
        <p className="notice notice--attention" role="alert">
          {general.map(({ message }) => message).join(" ")}
        </p>
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Saving …" : submitLabel}
        </button>
        {extraActions}
        <span role="status">{answer.isSaved && !isPending ? savedMessage : ""}</span>
      </div>
    </form>
  );
}
