"use client";

import Link from "next/link";
import { type FormEvent, useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { ProblemList } from "@/app/(desk)/plans/_components/problem-list";
import { submitOption } from "@/app/(desk)/plans/actions";
import {
  COST_PART_LABELS,
  COST_PARTS,
  type CostPart,
  type OptionTerms,
} from "@/lib/core/planning/options";
import type { Problem } from "@/lib/core/shared/outcome";
import {
  EVIDENCE_LABELS,
  type OptionFormValues,
  readOptionForm,
  type SourcedText,
} from "@/lib/services/option-form";

const EVIDENCE_OPTIONS = Object.entries(EVIDENCE_LABELS).map(([value, label]) => ({
  value,
  label,
}));

type Costs = NonNullable<OptionFormValues["costs"][CostPart]>;

/** An option to edit: each cost part with its range and what it rests on. */
export function OptionForm({
  code,
  terms,
  values: start,
}: {
  readonly code: string;
  readonly terms: OptionTerms;
  readonly values: OptionFormValues;
}) {
  const [values, setValues] = useState(start);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isPending, startTransition] = useTransition();
  const set = (changes: Partial<OptionFormValues>) => setValues({ ...values, ...changes });

  const send = (event: FormEvent) => {
    event.preventDefault();
    const checked = readOptionForm(values, terms);
    if (!checked.ok) {
      setProblems(checked.problems);
      document.getElementById(checked.problems[0]?.path ?? "")?.focus();
      return;
    }
    startTransition(async () => {
      const answer = await submitOption(code, values);
      setProblems(answer.problems);
    });
  };

  return (
    <form className="section" noValidate onSubmit={send}>
      <ProblemList problems={problems} />
      <div className="field-grid">
        <TextField
          name="name"
          label="Name"
          maxLength={80}
          problems={problems}
          value={values.name}
          onChange={(event) => set({ name: event.target.value })}
        />
        <TextField
          name="validFrom"
          label="Can be ordered from"
          type="date"
          hint="Empty when always"
          problems={problems}
          value={values.validFrom}
          onChange={(event) => set({ validFrom: event.target.value })}
        />
        <TextField
          name="validTo"
          label="until"
          type="date"
          hint="Empty when open"
          problems={problems}
          value={values.validTo}
          onChange={(event) => set({ validTo: event.target.value })}
        />
      </div>
      <label className={styles.check} htmlFor="isActive">
        <input
          id="isActive"
          type="checkbox"
          checked={values.isActive}
          onChange={(event) => set({ isActive: event.target.checked })}
        />
        Offered to new scenarios
      </label>

      <h2>Cost of a swap, $</h2>
      <p className="soft small">
        The likely value is what plans are computed with. A figure that you change becomes your own
        unless you say what else it rests on.
      </p>
      <LedgerFrame label="Cost parts">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Part</th>
              <th scope="col">Low</th>
              <th scope="col">Likely</th>
              <th scope="col">High</th>
              <th scope="col">Evidence</th>
              <th scope="col">Source</th>
            </tr>
          </thead>
          <tbody>
            {COST_PARTS.map((part) => {
              const cost = values.costs[part];
              if (!cost) return null;
              return (
                <CostRow
                  key={part}
                  part={part}
                  cost={cost}
                  problems={problems}
                  onChange={(changed) => set({ costs: { ...values.costs, [part]: changed } })}
                />
              );
            })}
          </tbody>
        </table>
      </LedgerFrame>

      <h2>Data</h2>
      <DataFields values={values} problems={problems} onChange={set} />

      <h2>Incentives</h2>
      <Incentives values={values} problems={problems} onChange={set} />

      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Saving …" : "Save the option"}
        </button>
        <Link className="button" href="/plans/options">
          Leave it as it was
        </Link>
      </div>
    </form>
  );
}

