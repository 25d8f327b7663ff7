"use client";

import { type FormEvent, useId, useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { TechnologyMark } from "@/app/_components/technology-mark";
import { formatMoney } from "@/app/_lib/format";
import { submitScenario } from "@/app/(desk)/plans/actions";
import type { Technology } from "@/lib/core/heaters/vocabulary";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import type { Problem } from "@/lib/core/shared/outcome";
import {
  budgetYearsOfForm,
  likeForLikeOptions,
  periodsOfForm,
  QUARTER_CHOICES,
  readScenarioForm,
  type ScenarioFormValues,
} from "@/lib/services/scenario-form";
import styles from "./plans.module.css";
import { ProblemList } from "./problem-list";

/** An option of the catalogue as the form shows it. */
export type OptionChoice = {
  readonly code: string;
  readonly name: string;
  readonly technology: Technology;
  readonly swapCents: { readonly low: number; readonly likely: number; readonly high: number };
  /** What the closet may need on top, all of it together. */
  readonly workCents: number;
  readonly crewHours: number;
  readonly circuits: number;
  readonly incentiveCents: number;
  /** Cost parts that are not the organisation's own figures. */
  readonly assumedParts: number;
  readonly parts: number;
};

type Props = {
  readonly values: ScenarioFormValues;
  readonly options: readonly OptionChoice[];
  readonly scenario: {
    readonly id: string;
    readonly version: number;
    readonly runCount: number;
  } | null;
  readonly today: string;
};

/** The scenario to fill in; every number begins with an assumption that can be changed. */
export function ScenarioForm({ values: start, options, scenario, today: todayText }: Props) {
  const today = calendarDay(todayText);
  const [values, setValues] = useState(start);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isPending, startTransition] = useTransition();

  const set = (changes: Partial<ScenarioFormValues>) => setValues({ ...values, ...changes });
  const text = (name: TextName) => ({
    name,
    value: values[name],
    problems,
    onChange: (event: { readonly target: { readonly value: string } }) =>
      set({ [name]: event.target.value }),
  });

  const send = (thenRun: boolean) => {
    const checked = readScenarioForm(values, { today, catalogue: options });
    if (!checked.ok) {
      setProblems(checked.problems);
      focusFirst(checked.problems);
      return;
    }
    setProblems([]);
    startTransition(async () => {
      const answer = await submitScenario(scenario, values, thenRun);
      setProblems(answer.problems);
      focusFirst(answer.problems);
    });
  };

  return (
    <form
      id="scenario"
      className="section"
      noValidate
      onSubmit={(event: FormEvent) => {
        event.preventDefault();
        send(true);
      }}
    >
      <ProblemList problems={problems} />
      <div className="field-grid">
        <TextField {...text("name")} label="Name" maxLength={80} />
        <SelectField
          {...text("quarters")}
          label="By quarters for"
          options={QUARTER_CHOICES.map((value) => ({
            value,
            label: `${Number(value) / 4} ${value === "4" ? "year" : "years"} (${value} quarters)`,
          }))}
        />
        <TextField
          {...text("years")}
          label="Then by year for"
          inputMode="numeric"
          hint={horizonWords(values, today)}
        />
      </div>

      <h2>Money</h2>
      <p className="soft">
        What swaps, electrical work and visits may cost together in a year, in today’s dollars.
      </p>
      <div className="field-grid">
        <TextField
          {...text("budget")}
          label="Yearly budget, $"
          inputMode="decimal"
          hint="Assumed: change it to yours"
        />
        <TextField
          {...text("budgetGrowthPercent")}
          label="Growth a year above inflation, %"
          inputMode="decimal"
        />
        <TextField
          {...text("contingencyPercent")}
          label="Kept for emergencies, %"
          inputMode="decimal"
          hint="Of each year’s budget. 10 to 15 % is common practice, no source"
        />
        <TextField
          {...text("carryOverPercent")}
          label="Unspent money that moves on, %"
          inputMode="decimal"
          hint="To the next year"
        />
      </div>
      <YearBudgets values={values} today={today} problems={problems} onChange={set} />

      <h2>Crews</h2>
      <div className="field-grid">
        <TextField
          {...text("crewHoursPerMonth")}
          label="Crew hours a month"
          inputMode="decimal"
          hint="Assumed. Leave it empty when crews are no limit"
        />
      </div>

      <h2>Options</h2>
      <OptionTable
        options={options}
        chosen={values.options}
        problems={problems}
        onChange={(chosen) => set({ options: chosen })}
      />
      <div className="field-grid">
        <SelectField
          {...text("emergencyReady")}
          label="In an emergency, where the closet is ready"
          options={[
            { value: "", label: "Nothing is pre-approved" },
            ...options.map(({ code, name }) => ({ value: code, label: name })),
          ]}
          hint={`Elsewhere like for like: ${likeForLikeOptions(options)
            .map((code) => options.find((option) => option.code === code)?.name)
            .join(", else ")}`}
        />
      </div>

      <h2>Prices</h2>
      <p className="soft">All of them above inflation and assumed until you change them.</p>
      <div className="field-grid">
        <TextField
          {...text("realDiscountPercent")}
          label="Real discount rate, %"
          inputMode="decimal"
          hint="What later money counts less, a year. 3 %: the floor of the federal life-cycle rate, from memory"
        />
        <TextField
          {...text("installChangePercent")}
          label="Installed cost, % a year"
          inputMode="decimal"
        />
        <TextField {...text("gasChangePercent")} label="Gas price, % a year" inputMode="decimal" />
        <TextField
          {...text("electricityChangePercent")}
          label="Electricity price, % a year"
          inputMode="decimal"
        />
        <TextField
          {...text("carbonDollarsPerTonne")}
          label="Carbon price, $ a tonne CO2e"
          inputMode="decimal"
          hint="0 leaves emissions out of the cost"
        />
        <TextField
          {...text("gridChangePercent")}
          label="Grid emissions, % a year"
          inputMode="decimal"
          hint="−3 for a grid that gets cleaner by 3 % a year"
        />
        <TextField
          {...text("residentPercent")}
          label="Residents’ energy bills count, %"
          inputMode="decimal"
          hint="100: a resident’s dollar counts as much as the owner’s"
        />
        <TextField
          {...text("unknownWorkPercent")}
          label="Unknown closets that need work, %"
          inputMode="decimal"
          hint="Where a survey has no answer"
        />
      </div>

      <h2>Rules</h2>
      <div className="field-grid">
        <TextField
          {...text("gasEndsOn")}
          label="No gas heater may go in from"
          type="date"
          hint="Optional: a policy of yours or a local code"
        />
        <TextField
          {...text("latestAgeYears")}
          label="Replace at the latest at age, years"
          inputMode="decimal"
          hint="Optional: no heater stays beyond it"
        />
        <TextField
          {...text("capTonnes")}
          label="Emission cap, tonnes CO2e"
          inputMode="decimal"
          hint="Optional"
        />
        <SelectField
          {...text("capYear")}
          label="The cap holds for"
          options={[
            { value: "", label: "The whole horizon" },
            ...budgetYearsOfForm(today, values).map(({ year }) => ({ value: year, label: year })),
          ]}
        />
        <TextField
          {...text("capDollarsPerTonne")}
          label="Price of a tonne above it, $"
          inputMode="decimal"
          hint="Empty: nothing may be above the cap"
        />
      </div>

      {scenario !== null && scenario.runCount > 0 && (
        <p className="notice">
          This scenario has been computed. It is kept as it is; what you change goes into a copy,
          under the name above.
        </p>
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Working …" : "Save and compute the plan"}
        </button>
        <button className="button" type="button" disabled={isPending} onClick={() => send(false)}>
          Save only
        </button>
      </div>
    </form>
  );
}

type TextName = {
  [K in keyof ScenarioFormValues]: ScenarioFormValues[K] extends string ? K : never;
}[keyof ScenarioFormValues];

function focusFirst(problems: readonly Problem[]) {
  const [first] = problems;
  if (first) document.getElementById(first.path)?.focus();
}

function horizonWords(values: ScenarioFormValues, today: ReturnType<typeof calendarDay>): string {
  const periods = periodsOfForm(today, values);
  const last = periods[periods.length - 1];
  return `${periods.length} periods from ${periods[0]?.start} to the end of ${last?.budgetYear}`;
}

/** Every year's budget, following the yearly one until it is written over. */
function YearBudgets({
  values,
  today,
  problems,
  onChange,
}: {
  readonly values: ScenarioFormValues;
  readonly today: ReturnType<typeof calendarDay>;
  readonly problems: readonly Problem[];
  readonly onChange: (changes: Partial<ScenarioFormValues>) => void;
}) {
  const years = budgetYearsOfForm(today, values);
  const own = years.filter(({ year }) => year in values.yearBudgets).length;
  const hasProblem = problems.some(({ path }) => path.startsWith("yearBudgets"));
  const change = (year: string, dollars: string | null) => {
    const next = { ...values.yearBudgets };
    if (dollars === null) delete next[year];
    else next[year] = dollars;
    onChange({ yearBudgets: next });
  };
  return (
    <details open={own > 0 || hasProblem || undefined}>
      <summary>
        Budget of each year
        {own > 0 ? ` (${own} written over)` : ""}
      </summary>
      <div className={styles.years}>
        {years.map(({ year, months, dollars }) => {
          const name = `yearBudgets.${year}`;
          const isOwn = year in values.yearBudgets;
          return (
            <TextField
              key={year}
              name={name}
              label={months === 12 ? `${year}, $` : `${year} (${months} months), $`}
              inputMode="decimal"
              problems={problems}
              value={isOwn ? values.yearBudgets[year] : dollars === null ? "" : String(dollars)}
              onChange={(event) => change(year, event.target.value)}
              hint={
                isOwn ? (
                  <button
                    type="button"
                    className="button button--quiet small"
                    onClick={() => change(year, null)}
                  >
                    As the yearly budget
                  </button>
                ) : undefined
              }
            />
          );
        })}
      </div>
    </details>
  );
}

function OptionTable({
  options,
  chosen,
  problems,
  onChange,
}: {
  readonly options: readonly OptionChoice[];
  readonly chosen: readonly string[];
  readonly problems: readonly Problem[];
  readonly onChange: (chosen: readonly string[]) => void;
}) {
  const id = useId();
  const own = problems.filter(({ path }) => path === "options");
  return (
    <fieldset className={`field ${styles.bare}`} id="options" tabIndex={-1}>
      <legend>What the plan may put in</legend>
      <p className="soft small">
        Costs are those of the options catalogue, and assumed where marked. Work that a closet still
        needs is added heater by heater.
      </p>
      <LedgerFrame label="Options">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Plan with it</th>
              <th scope="col">Kind</th>
              <th scope="col" className="number">
                Swap, low to high
              </th>
              <th scope="col" className="number">
                Likely
              </th>
              <th scope="col" className="number">
                Closet work, up to
              </th>
              <th scope="col" className="number">
                Crew hours
              </th>
              <th scope="col" className="number">
                New circuits
              </th>
              <th scope="col">What it rests on</th>
            </tr>
          </thead>
          <tbody>
            {options.map((option) => {
              const inputId = `${id}-${option.code}`;
              return (
                <tr key={option.code}>
                  <th scope="row">
                    <label className={styles.check} htmlFor={inputId}>
                      <input
                        id={inputId}
                        type="checkbox"
                        checked={chosen.includes(option.code)}
                        onChange={(event) =>
                          onChange(
                            event.target.checked
                              ? [...chosen, option.code]
                              : chosen.filter((code) => code !== option.code),
                          )
                        }
                      />
                      {option.name}
                    </label>
                  </th>
                  <td>
                    <TechnologyMark technology={option.technology} />
                  </td>
                  <td className="number">
                    {formatMoney(option.swapCents.low)} to {formatMoney(option.swapCents.high)}
                  </td>
                  <td className="number">{formatMoney(option.swapCents.likely)}</td>
                  <td className="number">{formatMoney(option.workCents)}</td>
                  <td className="number">{option.crewHours}</td>
                  <td className="number">{option.circuits}</td>
                  <td>
                    {option.assumedParts === 0 ? (
                      "Your own figures"
                    ) : (
                      <span className="mark mark--attention">
                        {option.assumedParts} of {option.parts} assumed
                      </span>
                    )}
                    {option.incentiveCents > 0 && (
                      <div className="small soft">
                        less {formatMoney(option.incentiveCents)} in incentives
                      </div>
                    )}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </LedgerFrame>
      {own.length > 0 && (
        <div className="field__problem" role="alert">
          {own.map(({ message }) => message).join(" ")}
        </div>
      )}
    </fieldset>
  );
}
