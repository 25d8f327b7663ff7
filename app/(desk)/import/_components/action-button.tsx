"use client";

import { useState, useTransition } from "react";
import { type ActionState, discardFile, resumeFile, undoFile } from "@/app/(desk)/import/actions";

const ACTS = {
  undo: { run: undoFile, label: "Undo this file", pending: "Undoing …" },
  resume: { run: resumeFile, label: "Start it again", pending: "Starting …" },
  discard: { run: discardFile, label: "Put this file aside", pending: "Putting aside …" },
} as const;

/** One button for a whole file, that says what kept it from working. */
export function FileButton({
  batchId,
  act,
  label,
}: {
  readonly batchId: string;
  readonly act: keyof typeof ACTS;
  readonly label?: string;
}) {
  const { run, label: usual, pending } = ACTS[act];
  const [isPending, start] = useTransition();
  const [state, setState] = useState<ActionState>({ problems: [] });
  return (
    <>
      <button
        className="button"
        type="button"
        disabled={isPending}
        onClick={() => start(async () => setState((await run(batchId)) ?? { problems: [] }))}
      >
        {isPending ? pending : (label ?? usual)}
      </button>
      {state.problems.map(({ message }) => (
        <span key={message} className="field__problem" role="alert">
          {message}
        </span>
      ))}
    </>
  );
}
