"use client";

import Link from "next/link";
import { type RefObject, useEffect, useId, useRef, useState } from "react";
import {
  countFilters,
  DEFAULT_REGISTER,
  EMPTY_FILTER,
  INSTALL_KIND_LABELS,
  INSTALL_KINDS,
  MISSING_ITEMS,
  MISSING_LABELS,
  type RegisterFilter,
  type RegisterQuery,
  writeRegisterQuery,
} from "@/lib/core/heaters/register-query";
import {
  ANSWER_LABELS,
  ANSWERS,
  PLACE_LABELS,
  PLACES,
  READINESS_ITEMS,
  READINESS_LABELS,
  TECHNOLOGIES,
  TECHNOLOGY_LABELS,
} from "@/lib/core/heaters/vocabulary";
import type { RegisterPage } from "@/lib/services/register";
import styles from "./register.module.css";
import { useIsNarrow } from "./use-is-narrow";

const TYPING_PAUSE_MS = 300;

/** Everything that narrows the register. Each change goes into the address at once. */
export function RegisterFilters({
  query,
  places,
  searchPause,
  onChange,
}: {
  readonly query: RegisterQuery;
  readonly places: RegisterPage["places"];
  /** Timer of a search that is being typed, for whoever leaves the register to stop it. */
  readonly searchPause: RefObject<number | undefined>;
  readonly onChange: (query: RegisterQuery) => void;
}) {
  const { filter } = query;
  const set = (changes: Partial<RegisterFilter>) =>
    onChange({ ...query, filter: { ...filter, ...changes } });
  const isNarrow = useIsNarrow();
  const count = countFilters(filter);
  const choices = (
    <>
      <Choice
        label="Property"
        value={filter.propertyId ?? ""}
        onChange={(id) => set({ propertyId: id || null, buildingId: null })}
        options={[["", "All properties"], ...places.properties.map(pair)]}
      />
      {places.buildings.length > 0 && (
        <Choice
          label="Building"
          value={filter.buildingId ?? ""}
          onChange={(id) => set({ buildingId: id || null })}
          options={[["", "All buildings"], ...places.buildings.map(pair)]}
        />
      )}
      <Choice
        label="Status"
        value={filter.status ?? "all"}
        onChange={(status) =>
          set({ status: status === "in-service" || status === "retired" ? status : null })
        }
        options={[
          ["in-service", "In service"],
          ["retired", "Retired"],
          ["all", "In service, then retired"],
        ]}
      />
      <Choice
        label="Group by"
        value={query.group}
        onChange={(group) =>
          onChange({
            ...query,
            group: group === "property" || group === "building" ? group : "none",
          })
        }
        options={[
          ["none", "No groups"],
          ["property", "Property"],
          ["building", "Building"],
        ]}
      />
    </>
  );

  return (
    <div className={styles.filters}>
      <div className={styles.filterLine}>
        <SearchField
          value={filter.search}
          pause={searchPause}
          onChange={(search) => set({ search })}
        />
        {!isNarrow && choices}
      </div>
      <details className={styles.more}>
        <summary>
          {isNarrow ? "Filters and groups" : "More filters"}
          {count > 0 && ` (${count} set)`}
        </summary>
        {isNarrow && <div className={styles.filterLine}>{choices}</div>}
        <div className={styles.moreGrid}>
          <CheckList
            legend="Technology"
            options={TECHNOLOGIES}
            labels={TECHNOLOGY_LABELS}
            chosen={filter.technologies}
            onChange={(technologies) => set({ technologies })}
          />
          <CheckList
            legend="Place"
            options={PLACES}
            labels={PLACE_LABELS}
            chosen={filter.places}
            onChange={(chosen) => set({ places: chosen })}
          />
          <CheckList
            legend="Not on record"
            options={MISSING_ITEMS}
            labels={MISSING_LABELS}
            chosen={filter.missing}
            onChange={(missing) => set({ missing })}
          />
          <div className={styles.moreColumn}>
            <CheckList
              legend="Install day"
              options={INSTALL_KINDS}
              labels={INSTALL_KIND_LABELS}
              chosen={filter.installKinds}
              onChange={(installKinds) => set({ installKinds })}
            />
            <Range
              legend="Age, years"
              highest={200}
              from={filter.ageFrom}
              to={filter.ageTo}
              onChange={(ageFrom, ageTo) => set({ ageFrom, ageTo })}
            />
            <Range
              legend="Chance in 12 months, %"
              highest={100}
              from={filter.chanceFrom}
              to={filter.chanceTo}
              onChange={(chanceFrom, chanceTo) => set({ chanceFrom, chanceTo })}
            />
            <ReadinessChoice
              value={filter.readiness}
              onChange={(readiness) => set({ readiness })}
            />
          </div>
        </div>
      </details>
      <ActiveFilters query={query} places={places} />
    </div>
  );
}

