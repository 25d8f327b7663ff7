"use client";

import Link from "next/link";
import { type FormEvent, useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { keepEmergencyTerms } from "@/app/(desk)/sites/actions";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import {
  DUTIES,
  DUTY_LABELS,
  type Duty,
  type EmergencyFormValues,
  emergencyFormSchema,
} from "@/lib/services/emergency-form";
import styles from "./terms.module.css";

type Choice = { readonly code: string; readonly name: string };

/** Options in order of preference, and the people to call. */
export function TermsForm({
  values: start,
  options,
  properties,
}: {
  readonly values: EmergencyFormValues;
  readonly options: readonly Choice[];
  readonly properties: readonly { readonly id: string; readonly name: string }[];
}) {
  const [values, setValues] = useState(start);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isSaved, setIsSaved] = useState(false);
  const [isPending, startTransition] = useTransition();
  const set = (changes: Partial<EmergencyFormValues>) => {
    setIsSaved(false);
    setValues({ ...values, ...changes });
  };
  const contact = (index: number, changes: Partial<EmergencyFormValues["contacts"][number]>) =>
    set({
      contacts: values.contacts.map((each, at) => (at === index ? { ...each, ...changes } : each)),
    });

  const send = (event: FormEvent) => {
    event.preventDefault();
    const checked = parseWith(emergencyFormSchema, values);
    if (!checked.ok) {
      setProblems(checked.problems);
      document.getElementById(checked.problems[0]?.path ?? "")?.focus();
      return;
    }
    startTransition(async () => {
      const answer = await keepEmergencyTerms(values);
      setProblems(answer.problems);
      setIsSaved(answer.isSaved);
    });
  };
  const general = problems.filter(({ path }) => !path.startsWith("contacts["));

  return (
    <form className="section" noValidate onSubmit={send}>
      <div className="columns">
        <OrderedOptions
          title="Approved beforehand"
          hint="The first that is ready and large enough goes in."
          name="preApproved"
          codes={values.preApproved}
          options={options}
          onChange={(preApproved) => set({ preApproved })}
        />
        <OrderedOptions
          title="When none of those is ready"
          hint="The first that is possible and large enough goes in."
          name="otherwise"
          codes={values.otherwise}
          options={options}
          onChange={(otherwise) => set({ otherwise })}
        />
      </div>
      <h2>People to call</h2>
      {values.contacts.length === 0 && (
        <p className="soft">
          None yet. Add the person on call, a plumber, a gas fitter, an electrician.
        </p>
      )}
      {values.contacts.map((each, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the rows have no other name while they are typed
        <div key={index} className={styles.contact}>
          <SelectField
            name={`contacts[${index}].duty`}
            label="For"
            value={each.duty}
            options={DUTIES.map((value) => ({ value, label: DUTY_LABELS[value] }))}
            onChange={(event) => contact(index, { duty: event.target.value as Duty })}
          />
          <TextField
            name={`contacts[${index}].name`}
            label="Name"
            maxLength={80}
            problems={problems}
            value={each.name}
            onChange={(event) => contact(index, { name: event.target.value })}
          />
          <TextField
            name={`contacts[${index}].phone`}
            label="Telephone"
            type="tel"
            problems={problems}
            value={each.phone}
            onChange={(event) => contact(index, { phone: event.target.value })}
          />
          <SelectField
            name={`contacts[${index}].propertyId`}
            label="At"
            value={each.propertyId ?? ""}
            options={[
              { value: "", label: "every property" },
              ...properties.map(({ id, name }) => ({ value: id, label: name })),
            ]}
            onChange={(event) => contact(index, { propertyId: event.target.value || null })}
          />
          <button
            className="button"
            type="button"
            onClick={() => set({ contacts: values.contacts.filter((_, at) => at !== index) })}
          >
            Take out
          </button>
        </div>
      ))}
      <div className="actions">
        <button
          className="button"
          type="button"
          onClick={() =>
            set({
              contacts: [
                ...values.contacts,
                { duty: "on-call", name: "", phone: "", propertyId: null },
              ],
            })
          }
        >
          Add a person
        </button>
      </div>
      {general.length > 0 && (
        <p className="notice notice--attention" role="alert">
          {general.map(({ message }) => message).join(" ")}
        </p>
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Keeping …" : "Approve and keep"}
        </button>
        <Link className="button" href="/sites/cards">
          Back to the cards
        </Link>
        <span role="status">
          {isSaved && !isPending ? "Kept under your name and today’s day." : ""}
        </span>
      </div>
    </form>
  );
}

function OrderedOptions({
  title,
  hint,
  name,
  codes,
  options,
  onChange,
}: {
  readonly title: string;
  readonly hint: string;
  readonly name: string;
  readonly codes: readonly string[];
  readonly options: readonly Choice[];
  readonly onChange: (codes: string[]) => void;
}) {
  const nameOf = (code: string) => options.find((each) => each.code === code)?.name ?? code;
  const left = options.filter(({ code }) => !codes.includes(code));
  const raise = (index: number) => {
    const next = [...codes];
    const [moved] = next.splice(index, 1);
    if (moved !== undefined) next.splice(index - 1, 0, moved);
    onChange(next);
  };
  return (
    <div className="section">
      <h2>{title}</h2>
      <p className="small soft">{hint}</p>
      {codes.length === 0 && <p className="soft">None.</p>}
      <ol className={styles.order}>
        {codes.map((code, index) => (
          <li key={code}>
            <span>{nameOf(code)}</span>
            <button
              className="button button--quiet"
              type="button"
              disabled={index === 0}
              aria-label={`Move ${nameOf(code)} up`}
              onClick={() => raise(index)}
            >
              Up
            </button>
            <button
              className="button button--quiet"
              type="button"
              aria-label={`Take ${nameOf(code)} out`}
              onClick={() => onChange(codes.filter((each) => each !== code))}
            >
              Take out
            </button>
          </li>
        ))}
      </ol>
      {left.length > 0 && (
        <SelectField
          name={name}
          label="Add"
          value=""
          options={[
            { value: "", label: "Choose an option" },
            ...left.map((each) => ({ value: each.code, label: each.name })),
          ]}
          onChange={(event) => {
            if (event.target.value) onChange([...codes, event.target.value]);
          }}
        />
      )}
    </div>
  );
}
