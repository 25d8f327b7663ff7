"use client";

import { type FormEvent, useState, useTransition } from "react";
import { TextField } from "@/app/_components/field";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { keepSpares } from "@/app/(desk)/sites/actions";
import type { Problem } from "@/lib/core/shared/outcome";
import { parseWith } from "@/lib/core/shared/validation";
import { sparesFormSchema } from "@/lib/services/spares-form";

/** Lead times, what is in stock, and the chance asked. */
export function SparesForm({
  lines,
  servicePercent,
  generalLeadDays,
  leadDays,
  onHand,
}: {
  readonly lines: readonly { readonly code: string; readonly name: string }[];
  readonly servicePercent: number;
  readonly generalLeadDays: number;
  readonly leadDays: Readonly<Record<string, number>>;
  readonly onHand: Readonly<Record<string, number>>;
}) {
  const texts = (values: Readonly<Record<string, number>>) =>
    Object.fromEntries(Object.entries(values).map(([code, value]) => [code, String(value)]));
  const [values, setValues] = useState({
    servicePercent: String(servicePercent),
    generalLeadDays: String(generalLeadDays),
    leadDays: texts(leadDays),
    onHand: texts(onHand),
  });
  const [problems, setProblems] = useState<readonly Problem[]>([]);
  const [isPending, startTransition] = useTransition();
  const [isSaved, setIsSaved] = useState(false);

  const send = (event: FormEvent) => {
    event.preventDefault();
    const checked = parseWith(sparesFormSchema, values);
    if (!checked.ok) {
      setProblems(checked.problems);
      document.getElementById(checked.problems[0]?.path ?? "")?.focus();
      return;
    }
    startTransition(async () => {
      const answer = await keepSpares(values);
      setProblems(answer.problems);
      setIsSaved(answer.isSaved);
    });
  };

  return (
    <form className="section" noValidate onSubmit={send}>
      <h2>Lead times and stock</h2>
      <div className="field-grid">
        <TextField
          name="servicePercent"
          label="Chance that all failures are met, %"
          inputMode="decimal"
          problems={problems}
          value={values.servicePercent}
          onChange={(event) => setValues({ ...values, servicePercent: event.target.value })}
        />
        <TextField
          name="generalLeadDays"
          label="Lead time where none is entered, days"
          inputMode="numeric"
          problems={problems}
          value={values.generalLeadDays}
          onChange={(event) => setValues({ ...values, generalLeadDays: event.target.value })}
        />
      </div>
      <LedgerFrame label="Lead time and stock by kind">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Kind</th>
              <th scope="col">Lead time, days</th>
              <th scope="col">In stock or on order</th>
            </tr>
          </thead>
          <tbody>
            {lines.map(({ code, name }) => (
              <tr key={code}>
                <th scope="row">{name}</th>
                {(["leadDays", "onHand"] as const).map((key) => {
                  const path = `${key}.${code}`;
                  const own = problems.filter((problem) => problem.path === path);
                  return (
                    <td key={key} className="field" style={{ display: "table-cell" }}>
                      <input
                        id={path}
                        aria-label={`${name}, ${key === "leadDays" ? "lead time in days" : "in stock or on order"}`}
                        aria-invalid={own.length > 0 || undefined}
                        inputMode="numeric"
                        value={values[key][code] ?? ""}
                        onChange={(event) =>
                          setValues({
                            ...values,
                            [key]: { ...values[key], [code]: event.target.value },
                          })
                        }
                      />
                      {own.map(({ message }) => (
                        <div key={message} className="field__problem">
                          {message}
                        </div>
                      ))}
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
      <div className="actions">
        <button className="button button--primary" type="submit" disabled={isPending}>
          {isPending ? "Keeping …" : "Keep"}
        </button>
        <span role="status">{isSaved && !isPending ? "Kept." : ""}</span>
      </div>
    </form>
  );
}
