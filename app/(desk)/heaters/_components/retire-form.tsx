"use client";

import Link from "next/link";
import { type FormEvent, useRef, useState, useTransition } from "react";
import { Caution } from "@/app/_components/caution";
import { SelectField, TextField } from "@/app/_components/field";
import { saveRetirement } from "@/app/(desk)/heaters/actions";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import { type HeaterFormText, heaterFormSchema } from "@/lib/core/heaters/heater-form";
import {
  EMPTY_RETIREMENT_FORM,
  type RetirementFormText,
  retirementFormSchema,
} from "@/lib/core/heaters/retirement-form";
import {
  isCombustion,
  isHeatPump,
  RETIREMENT_CAUSE_LABELS,
  RETIREMENT_CAUSES,
  type Technology,
} from "@/lib/core/heaters/vocabulary";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type FieldsProps, HeaterFields } from "./heater-fields";

const PREFIX = "successor-";

/** Retires a heater, with the one that takes its place in the same step where there is one. */
export function RetireForm({
  id,
  version,
  technology,
  installedFrom,
  successor: likely,
  today,
  ...places
}: Pick<FieldsProps, "properties" | "propertyId" | "buildings"> & {
  readonly id: string;
  readonly version: number;
  readonly technology: Technology;
  readonly installedFrom: CalendarDay;
  /** What the heater after it is likely to be. */
  readonly successor: HeaterFormText;
  readonly today: CalendarDay;
}) {
  const [end, setEnd] = useState<RetirementFormText>({ ...EMPTY_RETIREMENT_FORM, endFrom: today });
  const [hasSuccessor, setHasSuccessor] = useState(false);
  const [successor, setSuccessor] = useState(likely);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isSaving, startSaving] = useTransition();
  const form = useRef<HTMLFormElement>(null);
  const set = (changes: Partial<RetirementFormText>) =>
    setEnd((before) => ({ ...before, ...changes }));

  const show = (found: readonly Problem[]) => {
    setProblems(found);
    const [first] = found;
    if (first) form.current?.querySelector<HTMLElement>(`[name="${first.path}"]`)?.focus();
  };
  const check = (): readonly Problem[] => {
    const ended = parseWith(retirementFormSchema({ today, installedFrom }), end);
    const next = hasSuccessor ? parseWith(heaterFormSchema(today), successor) : null;
    return [
      ...(ended.ok ? [] : ended.problems),
      ...(!next || next.ok
        ? []
        : next.problems.map((problem) => ({ ...problem, path: `${PREFIX}${problem.path}` }))),
    ];
  };
  const save = (event: FormEvent<HTMLFormElement>) => {
    event.preventDefault();
    const found = check();
    show(found);
    if (found.length > 0) return;
    const data = new FormData();
    for (const [field, value] of Object.entries(end)) data.set(field, value);
    for (const [field, value] of Object.entries(successor)) data.set(`${PREFIX}${field}`, value);
    data.set("hasSuccessor", hasSuccessor ? "yes" : "");
    data.set("version", String(version));
    startSaving(async () => {
      const result = await saveRetirement(id, { problems: [] }, data);
      if (result) show(result.problems);
    });
  };
  const formProblem = problems.find(({ path }) => path === "form");
  const acts = [
    ...(isCombustion(technology) ? (["gas-capoff"] as const) : []),
    ...(isHeatPump(technology) ? (["refrigerant"] as const) : []),
    "electrical" as const,
    "lifting" as const,
  ];

  return (
    <form
      ref={form}
      className="section"
      style={{ gap: "var(--space-5)" }}
      onSubmit={save}
      noValidate
    >
      {problems.length > 0 && (
        <div className="notice notice--attention" role="alert">
          {formProblem?.message ??
            `Nothing was saved: ${problems.length === 1 ? "one field needs" : `${problems.length} fields need`} another look. What you typed is kept.`}
        </div>
      )}
      <div className="field-grid">
        <SelectField
          name="cause"
          label="Why it left service"
          value={end.cause}
          onChange={({ target }) => set({ cause: target.value })}
          problems={problems}
          options={[
            { value: "", label: "Choose" },
            ...RETIREMENT_CAUSES.map((cause) => ({
              value: cause,
              label: RETIREMENT_CAUSE_LABELS[cause],
            })),
          ]}
          hint="Leaks and lost heat are what the risk model learns from."
        />
        <TextField
          name="endFrom"
          label="Last day in service"
          value={end.endFrom}
          onChange={({ target }) => set({ endFrom: target.value })}
          problems={problems}
          hint="A day, or only a month or a year."
        />
        <TextField
          name="endTo"
          label="Last day at the latest"
          value={end.endTo}
          onChange={({ target }) => set({ endTo: target.value })}
          problems={problems}
          hint="Only where the day is not known."
        />
        <SelectField
          name="emergency"
          label="Was hot water lost before the swap was arranged?"
          value={end.emergency}
          onChange={({ target }) => set({ emergency: target.value })}
          problems={problems}
          options={[
            { value: "", label: "No" },
            { value: "yes", label: "Yes, an emergency" },
          ]}
        />
        <TextField
          name="cost"
          label="Cost of its replacement"
          value={end.cost}
          inputMode="decimal"
          onChange={({ target }) => set({ cost: target.value })}
          problems={problems}
          hint="Dollars, all in; empty when not known."
        />
        <TextField
          name="note"
          label="Note"
          value={end.note}
          onChange={({ target }) => set({ note: target.value })}
          problems={problems}
        />
      </div>
      {acts.map((act) => (
        <Caution key={act}>{CAUTIONS[act]}</Caution>
      ))}
      <label>
        <input
          type="checkbox"
          checked={hasSuccessor}
          onChange={({ target }) => {
            setHasSuccessor(target.checked);
            // The new heater most likely went in on the old one's last day.
            setSuccessor((before) =>
              before.installFrom === likely.installFrom
                ? { ...before, installFrom: end.endFrom, installTo: end.endTo }
                : before,
            );
          }}
        />{" "}
        A new heater stands in its place: add it now. The site survey goes over to it.
      </label>
      {hasSuccessor && (
        <HeaterFields
          {...places}
          prefix={PREFIX}
          text={successor}
          onChange={(changes) => setSuccessor((before) => ({ ...before, ...changes }))}
          problems={problems}
        />
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isSaving}>
          {isSaving ? "Saving …" : hasSuccessor ? "Retire it and add the new one" : "Retire it"}
        </button>
        <Link className="button button--quiet" href={`/heaters/${id}`}>
          Leave without saving
        </Link>
      </div>
      <p className="small soft">
        A retired heater stays on record, and its retirement can be taken back on its page.
      </p>
    </form>
  );
}