const pair = ({ id, name }: { readonly id: string; readonly name: string }) => [id, name] as const;

/** Searches after a pause in typing; `/` anywhere on the page leads here. */
function SearchField({
  value,
  pause,
  onChange,
}: {
  readonly value: string;
  readonly pause: RefObject<number | undefined>;
  readonly onChange: (search: string) => void;
}) {
  const [text, setText] = useState(value);
  const input = useRef<HTMLInputElement>(null);
  const sent = useRef(value);
  const id = useId();

  // An address that changed for another reason (a filter taken off) shows in the field.
  useEffect(() => {
    if (value !== sent.current) {
      sent.current = value;
      setText(value);
    }
  }, [value]);

  useEffect(() => () => window.clearTimeout(pause.current), [pause]);

  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const target = event.target as HTMLElement;
      if (event.key !== "/" || target.closest("input, select, textarea")) return;
      event.preventDefault();
      input.current?.focus();
    };
    document.addEventListener("keydown", onKey);
    return () => document.removeEventListener("keydown", onKey);
  }, []);

  const send = (next: string) => {
    window.clearTimeout(pause.current);
    if (next.trim() === sent.current) return;
    sent.current = next.trim();
    onChange(next.trim());
  };
  return (
    <search className={`field ${styles.search}`}>
      <label htmlFor={id}>Search</label>
      <input
        id={id}
        ref={input}
        type="search"
        value={text}
        placeholder="Tag, home, building, maker, model, serial"
        onChange={({ target }) => {
          setText(target.value);
          window.clearTimeout(pause.current);
          pause.current = window.setTimeout(() => send(target.value), TYPING_PAUSE_MS);
        }}
        onKeyDown={(event) => {
          if (event.key === "Enter") send(text);
        }}
      />
    </search>
  );
}

function Choice({
  label,
  value,
  options,
  onChange,
}: {
  readonly label: string;
  readonly value: string;
  readonly options: readonly (readonly [value: string, label: string])[];
  readonly onChange: (value: string) => void;
}) {
  const id = useId();
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <select id={id} value={value} onChange={({ target }) => onChange(target.value)}>
        {options.map(([option, text]) => (
          <option key={option} value={option}>
            {text}
          </option>
        ))}
      </select>
    </div>
  );
}

function CheckList<T extends string>({
  legend,
  options,
  labels,
  chosen,
  onChange,
}: {
  readonly legend: string;
  readonly options: readonly T[];
  readonly labels: Readonly<Record<T, string>>;
  readonly chosen: readonly T[];
  readonly onChange: (chosen: readonly T[]) => void;
}) {
  return (
    <fieldset className={styles.checkList}>
      <legend>{legend}</legend>
      {options.map((option) => (
        <label key={option}>
          <input
            type="checkbox"
            checked={chosen.includes(option)}
            onChange={({ target }) =>
              onChange(
                options.filter((one) => (one === option ? target.checked : chosen.includes(one))),
              )
            }
          />
          {labels[option]}
        </label>
      ))}
    </fieldset>
  );
}

function Range({
  legend,
  highest,
  from,
  to,
  onChange,
}: {
  readonly legend: string;
  readonly highest: number;
  readonly from: number | null;
  readonly to: number | null;
  readonly onChange: (from: number | null, to: number | null) => void;
}) {
  const read = (text: string) => {
    const value = Number(text);
    return text.trim() === "" || !(value >= 0 && value <= highest) ? null : value;
  };
  const bound = (label: string, value: number | null, send: (value: number | null) => void) => (
    <label>
      {label}
      <input
        // A new value from the address replaces what stands in the field.
        key={value}
        type="number"
        inputMode="decimal"
        min={0}
        max={highest}
        step="any"
        defaultValue={value ?? ""}
        onBlur={({ target }) => {
          const next = read(target.value);
          if (next !== value) send(next);
        }}
        onKeyDown={(event) => {
          if (event.key === "Enter") event.currentTarget.blur();
        }}
      />
    </label>
  );
  return (
    <fieldset className={styles.range}>
      <legend>{legend}</legend>
      {bound("from", from, (next) => onChange(next, to))}
      {bound("to", to, (next) => onChange(from, next))}
    </fieldset>
  );
}

