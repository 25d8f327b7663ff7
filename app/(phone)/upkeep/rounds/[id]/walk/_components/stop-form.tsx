"use client";

import { useEffect, useRef, useState } from "react";
import { Caution } from "@/app/_components/caution";
import { UrgentCaution } from "@/app/_components/urgent-caution";
import { changeOutbox, type OutboxItem, readDraft, writeDraft } from "@/app/_lib/outbox";
import {
  dayOnPhone,
  draftKey,
  entryOf,
  type HeaterDraft,
  heaterDraft,
  newDraft,
  type StopDraft,
} from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/draft";
import type { StopOnPhone } from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/round-on-phone";
import { CAUTIONS, type HazardousAct } from "@/lib/core/heaters/cautions";
import type { TaskKind } from "@/lib/core/heaters/vocabulary";
import { isFindingOf } from "@/lib/core/upkeep/findings";
import type { RoundEntry } from "@/lib/core/upkeep/round-entry";
import { cautionOfTask } from "@/lib/core/upkeep/task-cautions";
import { URGENT_KINDS, type UrgentKind, urgentMattersOf } from "@/lib/core/upkeep/urgent-matters";
import { HeaterFields } from "./heater-fields";
import styles from "./walk.module.css";

/**
 * What is done at a stop. Every change is kept on the phone at once; saving puts it into the outbox in
 * one step, from where it is sent.
 */
export function StopForm({
  roundId,
  stop,
  owner,
  close,
}: {
  readonly roundId: string;
  readonly stop: StopOnPhone;
  readonly owner: string;
  readonly close: () => void;
}) {
  const key = draftKey(owner, stop.id);
  const [draft, setDraft] = useState<StopDraft | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const isSaving = useRef(false);

  useEffect(() => {
    void readDraft<StopDraft>(key).then((kept) => setDraft(kept ?? newDraft()));
  }, [key]);

  const raised = draft === null ? null : urgentOf(draft, stop).length;
  const shown = useRef<number | null>(null);
  useEffect(() => {
    // What to do first about something urgent is at the top: it comes into sight by itself.
    if (raised !== null && shown.current !== null && raised > shown.current) window.scrollTo(0, 0);
    shown.current = raised;
  }, [raised]);

  if (draft === null) return <p className={styles.pad}>Opening the stop …</p>;

  const change = (heaterId: string, heater: HeaterDraft) => {
    const next = { ...draft, heaters: { ...draft.heaters, [heaterId]: heater } };
    setDraft(next);
    setProblem(null);
    void writeDraft(key, next).catch(() =>
      setProblem(
        "This phone cannot keep entries. Do not close the page before everything is sent.",
      ),
    );
  };

  const save = async (outcome: "done" | "no-access") => {
    if (isSaving.current) return;
    const filled = entryOf(draft, { roundId, stop, outcome, doneOn: dayOnPhone() });
    if ("problem" in filled) {
      setProblem(filled.problem);
      return;
    }
    isSaving.current = true;
    try {
      await changeOutbox({ put: itemsOf(draft, filled.entry, owner), dropDraft: key });
      close();
    } catch {
      setProblem("This phone could not keep the entry. Free some space and save again.");
      isSaving.current = false;
    }
  };

  const urgent = urgentOf(draft, stop);
  return (
    <>
      <header className={styles.pad}>
        <button className="button button--quiet" type="button" onClick={close}>
          All stops
        </button>
        <h1 className={styles.title}>
          {stop.building}, {stop.label}
        </h1>
        {stop.access && <p>{stop.access}</p>}
        {urgent.map((kind) => (
          <UrgentCaution key={kind} kind={kind} />
        ))}
        <details className={styles.cautions}>
          <summary>Cautions for this work</summary>
          {actsOf(stop).map((act) => (
            <Caution key={act}>{CAUTIONS[act]}</Caution>
          ))}
        </details>
      </header>
      {stop.heaters.map((heater) => (
        <HeaterFields
          key={heater.id}
          heater={heater}
          draft={heaterDraft(draft, heater.id)}
          change={(next) => change(heater.id, next)}
        />
      ))}
      <div className={styles.bar}>
        {problem && (
          <p className="field__problem" role="alert">
            {problem}
          </p>
        )}
        <button
          className={`button ${styles.large}`}
          type="button"
          onClick={() => save("no-access")}
        >
          No access
        </button>
        <button
          className={`button button--primary ${styles.large}`}
          type="button"
          onClick={() => save("done")}
        >
          Save stop
        </button>
      </div>
    </>
  );
}

function itemsOf(draft: StopDraft, entry: RoundEntry, owner: string): readonly OutboxItem[] {
  const common = {
    owner,
    roundId: entry.roundId,
    stopId: entry.stopId,
    key: entry.key,
    state: "waiting",
    message: null,
  } as const;
  const order = Date.now();
  const photos = entry.outcome === "done" ? Object.entries(draft.heaters) : [];
  return [
    { ...common, kind: "entry", id: entry.key, order, body: entry },
    ...photos.flatMap(([heaterId, heater]) =>
      heater.photos.map(
        ({ id, picture }, index): OutboxItem => ({
          ...common,
          kind: "photo",
          id,
          heaterId,
          picture,
          order: order + (index + 1) / 100,
        }),
      ),
    ),
  ];
}

function actsOf(stop: StopOnPhone): readonly HazardousAct[] {
  const acts = new Set<HazardousAct>();
  for (const { tasks } of stop.heaters) {
    for (const { task } of tasks) {
      const act = cautionOfTask(task);
      if (act !== null) acts.add(act);
    }
  }
  return [...acts];
}

/** What the draft raises, so that the caution stands on the screen before anything is saved. */
function urgentOf(draft: StopDraft, stop: StopOnPhone): readonly UrgentKind[] {
  const found = new Set<UrgentKind>();
  for (const { id } of stop.heaters) {
    const { choices, urgent, tapF } = heaterDraft(draft, id);
    const raised = urgentMattersOf({
      named: urgent,
      tasks: (Object.entries(choices) as [TaskKind, string][]).map(([task, choice]) => ({
        task,
        finding: isFindingOf(task, choice) ? choice : null,
      })),
      tapF: tapF.trim() === "" ? null : Number(tapF),
    });
    for (const kind of raised) found.add(kind);
  }
  return URGENT_KINDS.filter((kind) => found.has(kind));
}
