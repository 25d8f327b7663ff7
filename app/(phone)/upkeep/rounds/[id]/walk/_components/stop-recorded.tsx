"use client";

import { useState } from "react";
import {
  changeOutbox,
  type EntryItem,
  type OutboxChange,
  type OutboxItem,
  type PhotoItem,
} from "@/app/_lib/outbox";
import { draftKey, draftOf } from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/draft";
import type {
  RoundOnPhone,
  StopOnPhone,
} from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/round-on-phone";
import { TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import { FINDING_LABELS, type Finding } from "@/lib/core/upkeep/findings";
import { URGENT_LABELS } from "@/lib/core/upkeep/urgent-matters";
import styles from "./walk.module.css";

/** What stands at a stop that is closed, what waits here, and what can be done about it. */
export function StopRecorded({
  round,
  stop,
  items,
  owner,
  close,
}: {
  readonly round: RoundOnPhone;
  readonly stop: StopOnPhone;
  readonly items: readonly OutboxItem[];
  readonly owner: string;
  readonly close: () => void;
}) {
  const [problem, setProblem] = useState<string | null>(null);
  const mine = items.filter((item): item is EntryItem => item.kind === "entry");
  const keys = new Set(mine.map(({ key }) => key));
  const ofKey = (key: string) => items.filter((item) => item.key === key);
  const idsOf = (key: string) => ofKey(key).map(({ id }) => id);
  const attempt = (change: OutboxChange) =>
    void changeOutbox(change)
      .then(close)
      .catch(() => setProblem("This phone could not keep that. Try again."));

  /** Taken back on the server as well, whether or not it has arrived there. */
  const takeBackItem = (key: string): OutboxItem => ({
    kind: "take-back",
    id: `take-back ${key}`,
    owner,
    roundId: round.id,
    stopId: stop.id,
    key,
    order: Date.now(),
    state: "waiting",
    message: null,
  });
  const takeBack = (key: string) => attempt({ put: [takeBackItem(key)], drop: idsOf(key) });
  const alter = (item: EntryItem) => {
    const photos = ofKey(item.key).filter((one): one is PhotoItem => one.kind === "photo");
    const isUndecided = item.state === "conflict" || item.state === "refused";
    attempt({
      put: isUndecided ? [] : [takeBackItem(item.key)],
      drop: idsOf(item.key),
      putDraft: { key: draftKey(owner, stop.id), draft: draftOf(item.body, photos) },
    });
  };

  return (
    <div className={styles.pad}>
      <button className="button button--quiet" type="button" onClick={close}>
        All stops
      </button>
      <h1 className={styles.title}>
        {stop.building}, {stop.label}
      </h1>
      {problem && (
        <p className="field__problem" role="alert">
          {problem}
        </p>
      )}
      {mine.map((item) => (
        <section key={item.id} className={styles.heater}>
          <h2 className={styles.tag}>{STATE_WORDS[item.state]}</h2>
          {item.message && (
            <p className="notice notice--attention" role="alert">
              {item.message}
            </p>
          )}
          <ul>
            {linesOf(item, stop).map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
          {item.state === "conflict" && (
            <button
              className={`button button--primary ${styles.large}`}
              type="button"
              onClick={() =>
                attempt({
                  put: [
                    {
                      ...item,
                      body: { ...item.body, keepBoth: true },
                      state: "waiting",
                      message: null,
                    },
                  ],
                })
              }
            >
              Keep mine as well
            </button>
          )}
          {item.state !== "conflict" && item.body.outcome === "done" && (
            <button className={`button ${styles.large}`} type="button" onClick={() => alter(item)}>
              Change it
            </button>
          )}
          {item.state === "conflict" || item.state === "refused" ? (
            <button
              className={`button ${styles.large}`}
              type="button"
              onClick={() => attempt({ drop: idsOf(item.key) })}
            >
              Drop mine
            </button>
          ) : (
            <button
              className={`button ${styles.large}`}
              type="button"
              onClick={() => takeBack(item.key)}
            >
              Take back
            </button>
          )}
        </section>
      ))}
      {stop.entries
        .filter(({ key }) => !keys.has(key))
        .map((entry) => (
          <section key={entry.key} className={styles.heater}>
            <h2 className={styles.tag}>
              {entry.outcome === "done" ? "Done" : "No access"}, {entry.personName}
            </h2>
            <ul>
              {entry.lines.map((line) => (
                <li key={line}>{line}</li>
              ))}
            </ul>
            <button
              className={`button ${styles.large}`}
              type="button"
              onClick={() => takeBack(entry.key)}
            >
              Take back
            </button>
          </section>
        ))}
    </div>
  );
}

const STATE_WORDS: Readonly<Record<OutboxItem["state"], string>> = {
  waiting: "Waits on this phone",
  sent: "Sent",
  conflict: "Needs you",
  refused: "Could not be taken",
};

function linesOf({ body }: EntryItem, stop: StopOnPhone): readonly string[] {
  if (body.outcome === "no-access") return ["No access"];
  return body.heaters.flatMap((heater) => {
    const tag = stop.heaters.find(({ id }) => id === heater.heaterId)?.tag ?? "";
    return [
      ...heater.tasks.map(({ task, finding }) => {
        const found =
          finding === null ? "" : `: ${FINDING_LABELS[finding as Finding].toLowerCase()}`;
        return `${tag}: ${TASK_LABELS[task]}${found}`;
      }),
      ...heater.urgent.map((kind) => `${tag}: ${URGENT_LABELS[kind]}`),
      ...(heater.minutes === null ? [] : [`${tag}: ${heater.minutes} minutes`]),
      ...heater.parts.map(({ name, quantity }) => `${tag}: ${quantity} × ${name}`),
      ...(heater.photos > 0 ? [`${tag}: ${heater.photos} photos`] : []),
    ];
  });
}
