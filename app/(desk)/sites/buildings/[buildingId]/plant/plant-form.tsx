"use client";

import { type FormEvent, useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { keepPlant } from "@/app/(desk)/sites/actions";
import { assessPlant, PLANT_SCOPE_LABELS, PLANT_SCOPES } from "@/lib/core/heaters/building-plant";
import { DEMAND_LEVELS } from "@/lib/core/heaters/vocabulary";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type PlantFormInput, plantFormSchema } from "@/lib/services/sites-plant-form";
import { PlantAnswer } from "./plant-answer";

const LEVEL_LABELS = { low: "Low", medium: "Medium", high: "High" } as const;

type Values = Readonly<Record<keyof PlantFormInput, string>>;

/** Sizes a building's central plant while it is typed, and keeps it for the plans. */
export function PlantForm({
  buildingId,
  values: start,
  service,
  spareVoltAmperes,
  spareFrom,
  mayEdit,
}: {
  readonly buildingId: string;
  readonly values: Values;
  readonly service: { readonly volts: number; readonly phases: 1 | 3 } | null;
  readonly spareVoltAmperes: number | null;
  readonly spareFrom: string;
  readonly mayEdit: boolean;
}) {
  const [values, setValues] = useState(start);
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isSaved, setIsSaved] = useState(false);
  const [isPending, startTransition] = useTransition();

  const parsed = parseWith(plantFormSchema, values);
  const assessment = parsed.ok ? assessPlant(parsed.value, service, spareVoltAmperes) : null;

  const set = (name: keyof Values) => ({
    name,
    value: values[name],
    problems: parsed.ok ? problems : [...problems, ...parsed.problems],
    disabled: !mayEdit,
    onChange: (event: { target: { value: string } }) => {
      setIsSaved(false);
      setProblems([]);
      setValues({ ...values, [name]: event.target.value });
    },
  });
  const number = (name: keyof Values) => ({ ...set(name), inputMode: "decimal" as const });

  const send = (event: FormEvent) => {
    event.preventDefault();
    if (!parsed.ok) {
      document.getElementById(parsed.problems[0]?.path ?? "")?.focus();
      return;
    }
    startTransition(async () => {
      const answer = await keepPlant(buildingId, values);
      setProblems(answer.problems);
      setIsSaved(answer.isSaved);
    });
  };
  const general = problems.filter(({ path }) => path === "");

  return (
    <form className="section" noValidate onSubmit={send}>
      <div className="columns">
        <div className="section">
          <h2>Homes and use</h2>
          <div className="field-grid">
            <TextField {...number("homes")} label="Apartments" />
            <TextField {...number("people")} label="People" />
            <SelectField
              {...set("level")}
              label="Use of hot water"
              options={DEMAND_LEVELS.map((value) => ({ value, label: LEVEL_LABELS[value] }))}
              hint="Low and medium as quoted from the handbook; high from memory."
            />
            <TextField
              {...number("coldestInletF")}
              label="Coldest cold water, °F"
              hint="In the month when mains water is coldest."
            />
          </div>
          <h3>Plant</h3>
          <div className="field-grid">
            <TextField
              {...number("storageGal")}
              label="Storage, gallons"
              hint="Empty: as much as the method asks."
            />
            <TextField
              {...number("heatBtuPerHour")}
              label="Heat output, Btu/h"
              hint="On the coldest day. Empty: as much as the method asks."
            />
            <TextField
              {...number("runHours")}
              label="Recovery hours a day"
              hint="Running on the greatest day; the rest is for defrost and rest. 16 is common practice."
            />
            <TextField
              {...number("storageF")}
              label="Stored at, °F"
              hint="140 or above in buildings at risk, mixed down at the outlet."
            />
            <TextField
              {...number("coefficientOfPerformance")}
              label="Coefficient of performance"
              hint="On the coldest day; from the maker’s table."
            />
            <TextField
              {...number("loopWattsPerHome")}
              label="Loop loss, W a home"
              hint="0 without recirculation."
            />
            <TextField
              {...number("floorSqFt")}
              label="Free floor, sq ft"
              hint="Empty: nobody has looked."
            />
          </div>
          <h3>In plans</h3>
          <div className="field-grid">
            <SelectField
              {...set("scope")}
              label="Single heaters give way together"
              options={PLANT_SCOPES.map((value) => ({ value, label: PLANT_SCOPE_LABELS[value] }))}
              hint="In scenarios that offer a central plant: all of a group in one period, or none. Nothing else is then planned for them."
            />
          </div>
        </div>
        {assessment && parsed.ok ? (
          <PlantAnswer assessment={assessment} plant={parsed.value} spareFrom={spareFrom} />
        ) : (
          <p className="notice notice--attention">
            {parsed.ok ? "" : "A number is missing or out of its range; see the fields."}
          </p>
        )}
      </div>
      {general.length > 0 && (
        <p className="notice notice--attention" role="alert">
          {general.map(({ message }) => message).join(" ")}
        </p>
      )}
      {mayEdit && (
        <div className="actions">
          <button className="button button--primary" type="submit" disabled={isPending}>
            {isPending ? "Keeping …" : "Keep this plant"}
          </button>
          <span role="status">{isSaved && !isPending ? "Kept." : ""}</span>
        </div>
      )}
    </form>
  );
}
