"use client";

import { useState } from "react";
import { Caution } from "@/app/_components/caution";
import { SelectField, TextField } from "@/app/_components/field";
import { buildingsOf } from "@/app/(desk)/heaters/actions";
import { CAUTIONS } from "@/lib/core/heaters/cautions";
import {
  HEATER_FORM_LABELS,
  type HeaterFormField,
  type HeaterFormText,
} from "@/lib/core/heaters/heater-form";
import {
  ANSWER_LABELS,
  ANSWERS,
  FUEL_LABELS,
  FUELS,
  hasTank,
  INSTALL_EVIDENCE,
  INSTALL_EVIDENCE_LABELS,
  isCombustion,
  PLACE_LABELS,
  PLACES,
  TECHNOLOGIES,
  TECHNOLOGY_LABELS,
} from "@/lib/core/heaters/vocabulary";
import type { Problem } from "@/lib/core/shared/outcome";

export type FieldsProps = {
  readonly text: HeaterFormText;
  readonly onChange: (changes: Partial<HeaterFormText>) => void;
  readonly problems: readonly Problem[];
  readonly properties: readonly { readonly id: string; readonly name: string }[];
  readonly propertyId: string | null;
  /** Of the property that the form opens with. */
  readonly buildings: readonly { readonly id: string; readonly name: string }[];
  /** Set before each field's name, where a page holds two forms. */
  readonly prefix?: string;
};

const optionsOf = <T extends string>(values: readonly T[], labels: Readonly<Record<T, string>>) =>
  values.map((value) => ({ value, label: labels[value] }));

/** The fields of a heater. What is typed is kept by the form around them. */
export function HeaterFields(props: FieldsProps) {
  const { text, onChange, problems, prefix = "" } = props;
  const technology = TECHNOLOGIES.find((one) => one === text.technology) ?? "gas-storage";
  const burns = isCombustion(technology);
  const input = (
    field: HeaterFormField,
    rest: { readonly hint?: string; readonly inputMode?: "decimal" | "numeric" } = {},
  ) => (
    <TextField
      name={`${prefix}${field}`}
      label={HEATER_FORM_LABELS[field]}
      value={text[field]}
      onChange={({ target }) => onChange({ [field]: target.value })}
      problems={problems}
      autoComplete="off"
      {...rest}
    />
  );
  const choice = (
    field: HeaterFormField,
    options: readonly { readonly value: string; readonly label: string }[],
    hint?: string,
  ) => (
    <SelectField
      name={`${prefix}${field}`}
      label={HEATER_FORM_LABELS[field]}
      value={text[field]}
      onChange={({ target }) => onChange({ [field]: target.value })}
      problems={problems}
      options={options}
      hint={hint}
    />
  );
  const answer = (field: HeaterFormField, hint?: string) =>
    choice(field, optionsOf(ANSWERS, ANSWER_LABELS), hint);
  const number = (field: HeaterFormField, hint?: string) =>
    input(field, { inputMode: "decimal", ...(hint && { hint }) });

  return (
    <>
      <fieldset className="section" style={{ border: 0, padding: 0, margin: 0 }}>
        <legend className="visually-hidden">What it is</legend>
        <h2>What it is</h2>
        <div className="field-grid">
          {input("tag", { hint: "Your own number for it." })}
          <SelectField
            name={`${prefix}technology`}
            label={HEATER_FORM_LABELS.technology}
            value={text.technology}
            onChange={({ target }) => {
              const next = TECHNOLOGIES.find((one) => one === target.value) ?? technology;
              // The fuel follows the technology where only one can.
              const fuel = isCombustion(next)
                ? text.fuel === "electricity"
                  ? "natural-gas"
                  : text.fuel
                : "electricity";
              onChange({ technology: next, fuel });
            }}
            problems={problems}
            options={optionsOf(TECHNOLOGIES, TECHNOLOGY_LABELS)}
          />
          {choice("fuel", optionsOf(FUELS, FUEL_LABELS))}
          {input("manufacturer")}
          {input("model")}
          {input("serial")}
          {(hasTank(technology) || text.volumeGal !== "") && number("volumeGal", "Gallons.")}
          {(burns || text.inputBtuPerHour !== "") && number("inputBtuPerHour", "Btu per hour.")}
          {(!burns || text.inputWatts !== "") && number("inputWatts", "Watts.")}
          {number("uniformEnergyFactor")}
          {number("firstHourGal", "Gallons in the first hour.")}
          {number("warrantyYears", "Years.")}
        </div>
      </fieldset>
      <fieldset className="section" style={{ border: 0, padding: 0, margin: 0 }}>
        <legend className="visually-hidden">When it was installed</legend>
        <h2>When it was installed</h2>
        <div className="field-grid">
          {input("installFrom", {
            hint: "A day (2015-06-03), or only a month (2015-06) or a year (2015).",
          })}
          {input("installTo", {
            hint: "Only where the day is not known: the latest that it can have been.",
          })}
          {choice("installEvidence", optionsOf(INSTALL_EVIDENCE, INSTALL_EVIDENCE_LABELS))}
        </div>
      </fieldset>
      <PlaceFields {...props} input={input} number={number} choice={choice} answer={answer} />
      <fieldset className="section" style={{ border: 0, padding: 0, margin: 0 }}>
        <legend className="visually-hidden">Setting and protection</legend>
        <h2>Setting and protection</h2>
        <div className="field-grid">
          {number("setpointF", "Thermostat, °F.")}
          {answer("mixingValve")}
          {answer("overFinishedSpace", "Would a leak run into finished rooms?")}
          {answer("drainPan")}
          {answer("leakShutoff")}
          {answer("closedSystem", "A check valve, regulator or backflow preventer on the feed.")}
          {answer("expansionControl")}
        </div>
        <Caution>{CAUTIONS.setpoint}</Caution>
        <Caution>{CAUTIONS.legionella}</Caution>
      </fieldset>
      <div className="section">
        <h2>Notes</h2>
        <div className="field">
          <label htmlFor={`${prefix}notes`}>{HEATER_FORM_LABELS.notes}</label>
          <textarea
            id={`${prefix}notes`}
            name={`${prefix}notes`}
            value={text.notes}
            onChange={({ target }) => onChange({ notes: target.value })}
          />
          {problems
            .filter(({ path }) => path === `${prefix}notes`)
            .map(({ message }) => (
              <div key={message} className="field__problem" role="alert">
                {message}
              </div>
            ))}
        </div>
      </div>
    </>
  );
}

