"use client";

import { useState, useTransition } from "react";
import { TextField } from "@/app/_components/field";
import { type ActionState, bringIn } from "@/app/(desk)/import/actions";
import styles from "@/app/(desk)/import/import.module.css";

/** The last word: what to do with refused rows, since when ends are on record, and the act itself. */
export function CommitForm({
  batchId,
  label,
  refusedCount,
  retired,
  today,
}: {
  readonly batchId: string;
  readonly label: string;
  readonly refusedCount: number;
  readonly retired: { readonly count: number; readonly firstDay: string | null };
  readonly today: string;
}) {
  const [allOrNothing, setAllOrNothing] = useState(false);
  const [since, setSince] = useState("");
  const [isPending, start] = useTransition();
  const [state, setState] = useState<ActionState>({ problems: [] });
  const isHeld = allOrNothing && refusedCount > 0;
  const general = state.problems.filter(({ path }) => path !== "endsOnRecordSince");

  return (
    <form
      className="section"
      onSubmit={(event) => {
        event.preventDefault();
        const options = { allOrNothing, endsOnRecordSince: since };
        start(async () => setState((await bringIn(batchId, options)) ?? { problems: [] }));
      }}
    >
      {refusedCount > 0 && (
        <label className={styles.check}>
          <input
            type="checkbox"
            checked={allOrNothing}
            onChange={({ currentTarget }) => setAllOrNothing(currentTarget.checked)}
          />
          All or nothing: while a row is refused, bring none in
        </label>
      )}
      {retired.count > 0 && (
        <div style={{ maxWidth: "44rem" }}>
          <TextField
            name="endsOnRecordSince"
            label="The list holds every heater that left service since"
            type="date"
            max={today}
            value={since}
            onChange={({ currentTarget }) => setSince(currentTarget.value)}
            problems={state.problems}
            hint={
              <>
                {retired.count === 1
                  ? "One new heater has left service,"
                  : `${retired.count.toLocaleString("en-US")} new heaters have left service, the first`}{" "}
                on {retired.firstDay}. Where the list of them is complete from some day on, the risk
                model learns from it: give that day. Left empty, they are kept on record and not
                learnt from, since a list of failures alone would make every heater look worse than
                it is.
              </>
            }
          />
        </div>
      )}
      {general.map(({ message }) => (
        <p key={message} className="notice notice--attention" role="alert">
          {message}
        </p>
      ))}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending || isHeld}>
          {isPending ? "Bringing in …" : label}
        </button>
        {isHeld && (
          <span className="soft">
            {refusedCount === 1
              ? "A row is refused: put it right"
              : `${refusedCount.toLocaleString("en-US")} rows are refused: put them right`}{" "}
            and bring the file again, or take the tick away.
          </span>
        )}
      </div>
    </form>
  );
}
