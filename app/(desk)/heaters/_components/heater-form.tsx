"use client";

import Link from "next/link";
import { type FormEvent, useEffect, useRef, useState, useTransition } from "react";
import { type HeaterFormState, saveHeater, saveNewHeater } from "@/app/(desk)/heaters/actions";
import {
  describeFormText,
  HEATER_FORM_LABELS,
  type HeaterFormField,
  type HeaterFormText,
  heaterFormSchema,
  mergeHeaterForms,
} from "@/lib/core/heaters/heater-form";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type FieldsProps, HeaterFields } from "./heater-fields";

const NOTHING: HeaterFormState = { problems: [], conflict: null };

type Meeting = {
  readonly theirs: HeaterFormText;
  readonly mine: HeaterFormText;
  readonly taken: readonly HeaterFormField[];
  readonly clashes: readonly HeaterFormField[];
};

/**
 * Adds a heater, or changes one. Checked here by the schema that the server uses, then there. When
 * somebody else has changed the record meanwhile, both values are shown and a person decides.
 */
export function HeaterForm({
  id,
  version: openedVersion,
  initial,
  today,
  properties,
  propertyId,
  buildings,
}: Pick<FieldsProps, "properties" | "propertyId" | "buildings"> & {
  /** null for a new heater. */
  readonly id: string | null;
  readonly version: number;
  readonly initial: HeaterFormText;
  readonly today: CalendarDay;
}) {
  const [text, setText] = useState(initial);
  const [base, setBase] = useState({ text: initial, version: openedVersion });
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [meeting, setMeeting] = useState<Meeting | null>(null);
  const [isSaving, startSaving] = useTransition();
  const form = useRef<HTMLFormElement>(null);
  useLeaveWarning(text !== initial && !isSaving);

  const show = (found: readonly Problem[]) => {
    setProblems(found);
    const [first] = found;
    if (first) form.current?.querySelector<HTMLElement>(`[name="${first.path}"]`)?.focus();
  };
  const save = (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const checked = parseWith(heaterFormSchema(today), text);
    if (!checked.ok) return show(checked.problems);
    show([]);
    const data = new FormData();
    for (const [field, value] of Object.entries(text)) data.set(field, value);
    data.set("version", String(base.version));
    startSaving(async () => {
      const result = await (id === null
        ? saveNewHeater(NOTHING, data)
        : saveHeater(id, NOTHING, data));
      // A redirect to the saved heater gives no result.
      if (!result) return;
      show(result.problems);
      if (!result.conflict) return;
      const { theirs, version } = result.conflict;
      const { merged, taken, clashes } = mergeHeaterForms(base.text, theirs, text);
      setMeeting({ theirs, mine: text, taken, clashes });
      setText(merged);
      setBase({ text: theirs, version });
      window.scrollTo({ top: 0 });
    });
  };

  return (
    <form
      ref={form}
      className="section"
      style={{ gap: "var(--space-5)" }}
      onSubmit={save}
      noValidate
    >
      {meeting && <MeetingNotice meeting={meeting} text={text} onChoose={setText} />}
      {problems.length > 0 && (
        <div className="notice notice--attention" role="alert">
          Nothing was saved:{" "}
          {problems.length === 1 ? "one field needs" : `${problems.length} fields need`} another
          look. What you typed is kept.
        </div>
      )}
      <HeaterFields
        text={text}
        onChange={(changes) => setText((before) => ({ ...before, ...changes }))}
        problems={problems}
        properties={properties}
        propertyId={propertyId}
        buildings={buildings}
      />
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isSaving}>
          {isSaving ? "Saving …" : id === null ? "Add the heater" : "Save"}
        </button>
        <Link className="button button--quiet" href={id === null ? "/heaters" : `/heaters/${id}`}>
          Leave without saving
        </Link>
      </div>
    </form>
  );
}

/** What somebody else changed meanwhile; where both changed a field, both values to choose from. */
function MeetingNotice({
  meeting,
  text,
  onChoose,
}: {
  readonly meeting: Meeting;
  readonly text: HeaterFormText;
  readonly onChoose: (text: HeaterFormText) => void;
}) {
  const { theirs, mine, taken, clashes } = meeting;
  const label = (field: HeaterFormField) => HEATER_FORM_LABELS[field];
  return (
    <section className="notice notice--attention section" aria-label="Changed meanwhile">
      <p>
        <strong>Somebody else has changed this heater since you opened it.</strong> Nothing of yours
        is lost, and nothing of theirs: look at both, then save again.
      </p>
      {taken.length > 0 && (
        <p>
          Taken over from them:{" "}
          {taken
            .map((field) => `${label(field)} (${describeFormText(field, theirs[field])})`)
            .join(", ")}
          .
        </p>
      )}
      {clashes.length > 0 && (
        <table className="ledger">
          <caption>You both changed these. Yours stands unless you choose theirs.</caption>
          <thead>
            <tr>
              <th scope="col">Field</th>
              <th scope="col">Theirs</th>
              <th scope="col">Yours</th>
            </tr>
          </thead>
          <tbody>
            {clashes.map((field) => (
              <tr key={field}>
                <th scope="row">{label(field)}</th>
                {([theirs, mine] as const).map((side) => (
                  <td key={side === theirs ? "theirs" : "mine"}>
                    <label>
                      <input
                        type="radio"
                        name={`choose-${field}`}
                        checked={text[field] === side[field]}
                        onChange={() => onChoose({ ...text, [field]: side[field] })}
                      />{" "}
                      {describeFormText(field, side[field])}
                    </label>
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}

/** The browser asks before a page with unsaved changes is closed. */
function useLeaveWarning(hasChanges: boolean): void {
  useEffect(() => {
    if (!hasChanges) return;
    const warn = (event: BeforeUnloadEvent) => event.preventDefault();
    window.addEventListener("beforeunload", warn);
    return () => window.removeEventListener("beforeunload", warn);
  }, [hasChanges]);
}
