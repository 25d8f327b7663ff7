"use client";

import Link from "next/link";
import { type FormEvent, useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { ProblemList } from "@/app/(desk)/plans/_components/problem-list";
import { submitOption } from "@/app/(desk)/plans/actions";
import { REFRIGERANTS } from "@/lib/core/emissions/factors";
import { READINESS_ITEMS, READINESS_LABELS } from "@/lib/core/heaters/vocabulary";
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
import own from "./option-form.module.css";

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
      <div className={own.name}>
        <TextField
          name="name"
          label="Name"
          maxLength={80}
          problems={problems}
          value={values.name}
          onChange={(event) => set({ name: event.target.value })}
        />
      </div>
      <div className="field-grid">
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
          label="Can be ordered until"
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
      <CostTable
        at="costs"
        label="Cost parts"
        costs={values.costs}
        problems={problems}
        onChange={(costs) => set({ costs })}
      />

      {values.perHome && (
        <PerHome
          perHome={values.perHome}
          problems={problems}
          onChange={(perHome) => set({ perHome })}
        />
      )}

      <h2>What it is and needs</h2>
      <PlaceFields values={values} problems={problems} onChange={set} />

      <h2>Data</h2>
      <DataFields values={values} problems={problems} onChange={set} />

      <h2>Incentives</h2>
      <Incentives values={values} problems={problems} onChange={set} />

      <h2>Rules by date</h2>
      <PolicyDates values={values} problems={problems} onChange={set} />

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

type CostTexts = OptionFormValues["costs"];

const EMPTY_COST: Costs = { low: "", likely: "", high: "", evidence: "assumed", source: "" };

/** Cost parts with their ranges; a part that is not there yet can be added. */
function CostTable({
  at,
  label,
  costs,
  problems,
  onChange,
}: {
  readonly at: string;
  readonly label: string;
  readonly costs: CostTexts;
  readonly problems: readonly Problem[];
  readonly onChange: (costs: CostTexts) => void;
}) {
  const absent = COST_PARTS.filter((part) => !costs[part]);
  return (
    <>
      <LedgerFrame label={label}>
        <table className={`ledger ${styles.wide} ${own.costs}`}>
          <thead>
            <tr>
              <th scope="col">Part</th>
              <th scope="col">Low</th>
              <th scope="col">Likely</th>
              <th scope="col">High</th>
              <th scope="col">Evidence</th>
              <th scope="col">Source</th>
              <th scope="col">Do</th>
            </tr>
          </thead>
          <tbody>
            {COST_PARTS.map((part) => {
              const cost = costs[part];
              if (!cost) return null;
              return (
                <CostRow
                  key={part}
                  at={at}
                  part={part}
                  cost={cost}
                  problems={problems}
                  onChange={(changed) => onChange({ ...costs, [part]: changed })}
                  onRemove={() => {
                    const { [part]: _, ...rest } = costs;
                    onChange(rest);
                  }}
                />
              );
            })}
          </tbody>
        </table>
      </LedgerFrame>
      {absent.length > 0 && (
        <div className="filter">
          <SelectField
            name={`${at}.add`}
            label="Add a part"
            value=""
            options={[
              { value: "", label: "Choose a part" },
              ...absent.map((part) => ({ value: part, label: COST_PART_LABELS[part] })),
            ]}
            onChange={(event) => {
              const part = absent.find((each) => each === event.target.value);
              if (part) onChange({ ...costs, [part]: EMPTY_COST });
            }}
          />
        </div>
      )}
    </>
  );
}

const PER_HOME = [
  { key: "volumeGal", label: "Storage a home, gal" },
  { key: "crewHours", label: "Crew hours a home" },
  { key: "circuitLoad", label: "New circuits a home" },
  { key: "maintenanceDollars", label: "Upkeep a home and year, $" },
] as const;

/** What a shared plant adds for every home behind it. */
function PerHome({
  perHome,
  problems,
  onChange,
}: {
  readonly perHome: NonNullable<OptionFormValues["perHome"]>;
  readonly problems: readonly Problem[];
  readonly onChange: (perHome: NonNullable<OptionFormValues["perHome"]>) => void;
}) {
  return (
    <>
      <h2>More for every home behind it, $</h2>
      <p className="soft small">
        Above is the plant itself; these parts are added for each home that it serves. Storage,
        hours, circuits and upkeep a home are assumed, edit me.
      </p>
      <CostTable
        at="perHome.costs"
        label="Cost parts a home"
        costs={perHome.costs}
        problems={problems}
        onChange={(costs) => onChange({ ...perHome, costs })}
      />
      <div className="field-grid">
        {PER_HOME.map(({ key, label }) => (
          <TextField
            key={key}
            name={`perHome.${key}`}
            label={label}
            inputMode="decimal"
            problems={problems}
            value={perHome[key]}
            onChange={(event) => onChange({ ...perHome, [key]: event.target.value })}
          />
        ))}
      </div>
    </>
  );
}

function CostRow({
  at,
  part,
  cost,
  problems,
  onChange,
  onRemove,
}: {
  readonly at: string;
  readonly part: CostPart;
  readonly cost: Costs;
  readonly problems: readonly Problem[];
  readonly onChange: (cost: Costs) => void;
  readonly onRemove: () => void;
}) {
  const label = COST_PART_LABELS[part];
  const own = problems.filter(({ path }) => path.startsWith(`${at}.${part}.`));
  const cell = (key: "low" | "likely" | "high" | "source", words: string) => {
    const id = `${at}.${part}.${key}`;
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
      <td>
        <button
          className="button button--quiet"
          type="button"
          aria-label={`Take out ${label}`}
          onClick={onRemove}
        >
          Take out
        </button>
      </td>
    </tr>
  );
}

const DATA = [
  { key: "uniformEnergyFactor", label: "Uniform energy factor" },
  { key: "crewHours", label: "Crew hours for one swap" },
  { key: "expectedLifeYears", label: "Expected life, years" },
  { key: "maintenanceDollars", label: "Upkeep a year, $" },
  { key: "refrigerantKg", label: "Refrigerant charge, kg; empty: none" },
  { key: "firstHourGal", label: "First-hour rating, gal; empty: estimated" },
  { key: "escalationPercent", label: "Own cost change a year, %; empty: the scenario’s" },
] as const;

type PartProps = {
  readonly values: OptionFormValues;
  readonly problems: readonly Problem[];
  readonly onChange: (changes: Partial<OptionFormValues>) => void;
};

function PlaceFields({ values, problems, onChange }: PartProps) {
  const { requiredReadiness } = values;
  return (
    <>
      <div className="field-grid">
        <TextField
          name="volumeGal"
          label="Storage, gal"
          inputMode="decimal"
          hint="Empty: no tank"
          problems={problems}
          value={values.volumeGal}
          onChange={(event) => onChange({ volumeGal: event.target.value })}
        />
        <TextField
          name="circuitLoad"
          label="New 240 V circuits it takes"
          inputMode="decimal"
          hint="1 with elements, less where it draws less; assumed where you have not entered it"
          problems={problems}
          value={values.circuitLoad}
          onChange={(event) => onChange({ circuitLoad: event.target.value })}
        />
        <SelectField
          name="refrigerantType"
          label="Refrigerant"
          options={[
            { value: "", label: "None" },
            ...REFRIGERANTS.map((type) => ({ value: type, label: type })),
          ]}
          problems={problems}
          value={values.refrigerantType}
          onChange={(event) =>
            onChange({
              refrigerantType: REFRIGERANTS.find((type) => type === event.target.value) ?? "",
            })
          }
        />
      </div>
      <fieldset className={styles.bare}>
        <legend>
          Its place must offer (assumed, edit me). What is missing costs its part above, or rules
          the option out where there is none.
        </legend>
        <div className={own.items}>
          {READINESS_ITEMS.map((item) => (
            <label key={item} className={styles.check}>
              <input
                type="checkbox"
                checked={requiredReadiness.includes(item)}
                onChange={(event) =>
                  onChange({
                    requiredReadiness: event.target.checked
                      ? [...requiredReadiness, item]
                      : requiredReadiness.filter((each) => each !== item),
                  })
                }
              />
              {READINESS_LABELS[item]}
            </label>
          ))}
        </div>
      </fieldset>
    </>
  );
}

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
            name={`incentives[${index}].programmeCapDollars`}
            label="Programme pays in all, $"
            inputMode="decimal"
            hint="Empty for no cap"
            problems={problems}
            value={incentive.programmeCapDollars}
            onChange={(event) => change(index, { programmeCapDollars: event.target.value })}
          />
          <TextField
            name={`incentives[${index}].validFrom`}
            label="First day"
            type="date"
            problems={problems}
            value={incentive.validFrom}
            onChange={(event) => change(index, { validFrom: event.target.value })}
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
                {
                  programme: "",
                  dollars: "",
                  maximumSharePercent: "100",
                  validFrom: "",
                  validTo: "",
                  programmeCapDollars: "",
                  source: "",
                },
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

/** Days from which a rule does not allow the option any more. */
function PolicyDates({ values, problems, onChange }: PartProps) {
  const { policyDates } = values;
  const change = (index: number, changes: Partial<(typeof policyDates)[number]>) =>
    onChange({
      policyDates: policyDates.map((each, at) => (at === index ? { ...each, ...changes } : each)),
    });
  return (
    <>
      {policyDates.length === 0 && (
        <p className="soft">
          None. Add a code or an air district’s rule that ends this option on a day.
        </p>
      )}
      {policyDates.map((policy, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the rows have no other name while they are typed
        <div key={index} className={styles.datum}>
          <TextField
            name={`policyDates[${index}].notFrom`}
            label="Not allowed from"
            type="date"
            problems={problems}
            value={policy.notFrom}
            onChange={(event) => change(index, { notFrom: event.target.value })}
          />
          <TextField
            name={`policyDates[${index}].rule`}
            label="Rule"
            problems={problems}
            value={policy.rule}
            onChange={(event) => change(index, { rule: event.target.value })}
          />
          <TextField
            name={`policyDates[${index}].source`}
            label="Source"
            value={policy.source}
            onChange={(event) => change(index, { source: event.target.value })}
          />
          <button
            className="button"
            type="button"
            onClick={() => onChange({ policyDates: policyDates.filter((_, at) => at !== index) })}
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
            onChange({ policyDates: [...policyDates, { notFrom: "", rule: "", source: "" }] })
          }
        >
          Add a rule
        </button>
      </div>
    </>
  );
}