function ReadinessChoice({
  value,
  onChange,
}: {
  readonly value: RegisterFilter["readiness"];
  readonly onChange: (value: RegisterFilter["readiness"]) => void;
}) {
  const item = READINESS_ITEMS.find((one) => one === value?.item) ?? null;
  const answer = value?.answer ?? "yes";
  return (
    <fieldset className={styles.readiness}>
      <legend>Site survey says</legend>
      <select
        aria-label="Item of the survey"
        value={item ?? ""}
        onChange={({ target }) => {
          const next = READINESS_ITEMS.find((one) => one === target.value);
          onChange(next ? { item: next, answer } : null);
        }}
      >
        <option value="">Any</option>
        {READINESS_ITEMS.map((one) => (
          <option key={one} value={one}>
            {READINESS_LABELS[one]}
          </option>
        ))}
      </select>
      <select
        aria-label="Answer of the survey"
        value={answer}
        disabled={item === null}
        onChange={({ target }) => {
          const next = ANSWERS.find((one) => one === target.value);
          if (item && next) onChange({ item, answer: next });
        }}
      >
        {ANSWERS.map((one) => (
          <option key={one} value={one}>
            {ANSWER_LABELS[one]}
          </option>
        ))}
      </select>
    </fieldset>
  );
}

/** The filters that are set, in words; each can be taken off. */
function ActiveFilters({
  query,
  places,
}: {
  readonly query: RegisterQuery;
  readonly places: RegisterPage["places"];
}) {
  const active = activeFilters(query.filter, places);
  if (active.length === 0) return null;
  const without = (changes: Partial<RegisterFilter>) =>
    `/heaters?${writeRegisterQuery({ ...query, filter: { ...query.filter, ...changes } })}`;
  return (
    <ul className={styles.active} aria-label="Filters that are set">
      {active.map(({ words, off }) => (
        <li key={words}>
          <Link href={without(off)} replace scroll={false} prefetch={false}>
            {words} <span aria-hidden="true">×</span>
            <span className="visually-hidden">, take off</span>
          </Link>
        </li>
      ))}
      {active.length > 1 && (
        <li>
          <Link
            href={`/heaters?${writeRegisterQuery({ ...query, filter: DEFAULT_REGISTER.filter })}`}
            replace
            scroll={false}
            prefetch={false}
          >
            Take all off
          </Link>
        </li>
      )}
    </ul>
  );
}

type ActiveFilter = { readonly words: string; readonly off: Partial<RegisterFilter> };

function activeFilters(
  filter: RegisterFilter,
  places: RegisterPage["places"],
): readonly ActiveFilter[] {
  const nameIn = (list: RegisterPage["places"]["properties"], id: string | null) =>
    list.find((one) => one.id === id)?.name ?? "not on record";
  const list = <T extends string>(
    name: string,
    chosen: readonly T[],
    labels: Readonly<Record<T, string>>,
    off: Partial<RegisterFilter>,
  ): readonly ActiveFilter[] =>
    chosen.length === 0
      ? []
      : [{ words: `${name}: ${chosen.map((one) => labels[one]).join(" or ")}`, off }];
  const range = (
    name: string,
    unit: string,
    from: number | null,
    to: number | null,
    off: Partial<RegisterFilter>,
  ): readonly ActiveFilter[] => {
    if (from === null && to === null) return [];
    const words = to === null ? `from ${from}` : from === null ? `to ${to}` : `${from} to ${to}`;
    return [{ words: `${name}: ${words} ${unit}`, off }];
  };
  return [
    ...(filter.search ? [{ words: `"${filter.search}"`, off: { search: "" } }] : []),
    ...(filter.propertyId
      ? [
          {
            words: nameIn(places.properties, filter.propertyId),
            off: { propertyId: null, buildingId: null },
          },
        ]
      : []),
    ...(filter.buildingId
      ? [{ words: nameIn(places.buildings, filter.buildingId), off: { buildingId: null } }]
      : []),
    ...list("Technology", filter.technologies, TECHNOLOGY_LABELS, { technologies: [] }),
    ...list("Place", filter.places, PLACE_LABELS, { places: [] }),
    ...list("Install day", filter.installKinds, INSTALL_KIND_LABELS, { installKinds: [] }),
    ...list("Not on record", filter.missing, MISSING_LABELS, { missing: [] }),
    ...range("Age", "years", filter.ageFrom, filter.ageTo, { ageFrom: null, ageTo: null }),
    ...range("Chance", "%", filter.chanceFrom, filter.chanceTo, {
      chanceFrom: null,
      chanceTo: null,
    }),
    ...(filter.readiness
      ? [
          {
            words: `${READINESS_LABELS[filter.readiness.item]}: ${ANSWER_LABELS[filter.readiness.answer]}`,
            off: { readiness: null },
          },
        ]
      : []),
    ...(filter.status !== EMPTY_FILTER.status
      ? [
          {
            words: filter.status === "retired" ? "Retired" : "Also retired",
            off: { status: EMPTY_FILTER.status },
          },
        ]
      : []),
  ];
}