type Makers = {
  readonly input: (field: HeaterFormField, rest?: { readonly hint?: string }) => React.ReactNode;
  readonly number: (field: HeaterFormField, hint?: string) => React.ReactNode;
  readonly choice: (
    field: HeaterFormField,
    options: readonly { readonly value: string; readonly label: string }[],
    hint?: string,
  ) => React.ReactNode;
  readonly answer: (field: HeaterFormField, hint?: string) => React.ReactNode;
};

function PlaceFields({
  onChange,
  properties,
  propertyId,
  buildings,
  prefix = "",
  input,
  number,
  choice,
}: FieldsProps & Makers) {
  const [place, setPlace] = useState({ propertyId: propertyId ?? "", buildings });
  const chooseProperty = async (id: string) => {
    setPlace({ propertyId: id, buildings: [] });
    onChange({ buildingId: "" });
    setPlace({ propertyId: id, buildings: id === "" ? [] : await buildingsOf(id) });
  };
  return (
    <fieldset className="section" style={{ border: 0, padding: 0, margin: 0 }}>
      <legend className="visually-hidden">Where it stands</legend>
      <h2>Where it stands</h2>
      <div className="field-grid">
        <SelectField
          name={`${prefix}propertyId`}
          label="Property"
          value={place.propertyId}
          onChange={({ target }) => void chooseProperty(target.value)}
          options={[
            { value: "", label: "Choose" },
            ...properties.map(({ id, name }) => ({ value: id, label: name })),
          ]}
        />
        {choice("buildingId", [
          { value: "", label: place.propertyId === "" ? "Choose the property first" : "Choose" },
          ...place.buildings.map(({ id, name }) => ({ value: id, label: name })),
        ])}
        {choice("place", optionsOf(PLACES, PLACE_LABELS))}
        {input("unitLabel", {
          hint: "Its number; empty where the heater stands in a common place. A new number makes a new home, one on record keeps its own floor and rooms.",
        })}
        {number("floor")}
        {input("riser")}
        {number("bedrooms")}
        {number("bathrooms")}
        {number("occupants")}
        {number("homesServed", "Homes without hot water when it fails.")}
      </div>
    </fieldset>
  );
}
