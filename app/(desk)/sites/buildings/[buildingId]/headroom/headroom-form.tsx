"use client";

import { type FormEvent, useState, useTransition } from "react";
import { SelectField, TextField } from "@/app/_components/field";
import { keepHeadroom } from "@/app/(desk)/sites/actions";
import {
  assessHeadroom,
  circuitsAddedByUpgrade,
  HEADROOM_METHOD_LABELS,
  HEADROOM_METHODS,
  PEAK_BASES,
  PEAK_BASIS_LABELS,
} from "@/lib/core/heaters/electrical-building";
import { ANSWER_LABELS, ANSWERS } from "@/lib/core/heaters/vocabulary";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { type HeadroomFormInput, headroomFormSchema } from "@/lib/services/headroom-form";
import { HeadroomAnswer } from "./headroom-answer";

type Values = Readonly<Record<keyof HeadroomFormInput, string>>;

/** Works a building's headroom out while it is typed, and keeps it for the plans. */
export function HeadroomForm({
  buildingId,
  values: start,
  burners,
}: {
  readonly buildingId: string;
  readonly values: Values;
  readonly burners: number;
}) {
  const [values, setValues] = useState(start);
  const [upgradedAmps, setUpgradedAmps] = useState("");
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isSaved, setIsSaved] = useState(false);
  const [isPending, startTransition] = useTransition();

  const parsed = parseWith(headroomFormSchema, values);
  const form = parsed.ok ? parsed.value : null;
  const service =
    form && form.serviceAmps !== null && form.serviceVolts !== null
      ? { amps: form.serviceAmps, volts: form.serviceVolts }
      : null;
  const assessment = form && assessHeadroom(service, form.measuredPeakKw, form.electrical);
  const added =
    form && service && Number(upgradedAmps) > service.amps
      ? circuitsAddedByUpgrade(service, Number(upgradedAmps), form.measuredPeakKw, form.electrical)
      : null;

  const set = (name: keyof Values) => ({
    name,
    value: values[name],
    problems,
    onChange: (event: { target: { value: string } }) => {
      setIsSaved(false);
      setValues({ ...values, [name]: event.target.value });
    },
  });
  const number = (name: keyof Values) => ({ ...set(name), inputMode: "decimal" as const });

  const send = (event: FormEvent) => {
    event.preventDefault();
    if (!parsed.ok) {
      setProblems(parsed.problems);
      document.getElementById(parsed.problems[0]?.path ?? "")?.focus();
      return;
    }
    startTransition(async () => {
      const answer = await keepHeadroom(buildingId, values);
      setProblems(answer.problems);
      setIsSaved(answer.isSaved);
    });
  };
  const general = problems.filter(({ path }) => path === "");

  return (
    <form className="section" noValidate onSubmit={send}>
      <div className="columns">
        <div className="section">
          <h2>Service</h2>
          <div className="field-grid">
            <TextField {...number("serviceAmps")} label="Rating, amperes" />
            <TextField
              {...number("serviceVolts")}
              label="Volts"
              hint="Between lines: 240 or 208 in most buildings."
            />
            <SelectField
              {...set("phases")}
              label="Phases"
              options={[
                { value: "1", label: "One" },
                { value: "3", label: "Three" },
              ]}
            />
            <SelectField
              {...set("method")}
              label="Plans use"
              options={HEADROOM_METHODS.map((value) => ({
                value,
                label: HEADROOM_METHOD_LABELS[value],
              }))}
            />
            <TextField
              {...number("circuitVoltAmperes")}
              label="One new heater, VA"
              hint="4,500 VA is usual for 240 V with elements; common practice."
            />
            <TextField
              {...number("newLoadPercent")}
              label="New heater counts at, %"
              hint="100; some authorities ask 125 (from memory)."
            />
          </div>

          <h3>Measured peak</h3>
          <div className="field-grid">
            <TextField
              {...number("measuredPeakKw")}
              label="Highest demand, kW"
              hint="Empty when never measured."
            />
            <SelectField
              {...set("peakBasis")}
              label="It is"
              options={PEAK_BASES.map((value) => ({ value, label: PEAK_BASIS_LABELS[value] }))}
            />
            {values.peakBasis === "thirty-days" && (
              <TextField
                {...number("seasonalKw")}
                label="Season’s load to add, kW"
                hint="Heating or cooling that did not run in those 30 days."
              />
            )}
            <SelectField
              {...set("isHidden")}
              label="Solar or peak shaving hides load"
              options={ANSWERS.map((value) => ({ value, label: ANSWER_LABELS[value] }))}
            />
          </div>

          <h3>Calculated load, each home</h3>
          <p className="small soft">
            For buildings without a measurement. From the panel schedule or the nameplates; all
            homes are taken to be alike.
          </p>
          <div className="field-grid">
            <TextField {...number("homes")} label="Homes on this service" />
            <TextField {...number("floorAreaSqFt")} label="Floor area, sq ft" />
            <TextField
              {...number("applianceCircuits")}
              label="Kitchen and laundry circuits"
              hint="1,500 VA each; 3 are usual."
            />
            <TextField
              {...number("cookingVa")}
              label="Electric cooking, VA"
              hint="Empty for gas: 8 kW stand in for it."
            />
            <TextField
              {...number("appliancesVa")}
              label="Other fixed appliances, VA"
              hint="Dryer, dishwasher, electric water heater there now."
            />
            <TextField
              {...number("climateVa")}
              label="Heating or cooling, VA"
              hint="The greater of the two."
            />
            <TextField
              {...number("houseVa")}
              label="House load, VA"
              hint="Of the building: corridors, laundry, elevator."
            />
            <SelectField
              {...set("newInFull")}
              label="New heaters count"
              options={[
                { value: "yes", label: "in full (cautious)" },
                { value: "no", label: "with the demand factor" },
              ]}
            />
          </div>

          <h3>An electrician’s statement</h3>
          <div className="field-grid">
            <TextField {...number("statedCircuits")} label="New circuits" />
            <TextField {...set("statedBy")} label="By" maxLength={120} />
            <TextField {...set("statedOn")} label="On" type="date" />
          </div>

          <h3>Upgrade of the service</h3>
          <div className="field-grid">
            <TextField
              {...number("upgradeDollars")}
              label="Cost, $"
              hint="From an offer; no published figure stands for it."
            />
            <TextField {...number("upgradeAddsCircuits")} label="New circuits it adds" />
            <TextField
              name="upgradedAmps"
              label="Upgraded rating, A"
              inputMode="decimal"
              value={upgradedAmps}
              onChange={(event) => setUpgradedAmps(event.target.value)}
              hint={
                added === null
                  ? "Works out the circuits it adds."
                  : `Adds ${added} by the method in use.`
              }
            />
          </div>
          {added !== null && added > 0 && (
            <div className="actions">
              <button
                className="button"
                type="button"
                onClick={() => setValues({ ...values, upgradeAddsCircuits: String(added) })}
              >
                Take {added} as what it adds
              </button>
            </div>
          )}
        </div>
        {assessment ? (
          <HeadroomAnswer assessment={assessment} burners={burners} />
        ) : (
          <p className="notice notice--attention">
            {parsed.ok ? "" : parsed.problems.map(({ message }) => message).join(" ")}
          </p>
        )}
      </div>
      {general.length > 0 && (
        <p className="notice notice--attention" role="alert">
          {general.map(({ message }) => message).join(" ")}
        </p>
      )}
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending
            ? "Keeping …"
            : assessment?.circuits === null || !assessment
              ? "Keep it"
              : `Keep ${assessment.circuits} circuits for the plans`}
        </button>
        <span role="status">{isSaved && !isPending ? "Kept." : ""}</span>
      </div>
    </form>
  );
}
