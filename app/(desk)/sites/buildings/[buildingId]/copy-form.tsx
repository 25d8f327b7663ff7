"use client";

import { type FormEvent, useState, useTransition } from "react";
import styles from "@/app/(desk)/sites/_components/sites.module.css";
import { type CopyAnswer, carryAnswers } from "@/app/(desk)/sites/actions";
import { SURVEY_LABELS } from "@/lib/core/heaters/readiness";
import { ANSWER_LABELS } from "@/lib/core/heaters/vocabulary";
import type { BuildingSurvey } from "@/lib/services/survey";

type Copy = NonNullable<BuildingSurvey["copy"]>;

/** Chooses which answers go from a heater that was seen to which of its like. */
export function CopyForm({
  fromId,
  items,
  others,
  sameRiser,
}: {
  readonly fromId: string;
  readonly items: Copy["items"];
  readonly others: Copy["others"];
  readonly sameRiser: boolean;
}) {
  const alike = others.filter(({ why, gains }) => why.length === 0 && gains > 0);
  const [chosenItems, setChosenItems] = useState<readonly string[]>(
    items.filter(({ goesWithPlan }) => goesWithPlan).map(({ item }) => item),
  );
  const [chosenIds, setChosenIds] = useState<readonly string[]>(
    alike.map(({ heaterId }) => heaterId),
  );
  const [answer, setAnswer] = useState<CopyAnswer | null>(null);
  const [isPending, startTransition] = useTransition();
  const toggle = (list: readonly string[], value: string) =>
    list.includes(value) ? list.filter((each) => each !== value) : [...list, value];

  const send = (event: FormEvent) => {
    event.preventDefault();
    startTransition(async () => {
      setAnswer(await carryAnswers({ fromId, toIds: chosenIds, items: chosenItems, sameRiser }));
    });
  };

  return (
    <form className="section" onSubmit={send}>
      <fieldset className={styles.choices}>
        <legend>Answers to carry over</legend>
        {items.map(({ item, answer: seen, goesWithPlan }) => (
          <label key={item} className={styles.check}>
            <input
              type="checkbox"
              checked={chosenItems.includes(item)}
              onChange={() => setChosenItems(toggle(chosenItems, item))}
            />
            <span>
              {SURVEY_LABELS[item]}: {ANSWER_LABELS[seen].toLowerCase()}
              {!goesWithPlan && <span className="soft"> (differs from home to home)</span>}
            </span>
          </label>
        ))}
      </fieldset>
      <fieldset className={styles.choices}>
        <legend>
          To {chosenIds.length} of {alike.length} like homes
        </legend>
        {alike.map(({ heaterId, tag, home }) => (
          <label key={heaterId} className={styles.check}>
            <input
              type="checkbox"
              checked={chosenIds.includes(heaterId)}
              onChange={() => setChosenIds(toggle(chosenIds, heaterId))}
            />
            <span>
              {home ? `Home ${home}` : tag} <span className="soft">{home ? tag : ""}</span>
            </span>
          </label>
        ))}
      </fieldset>
      <div className="actions">
        <button
          className="button button--primary"
          type="submit"
          disabled={isPending || chosenIds.length === 0 || chosenItems.length === 0}
        >
          {isPending ? "Carrying over …" : "Carry over as inferred"}
        </button>
        <span role="status">
          {answer?.made &&
            `${answer.made.answers} answers carried to ${answer.made.heaters} homes. They can be taken back below.`}
        </span>
      </div>
      {answer && answer.problems.length > 0 && (
        <p className="notice notice--attention" role="alert">
          {answer.problems.map(({ message }) => message).join(" ")}
        </p>
      )}
    </form>
  );
}
