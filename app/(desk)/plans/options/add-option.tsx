"use client";

import { useActionState } from "react";
import { startOption } from "./actions";

type Choice = { readonly code: string; readonly name: string };

/** Starts an option from the starting catalogue or from a copy of one that is there. */
export function AddOption({
  starting,
  own,
}: {
  readonly starting: readonly Choice[];
  readonly own: readonly Choice[];
}) {
  const [state, send, isPending] = useActionState(startOption, { problems: [] });
  return (
    <form className="filter" action={send}>
      <div className="field">
        <label htmlFor="from">Start from</label>
        <select id="from" name="from">
          {starting.length > 0 && (
            <optgroup label="Starting catalogue">
              {starting.map(({ code, name }) => (
                <option key={code} value={code}>
                  {name}
                </option>
              ))}
            </optgroup>
          )}
          <optgroup label="A copy of">
            {own.map(({ code, name }) => (
              <option key={code} value={code}>
                {name}
              </option>
            ))}
          </optgroup>
        </select>
      </div>
      <button className="button" type="submit" disabled={isPending}>
        {isPending ? "Adding …" : "Add it"}
      </button>
      {state.problems.length > 0 && (
        <p className="field__problem" role="alert">
          {state.problems.map(({ message }) => message).join(" ")}
        </p>
      )}
    </form>
  );
}