function CostRow({
  part,
  cost,
  problems,
  onChange,
}: {
  readonly part: CostPart;
  readonly cost: Costs;
  readonly problems: readonly Problem[];
  readonly onChange: (cost: Costs) => void;
}) {
  const label = COST_PART_LABELS[part];
  const own = problems.filter(({ path }) => path.startsWith(`costs.${part}.`));
  const cell = (key: "low" | "likely" | "high" | "source", words: string) => {
    const id = `costs.${part}.${key}`;
    return (
      <td className={`field ${styles.cell}`}>
        <input
          id={id}
          aria-label={`${label}, ${words}`}
          aria-invalid={own.some(({ path }) => path === id) || undefined}
          inputMode={key === "source" ? undefined : "decimal"}
          value={cost[key]}
          onChange={(event) => onChange({ ...cost, [key]: event.target.value })}
        />
        {own
          .filter(({ path }) => path === id)
          .map(({ message }) => (
            <div key={message} className="field__problem">
              {message}
            </div>
          ))}
      </td>
    );
  };
  return (
    <tr>
      <th scope="row">{label}</th>
      {cell("low", "low, dollars")}
      {cell("likely", "likely, dollars")}
      {cell("high", "high, dollars")}
      <td className={`field ${styles.cell}`}>
        <select
          aria-label={`${label}, evidence`}
          value={cost.evidence}
          onChange={(event) =>
            onChange({ ...cost, evidence: event.target.value as Costs["evidence"] })
          }
        >
          {EVIDENCE_OPTIONS.map(({ value, label: words }) => (
            <option key={value} value={value}>
              {words}
            </option>
          ))}
        </select>
      </td>
      {cell("source", "source")}
    </tr>
  );
}

const DATA = [
  { key: "uniformEnergyFactor", label: "Uniform energy factor" },
  { key: "crewHours", label: "Crew hours for one swap" },
  { key: "expectedLifeYears", label: "Expected life, years" },
  { key: "maintenanceDollars", label: "Upkeep a year, $" },
] as const;

type PartProps = {
  readonly values: OptionFormValues;
  readonly problems: readonly Problem[];
  readonly onChange: (changes: Partial<OptionFormValues>) => void;
};

function DataFields({ values, problems, onChange }: PartProps) {
  return (
    <div className={styles.data}>
      {DATA.map(({ key, label }) => {
        const value = values[key];
        const change = (changes: Partial<SourcedText>) =>
          onChange({ [key]: { ...value, ...changes } });
        return (
          <div key={key} className={styles.datum}>
            <TextField
              name={`${key}.value`}
              label={label}
              inputMode="decimal"
              problems={problems}
              value={value.value}
              onChange={(event) => change({ value: event.target.value })}
            />
            <SelectField
              name={`${key}.evidence`}
              label="Evidence"
              options={EVIDENCE_OPTIONS}
              value={value.evidence}
              onChange={(event) =>
                change({ evidence: event.target.value as SourcedText["evidence"] })
              }
            />
            <TextField
              name={`${key}.source`}
              label="Source"
              value={value.source}
              onChange={(event) => change({ source: event.target.value })}
            />
          </div>
        );
      })}
    </div>
  );
}

function Incentives({ values, problems, onChange }: PartProps) {
  const { incentives } = values;
  const change = (index: number, changes: Partial<(typeof incentives)[number]>) =>
    onChange({
      incentives: incentives.map((each, at) => (at === index ? { ...each, ...changes } : each)),
    });
  return (
    <>
      {incentives.length === 0 && (
        <p className="soft">None. Add a programme that pays part of a swap.</p>
      )}
      {incentives.map((incentive, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the rows have no other name while they are typed
        <div key={index} className={styles.datum}>
          <TextField
            name={`incentives[${index}].programme`}
            label="Programme"
            problems={problems}
            value={incentive.programme}
            onChange={(event) => change(index, { programme: event.target.value })}
          />
          <TextField
            name={`incentives[${index}].dollars`}
            label="Pays, $"
            inputMode="decimal"
            problems={problems}
            value={incentive.dollars}
            onChange={(event) => change(index, { dollars: event.target.value })}
          />
          <TextField
            name={`incentives[${index}].maximumSharePercent`}
            label="At most, % of the swap"
            inputMode="decimal"
            problems={problems}
            value={incentive.maximumSharePercent}
            onChange={(event) => change(index, { maximumSharePercent: event.target.value })}
          />
          <TextField
            name={`incentives[${index}].validTo`}
            label="Last day"
            type="date"
            problems={problems}
            value={incentive.validTo}
            onChange={(event) => change(index, { validTo: event.target.value })}
          />
          <TextField
            name={`incentives[${index}].source`}
            label="Source"
            problems={problems}
            value={incentive.source}
            onChange={(event) => change(index, { source: event.target.value })}
          />
          <button
            className="button"
            type="button"
            onClick={() => onChange({ incentives: incentives.filter((_, at) => at !== index) })}
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
            onChange({
              incentives: [
                ...incentives,
                { programme: "", dollars: "", maximumSharePercent: "100", validTo: "", source: "" },
              ],
            })
          }
        >
          Add an incentive
        </button>
      </div>
    </>
  );
}
