"use client";

import { useId, useState } from "react";
import { shrinkPhoto } from "@/app/_lib/shrink-photo";
import type { HeaterDraft, PartDraft } from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/draft";
import type { HeaterOnPhone } from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/round-on-phone";
import { TASK_LABELS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import { FINDING_LABELS, FINDINGS } from "@/lib/core/upkeep/findings";
import { MOST_PHOTOS } from "@/lib/core/upkeep/round-entry";
import { URGENT_KINDS, URGENT_LABELS } from "@/lib/core/upkeep/urgent-matters";
import styles from "./walk.module.css";

/** Parts that a round uses as a rule: one touch each. */
const USUAL_PARTS = [
  "Anode rod",
  "Relief valve",
  "Drain valve",
  "Flexible connector",
  "Battery",
  "Washer",
];
const MINUTES_STEP = 5;

/** All that is recorded of one heater, in targets for a thumb. */
export function HeaterFields({
  heater,
  draft,
  change,
}: {
  readonly heater: HeaterOnPhone;
  readonly draft: HeaterDraft;
  readonly change: (draft: HeaterDraft) => void;
}) {
  const id = useId();
  const planned = heater.tasks.reduce((sum, { minutes }) => sum + minutes, 0);
  const setMinutes = (minutes: number) =>
    change({ ...draft, minutes: Math.min(600, Math.max(1, minutes)) });
  return (
    <section className={styles.heater} aria-labelledby={`${id}-heater`}>
      <h2 id={`${id}-heater`} className={styles.tag}>
        {heater.tag}{" "}
        <span className="soft">
          {heater.kind}, {heater.place.toLowerCase()}
        </span>
      </h2>

      <fieldset className={styles.group}>
        <legend>Anything urgent?</legend>
        <div className={styles.chips}>
          {URGENT_KINDS.map((kind) => {
            const isOn = draft.urgent.includes(kind);
            return (
              <button
                key={kind}
                type="button"
                className={styles.chip}
                aria-pressed={isOn}
                onClick={() =>
                  change({
                    ...draft,
                    urgent: isOn
                      ? draft.urgent.filter((one) => one !== kind)
                      : [...draft.urgent, kind],
                  })
                }
              >
                {URGENT_LABELS[kind]}
              </button>
            );
          })}
        </div>
      </fieldset>

      {heater.tasks.map(({ task }) => (
        <TaskField
          key={task}
          task={task}
          choice={draft.choices[task] ?? "not-done"}
          choose={(choice) => change({ ...draft, choices: { ...draft.choices, [task]: choice } })}
        />
      ))}

      <fieldset className={styles.group}>
        <legend>Minutes</legend>
        <div className={styles.stepper}>
          <button
            type="button"
            className={styles.step}
            aria-label="5 minutes less"
            onClick={() => setMinutes((draft.minutes ?? planned) - MINUTES_STEP)}
          >
            −
          </button>
          <output>
            {draft.minutes === null ? `not noted (planned ${planned})` : draft.minutes}
          </output>
          <button
            type="button"
            className={styles.step}
            aria-label="5 minutes more"
            onClick={() =>
              setMinutes(draft.minutes === null ? planned : draft.minutes + MINUTES_STEP)
            }
          >
            +
          </button>
        </div>
      </fieldset>

      <div className="field">
        <label htmlFor={`${id}-tap`}>Hottest at the tap, °F</label>
        <input
          id={`${id}-tap`}
          className={styles.large}
          inputMode="decimal"
          value={draft.tapF}
          onChange={(event) => change({ ...draft, tapF: event.target.value })}
        />
      </div>

      <Parts parts={draft.parts} change={(parts) => change({ ...draft, parts })} />
      <Photos draft={draft} change={change} />

      <div className="field">
        <label htmlFor={`${id}-note`}>Note</label>
        <textarea
          id={`${id}-note`}
          maxLength={2000}
          value={draft.note}
          onChange={(event) => change({ ...draft, note: event.target.value })}
        />
      </div>
    </section>
  );
}

function TaskField({
  task,
  choice,
  choose,
}: {
  readonly task: TaskKind;
  readonly choice: string;
  readonly choose: (choice: string) => void;
}) {
  const name = useId();
  const options = [
    ...FINDINGS[task].map((finding) => ({
      value: finding as string,
      label: FINDING_LABELS[finding],
    })),
    { value: "done", label: "Done, finding not noted" },
    { value: "not-done", label: "Not done" },
  ];
  return (
    <fieldset className={styles.group}>
      <legend>{TASK_LABELS[task]}</legend>
      {options.map(({ value, label }) => (
        <label key={value} className={styles.option}>
          <input
            type="radio"
            name={name}
            checked={choice === value}
            onChange={() => choose(value)}
          />
          {label}
        </label>
      ))}
    </fieldset>
  );
}

function Parts({
  parts,
  change,
}: {
  readonly parts: readonly PartDraft[];
  readonly change: (parts: readonly PartDraft[]) => void;
}) {
  const set = (index: number, next: Partial<PartDraft>) =>
    change(parts.map((part, at) => (at === index ? { ...part, ...next } : part)));
  const add = (name: string) => change([...parts, { name, quantity: 1, dollars: "" }]);
  return (
    <fieldset className={styles.group}>
      <legend>Parts used</legend>
      {parts.map((part, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a part has nothing but its place while it is typed
        <div key={index} className={styles.part}>
          <input
            aria-label={`Part ${index + 1}`}
            value={part.name}
            onChange={(event) => set(index, { name: event.target.value })}
          />
          <input
            aria-label={`Number of part ${index + 1}`}
            type="number"
            min={1}
            max={99}
            value={part.quantity}
            onChange={(event) =>
              set(index, { quantity: Math.max(1, Number(event.target.value) || 1) })
            }
          />
          <input
            aria-label={`Dollars for part ${index + 1}`}
            inputMode="decimal"
            placeholder="$"
            value={part.dollars}
            onChange={(event) => set(index, { dollars: event.target.value })}
          />
          <button
            type="button"
            className={styles.step}
            aria-label={`Take part ${index + 1} off`}
            onClick={() => change(parts.filter((_, at) => at !== index))}
          >
            ×
          </button>
        </div>
      ))}
      <div className={styles.chips}>
        {USUAL_PARTS.map((name) => (
          <button key={name} type="button" className={styles.chip} onClick={() => add(name)}>
            + {name}
          </button>
        ))}
        <button type="button" className={styles.chip} onClick={() => add("")}>
          + Another part
        </button>
      </div>
    </fieldset>
  );
}

function Photos({
  draft,
  change,
}: {
  readonly draft: HeaterDraft;
  readonly change: (draft: HeaterDraft) => void;
}) {
  const id = useId();
  const [problem, setProblem] = useState<string | null>(null);
  const take = async (file: File | undefined) => {
    if (!file) return;
    try {
      const picture = await shrinkPhoto(file);
      change({ ...draft, photos: [...draft.photos, { id: crypto.randomUUID(), picture }] });
      setProblem(null);
    } catch {
      setProblem("This file cannot be read as a picture. Take another one.");
    }
  };
  return (
    <div className="field">
      <label htmlFor={id}>
        Photos ({draft.photos.length} of {MOST_PHOTOS})
      </label>
      <input
        id={id}
        className={styles.large}
        type="file"
        accept="image/*"
        capture="environment"
        disabled={draft.photos.length >= MOST_PHOTOS}
        onChange={(event) => {
          void take(event.target.files?.[0]);
          event.target.value = "";
        }}
      />
      {draft.photos.length > 0 && (
        <button
          type="button"
          className="button"
          onClick={() => change({ ...draft, photos: draft.photos.slice(0, -1) })}
        >
          Take the last photo off
        </button>
      )}
      {problem && (
        <p className="field__problem" role="alert">
          {problem}
        </p>
      )}
    </div>
  );
}
