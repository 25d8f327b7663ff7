"use client";

import { startTransition, useActionState } from "react";
import { ActButton } from "@/app/_components/act-button";
import type { FormAnswer } from "@/app/_components/checked-form";
import {
  assign,
  cancel,
  end,
  giveNotices,
  move,
  reopen,
  reorder,
} from "@/app/(desk)/upkeep/rounds/actions";
import styles from "./rounds.module.css";

const UNTOUCHED: FormAnswer = { problems: [], isSaved: false };

function useSend(act: (form: FormData) => Promise<FormAnswer>) {
  const [answer, send, isPending] = useActionState(
    (_before: FormAnswer, form: FormData) => act(form),
    UNTOUCHED,
  );
  const onSubmit = (event: React.FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const form = new FormData(event.currentTarget);
    startTransition(() => send(form));
  };
  const note = answer.problems.map(({ message }) => message).join(" ");
  return { onSubmit, isPending, note, isSaved: answer.isSaved && !isPending };
}

function Note({ note, isSaved }: { readonly note: string; readonly isSaved: boolean }) {
  if (note) {
    return (
      <p className="field__problem" role="alert">
        {note}
      </p>
    );
  }
  return <span role="status">{isSaved ? "Saved." : ""}</span>;
}

export function AssignForm({
  roundId,
  people,
  assigneeId,
}: {
  readonly roundId: string;
  readonly people: readonly { readonly userId: string; readonly name: string }[];
  readonly assigneeId: string | null;
}) {
  const { onSubmit, isPending, ...note } = useSend((form) => assign(roundId, form));
  return (
    <form className={styles.inline} onSubmit={onSubmit}>
      <div className="field">
        <label htmlFor="person">Person</label>
        <select id="person" name="person" defaultValue={assigneeId ?? ""} key={assigneeId}>
          <option value="">Nobody yet</option>
          {people.map(({ userId, name }) => (
            <option key={userId} value={userId}>
              {name}
            </option>
          ))}
        </select>
      </div>
      <button className="button" type="submit" disabled={isPending}>
        Assign
      </button>
      <Note {...note} />
    </form>
  );
}

export function MoveForm({ roundId, day }: { readonly roundId: string; readonly day: string }) {
  const { onSubmit, isPending, ...note } = useSend((form) => move(roundId, form));
  return (
    <form className={styles.inline} onSubmit={onSubmit}>
      <div className="field">
        <label htmlFor="day">Day</label>
        <input id="day" name="day" type="date" defaultValue={day} key={day} />
      </div>
      <button className="button" type="submit" disabled={isPending}>
        Move
      </button>
      <Note {...note} />
    </form>
  );
}

export function RoundActs({
  roundId,
  status,
  isUntouched,
  noticesGiven,
}: {
  readonly roundId: string;
  readonly status: "planned" | "done" | "cancelled";
  /** No stop is closed yet. */
  readonly isUntouched: boolean;
  readonly noticesGiven: boolean;
}) {
  if (status !== "planned") {
    return (
      <div className="actions">
        <ActButton act={() => reopen(roundId)} label="Take up again" className="button" />
      </div>
    );
  }
  return (
    <div className="actions">
      <ActButton
        act={() => giveNotices(roundId, !noticesGiven)}
        label={noticesGiven ? "Notices were not given" : "Notices are given"}
        className="button"
      />
      {isUntouched && (
        <ActButton
          act={() => reorder(roundId)}
          label="Look for a better order"
          className="button"
        />
      )}
      {!isUntouched && (
        <ActButton act={() => end(roundId)} label="End the round" className="button" />
      )}
      <ActButton act={() => cancel(roundId)} label="Cancel the round" />
    </div>
  );
}
