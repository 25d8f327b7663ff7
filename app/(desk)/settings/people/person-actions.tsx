"use client";

import { useActionState, useState } from "react";
import type { FormAnswer } from "@/app/_components/checked-form";
import styles from "@/app/(desk)/settings/_components/settings.module.css";
import { ROLE_LABELS, ROLES, type Role } from "@/lib/core/shared/roles";
import { dropPerson, giveRole, type LinkAnswer, makeNewLink } from "./actions";
import { LinkNote } from "./link-note";

const UNTOUCHED: FormAnswer = { problems: [], isSaved: false };

function Problems({ answer }: { readonly answer: FormAnswer }) {
  if (answer.problems.length === 0) return null;
  return (
    <p className="field__problem" role="alert">
      {answer.problems.map(({ message }) => message).join(" ")}
    </p>
  );
}

/** Changes a person's role as soon as another is chosen. */
export function RoleChoice({
  userId,
  name,
  role,
}: {
  readonly userId: string;
  readonly name: string;
  readonly role: Role;
}) {
  const [answer, send, isPending] = useActionState(
    (_before: FormAnswer, form: FormData) => giveRole(userId, String(form.get("role"))),
    UNTOUCHED,
  );
  return (
    // A refused choice goes back to the role that holds: the key makes the field anew.
    <form key={`${role}-${answer.problems.length}`} className={styles.roleForm} action={send}>
      <select
        name="role"
        aria-label={`Role of ${name}`}
        defaultValue={role}
        disabled={isPending}
        onChange={(event) => event.currentTarget.form?.requestSubmit()}
      >
        {ROLES.map((value) => (
          <option key={value} value={value}>
            {ROLE_LABELS[value]}
          </option>
        ))}
      </select>
      <Problems answer={answer} />
    </form>
  );
}

/** A new link for a person, and taking the person out, in two steps. */
export function PersonActions({
  userId,
  name,
}: {
  readonly userId: string;
  readonly name: string;
}) {
  const [isAsking, setIsAsking] = useState(false);
  const [linkAnswer, makeLink, isMaking] = useActionState<LinkAnswer>(() => makeNewLink(userId), {
    ...UNTOUCHED,
    link: null,
  });
  const [dropAnswer, drop, isDropping] = useActionState(() => dropPerson(userId), UNTOUCHED);
  return (
    <div className="section">
      <div className={styles.rowActions}>
        <form action={makeLink}>
          <button className="button button--quiet" type="submit" disabled={isMaking}>
            New link<span className="visually-hidden"> for {name}</span>
          </button>
        </form>
        {isAsking ? (
          <form action={drop} className={styles.rowActions}>
            <span>Ends their sign-in.</span>
            <button className="button" type="submit" disabled={isDropping}>
              Remove {name}
            </button>
            <button
              className="button button--quiet"
              type="button"
              onClick={() => setIsAsking(false)}
            >
              Keep
            </button>
          </form>
        ) : (
          <button className="button button--quiet" type="button" onClick={() => setIsAsking(true)}>
            Remove …<span className="visually-hidden"> {name}</span>
          </button>
        )}
      </div>
      <Problems answer={linkAnswer} />
      <Problems answer={dropAnswer} />
      {linkAnswer.link && <LinkNote key={linkAnswer.link.token} link={linkAnswer.link} />}
    </div>
  );
}
