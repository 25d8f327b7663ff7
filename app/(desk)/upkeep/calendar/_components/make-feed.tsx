"use client";

import { useActionState, useEffect, useState } from "react";
import { SelectField } from "@/app/_components/field";
import { make } from "@/app/(desk)/upkeep/calendar/actions";

/** Makes an address and shows it, this once. */
export function MakeFeed() {
  const [answer, send, isPending] = useActionState(make, {
    problems: [],
    isSaved: false,
    path: null,
  });
  const [origin, setOrigin] = useState("");
  useEffect(() => setOrigin(window.location.origin), []);
  const general = answer.problems.filter(({ path }) => path === "");
  return (
    <form className="section" action={send}>
      <div className="field-grid">
        <SelectField
          name="content"
          label="The calendar shows"
          options={[
            { value: "rounds", label: "My rounds" },
            { value: "rounds-and-due", label: "My rounds, and what falls due each week" },
          ]}
          problems={answer.problems}
        />
      </div>
      {general.length > 0 && (
        <p className="notice notice--attention" role="alert">
          {general.map(({ message }) => message).join(" ")}
        </p>
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          Make an address
        </button>
      </div>
      {answer.path !== null && (
        <div className="notice notice--good" role="status">
          <p>
            Copy it into your calendar now: it is shown this once. Whoever has it can read your
            rounds; take it back below if it gets into other hands.
          </p>
          <div className="field">
            <label htmlFor="address">Address of your calendar</label>
            <input
              id="address"
              readOnly
              value={`${origin}${answer.path}`}
              onFocus={(event) => event.target.select()}
            />
          </div>
        </div>
      )}
    </form>
  );
}
