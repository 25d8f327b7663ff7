"use client";

import { useId, useMemo, useState, useTransition } from "react";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { type ActionState, saveMatching } from "@/app/(desk)/import/actions";
import styles from "@/app/(desk)/import/import.module.css";
import {
  type ColumnMapping,
  type ColumnMatch,
  checkMapping,
} from "@/lib/core/exchange/column-mapping";
import { matchDetail } from "@/lib/core/exchange/guess-columns";
import { HEATER_FIELDS, type HeaterField, heaterColumn } from "@/lib/core/exchange/heater-columns";
import type { ImportColumn } from "@/lib/core/exchange/import-batch";
import { ORDER_WORDS } from "@/lib/core/exchange/parse-date";
import { UNITS, type UnitCode, unitsOf } from "@/lib/core/exchange/quantities";
import { createCellReader } from "@/lib/core/exchange/read-cell";

type Constant = { readonly key: number; readonly field: HeaterField | ""; readonly text: string };

/** What each column of a file is read as, by guess and by hand, with what its cells then say. */
export function MatchForm({
  batchId,
  columns,
  mapping,
  todayYear,
  uses1904,
}: {
  readonly batchId: string;
  readonly columns: readonly ImportColumn[];
  readonly mapping: ColumnMapping;
  readonly todayYear: number;
  readonly uses1904: boolean;
}) {
  const [matches, setMatches] = useState(mapping.matches);
  const [constants, setConstants] = useState<readonly Constant[]>(() =>
    Object.entries(mapping.constants).map(([field, text], key) => ({
      key,
      field: field as HeaterField,
      text: text ?? "",
    })),
  );
  const [isPending, start] = useTransition();
  const [state, setState] = useState<ActionState>({ problems: [] });

  const chosen: ColumnMapping = {
    matches,
    constants: Object.fromEntries(
      constants.flatMap(({ field, text }) => (field && text.trim() ? [[field, text.trim()]] : [])),
    ),
  };
  const checked = checkMapping(chosen, todayYear);
  const problems = checked.ok ? state.problems : checked.problems;
  const leftOut = matches.filter((match) => match === null).length;
  const change = (index: number, match: ColumnMatch | null) => {
    setState({ problems: [] });
    setMatches(matches.map((old, at) => (at === index ? match : old)));
  };

  return (
    <form
      className="section"
      onSubmit={(event) => {
        event.preventDefault();
        start(async () => setState((await saveMatching(batchId, chosen)) ?? { problems: [] }));
      }}
    >
      <h2>What the columns hold</h2>
      <p className="soft">
        {columns.length - leftOut} of {columns.length} columns are matched; what is not matched is
        left out. Look at how the first cells are read.
      </p>
      <LedgerFrame label="Columns of the file">
        <table className={`ledger ${styles.matching}`}>
          <thead>
            <tr>
              <th scope="col">Column of the file</th>
              <th scope="col">Read as</th>
              <th scope="col">Confidence</th>
              <th scope="col">First cells, and how they are read</th>
              <th scope="col">In which way</th>
            </tr>
          </thead>
          <tbody>
            {columns.map((column, index) => (
              <ColumnRow
                // biome-ignore lint/suspicious/noArrayIndexKey: two columns may have one heading; their order is fixed
                key={index}
                index={index}
                column={column}
                match={matches[index] ?? null}
                problem={problems.find(({ path }) => path === `columns[${index}]`)?.message}
                options={{ todayYear, uses1904 }}
                onChange={(match) => change(index, match)}
              />
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <Constants
        constants={constants}
        problems={problems}
        onChange={(next) => {
          setState({ problems: [] });
          setConstants(next);
        }}
      />
      {problems
        .filter(({ path }) => !/^(columns\[|constants\.)/.test(path))
        .map(({ message }) => (
          <p key={message} className="notice notice--attention" role="alert">
            {sentence(message)}
          </p>
        ))}
      <div className="actions">
        <button
          className="button button--primary"
          type="submit"
          disabled={isPending || !checked.ok}
        >
          {isPending ? "Checking every row …" : "See what would change"}
        </button>
      </div>
    </form>
  );
}

type ReadOptions = { readonly todayYear: number; readonly uses1904: boolean };

function ColumnRow({
  index,
  column: { guess, profile },
  match,
  problem,
  options,
  onChange,
}: {
  readonly index: number;
  readonly column: ImportColumn;
  readonly match: ColumnMatch | null;
  readonly problem: string | undefined;
  readonly options: ReadOptions;
  readonly onChange: (match: ColumnMatch | null) => void;
}) {
  const id = useId();
  const heading = guess.header || `Column ${index + 1}, without a heading`;
  return (
    <tr>
      <th scope="row">
        {heading}
        <div className="small soft">
          {profile.filledCount === 0
            ? "empty"
            : `${profile.filledCount.toLocaleString("en-US")} filled`}
        </div>
      </th>
      <td>
        <label className="visually-hidden" htmlFor={id}>
          Read {heading} as
        </label>
        <FieldSelect
          id={id}
          value={match?.field ?? ""}
          emptyLabel="Leave out"
          onChange={(field) =>
            onChange(field ? matchDetail(guess.header, heaterColumn(field), profile).match : null)
          }
        />
        {problem && (
          <div className="field__problem" role="alert">
            {sentence(problem)}
          </div>
        )}
      </td>
      <td>{confidenceWords(match, guess)}</td>
      <td>
        <Samples match={match} samples={profile.samples} options={options} />
      </td>
      <td>
        {match && (
          <Ways
            match={match}
            statements={statementsOf(match, guess, profile)}
            heading={heading}
            onChange={onChange}
          />
        )}
      </td>
    </tr>
  );
}

/** How a column came to be read as it is; of one matched as the last time, what has changed since. */
function statementsOf(
  match: ColumnMatch,
  guess: ImportColumn["guess"],
  profile: ImportColumn["profile"],
): readonly string[] {
  const isGuessed = match.field === guess.match?.field;
  if (isGuessed && guess.confidence < REMEMBERED) return guess.statements;
  const detail = matchDetail(guess.header, heaterColumn(match.field), profile);
  if (!isGuessed) return detail.statements;
  const { mdyOnly, dmyOnly } = profile.dateOrder;
  const isContradicted =
    match.dateOrder !== null && mdyOnly + dmyOnly > 0 && detail.match.dateOrder !== match.dateOrder;
  return isContradicted
    ? ["the dates of this file are in another order than the last time: look at them"]
    : [];
}

/** Confidence of a column that was matched before. */
const REMEMBERED = 1;
const SURE = 0.9;
const LIKELY = 0.7;

function confidenceWords(match: ColumnMatch | null, guess: ImportColumn["guess"]): string {
  if (!match) return guess.match ? "Left out by hand" : "Not known";
  if (match.field !== guess.match?.field) return "By hand";
  if (guess.confidence >= REMEMBERED) return "As the last time";
  if (guess.confidence >= SURE) return "Sure";
  return guess.confidence >= LIKELY ? "Likely" : "A guess: look at it";
}

/** How many of a column's cells are shown. */
const SAMPLES_SHOWN = 4;

function Samples({
  match,
  samples,
  options,
}: {
  readonly match: ColumnMatch | null;
  readonly samples: readonly string[];
  readonly options: ReadOptions;
}) {
  const { todayYear, uses1904 } = options;
  const lines = useMemo(() => {
    const shown = samples.slice(0, SAMPLES_SHOWN);
    if (!match) return shown.map((text) => ({ text, reading: null, isProblem: false }));
    const column = heaterColumn(match.field);
    const read = createCellReader(column, {
      unit: match.unit,
      dateOrder: match.dateOrder ?? "mdy",
      todayYear,
      uses1904,
    });
    return shown.map((text) => {
      const reading = read(text);
      if ("problem" in reading) return { text, reading: reading.problem, isProblem: true };
      return { text, reading: readingWords(reading.value, match, text), isProblem: false };
    });
  }, [match, samples, todayYear, uses1904]);
  return (
    <div className={styles.samples}>
      {lines.map(({ text, reading, isProblem }) => (
        <div key={text}>
          {text}
          {reading !== null && (
            <span className={isProblem ? "field__problem" : "soft"}>
              {isProblem ? " – cannot be read: " : " → "}
              {reading}
            </span>
          )}
        </div>
      ))}
    </div>
  );
}

type Read = ReturnType<ReturnType<typeof createCellReader>>;
type ReadValue = Extract<Read, { value: unknown }>["value"];

/** A reading in words where it says more than the cell itself. */
function readingWords(value: ReadValue, match: ColumnMatch, text: string): string | null {
  if (value === null) return "not known";
  const column = heaterColumn(match.field);
  if (typeof value === "number") {
    const words = `${Number(value.toPrecision(5))}${column.unit ? ` ${UNITS[column.unit].label}` : ""}`;
    return words === text ? null : words;
  }
  if (typeof value === "string") return value === text ? null : value.replaceAll("-", " ");
  if ("earliest" in value) {
    const { earliest, latest } = value;
    if (earliest === latest) return earliest === text ? null : earliest;
    if (earliest === null) return `until ${latest}`;
    return latest === null ? `from ${earliest}` : `${earliest} to ${latest}`;
  }
  if ("unit" in value) {
    return `${value.value.toLocaleString("en-US")} ${value.unit === null ? "in the type’s unit" : UNITS[value.unit].label}`;
  }
  const words = [value.energy, value.form, value.variant, value.fuel].filter((one) => one !== null);
  return words.map((word) => TECHNOLOGY_WORDS[word] ?? word).join(", ");
}

const TECHNOLOGY_WORDS: Readonly<Record<string, string>> = {
  combustion: "gas fired",
  storage: "tank",
  instantaneous: "tankless",
  "heat-pump": "heat pump",
  "natural-gas": "natural gas",
  "fuel-oil": "fuel oil",
};

/** Unit, order of dates, filling down; with the sentences that say how it was decided. */
function Ways({
  match,
  statements,
  heading,
  onChange,
}: {
  readonly match: ColumnMatch;
  readonly statements: readonly string[];
  readonly heading: string;
  readonly onChange: (match: ColumnMatch) => void;
}) {
  const id = useId();
  const column = heaterColumn(match.field);
  return (
    <div className={styles.how}>
      {column.quantity && (
        <div>
          <label htmlFor={`${id}-unit`}>Without a unit, in </label>
          <select
            id={`${id}-unit`}
            aria-label={`Unit of ${heading} where a cell names none`}
            value={match.unit ?? ""}
            onChange={({ currentTarget }) =>
              onChange({ ...match, unit: (currentTarget.value || null) as UnitCode | null })
            }
          >
            <option value="">
              {column.unit ? UNITS[column.unit].label : "Btu/h or W, by type"}
            </option>
            {unitsOf(column.quantity)
              .filter((unit) => unit !== column.unit)
              .map((unit) => (
                <option key={unit} value={unit}>
                  {UNITS[unit].label}
                </option>
              ))}
          </select>
        </div>
      )}
      {column.kind === "date" && (
        <div>
          <label htmlFor={`${id}-order`}>Dates as </label>
          <select
            id={`${id}-order`}
            aria-label={`Order of the dates of ${heading}`}
            value={match.dateOrder ?? "mdy"}
            onChange={({ currentTarget }) =>
              onChange({ ...match, dateOrder: currentTarget.value === "dmy" ? "dmy" : "mdy" })
            }
          >
            <option value="mdy">{ORDER_WORDS.mdy}</option>
            <option value="dmy">{ORDER_WORDS.dmy}</option>
          </select>
        </div>
      )}
      {(match.field === "property" || match.field === "building") && (
        <label className={styles.check}>
          <input
            type="checkbox"
            checked={match.fillDown}
            onChange={({ currentTarget }) =>
              onChange({ ...match, fillDown: currentTarget.checked })
            }
          />
          An empty cell repeats the one above
        </label>
      )}
      {statements.map((statement) => (
        <span key={statement} className="small soft">
          {sentence(statement)}
        </span>
      ))}
    </div>
  );
}

function Constants({
  constants,
  problems,
  onChange,
}: {
  readonly constants: readonly Constant[];
  readonly problems: ActionState["problems"];
  readonly onChange: (constants: readonly Constant[]) => void;
}) {
  const set = (key: number, change: Partial<Constant>) =>
    onChange(constants.map((one) => (one.key === key ? { ...one, ...change } : one)));
  return (
    <fieldset className="section" style={{ border: 0, padding: 0, margin: 0 }}>
      <legend style={{ padding: 0 }}>
        <h3>The same for every row</h3>
      </legend>
      <p className="soft small">
        For what the file does not say, or leaves empty: one property for the whole file, one type.
      </p>
      {constants.map(({ key, field, text }) => {
        const problem = problems.find(({ path }) => path === `constants.${field}`);
        return (
          <div key={key} className="filter">
            <div className="field">
              <label htmlFor={`constant-field-${key}`}>Column</label>
              <FieldSelect
                id={`constant-field-${key}`}
                value={field}
                emptyLabel="Choose one"
                onChange={(next) => set(key, { field: next ?? "" })}
              />
            </div>
            <div className="field">
              <label htmlFor={`constant-text-${key}`}>Value</label>
              <input
                id={`constant-text-${key}`}
                type="text"
                value={text}
                maxLength={200}
                aria-invalid={problem ? true : undefined}
                onChange={({ currentTarget }) => set(key, { text: currentTarget.value })}
              />
              {problem && (
                <div className="field__problem" role="alert">
                  {sentence(problem.message)}
                </div>
              )}
            </div>
            <button
              className="button"
              type="button"
              onClick={() => onChange(constants.filter((one) => one.key !== key))}
            >
              Take away
            </button>
          </div>
        );
      })}
      <div className="actions">
        <button
          className="button"
          type="button"
          onClick={() =>
            onChange([
              ...constants,
              { key: Math.max(-1, ...constants.map(({ key }) => key)) + 1, field: "", text: "" },
            ])
          }
        >
          Add a value for every row
        </button>
      </div>
    </fieldset>
  );
}

/** The fields in groups as a person looks for them. */
const FIELD_GROUPS: readonly (readonly [label: string, fields: readonly HeaterField[]])[] = [
  [
    "Where it stands",
    ["property", "building", "unit", "floor", "riser", "place", "overFinishedSpace"],
  ],
  ["The home", ["bedrooms", "bathrooms", "occupants", "homesServed"]],
  ["What it is", ["tag", "technology", "fuel", "manufacturer", "model", "serial", "notes"]],
  [
    "Nameplate and setting",
    [
      "volume",
      "input",
      "inputBtuPerHour",
      "inputWatts",
      "uniformEnergyFactor",
      "firstHour",
      "setpoint",
      "warrantyYears",
    ],
  ],
  [
    "Installed",
    [
      "installDate",
      "installYear",
      "installEarliest",
      "installLatest",
      "ageYears",
      "installEvidence",
    ],
  ],
  [
    "Around it",
    [
      "drainPan",
      "leakShutoff",
      "closedSystem",
      "expansionControl",
      "mixingValve",
      "hardness",
      "softened",
    ],
  ],
  ["Care", ["lastFlush", "lastAnodeReplacement"]],
  ["End of service", ["status", "retiredOn", "retirementCause"]],
];

function FieldSelect({
  id,
  value,
  emptyLabel,
  onChange,
}: {
  readonly id: string;
  readonly value: HeaterField | "";
  readonly emptyLabel: string;
  readonly onChange: (field: HeaterField | null) => void;
}) {
  return (
    <select
      id={id}
      value={value}
      onChange={({ currentTarget }) =>
        onChange(HEATER_FIELDS.find((field) => field === currentTarget.value) ?? null)
      }
    >
      <option value="">{emptyLabel}</option>
      {FIELD_GROUPS.map(([label, fields]) => (
        <optgroup key={label} label={label}>
          {fields.map((field) => (
            <option key={field} value={field}>
              {heaterColumn(field).label}
            </option>
          ))}
        </optgroup>
      ))}
    </select>
  );
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
