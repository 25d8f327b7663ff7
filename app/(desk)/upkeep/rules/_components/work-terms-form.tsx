"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { sendWorkTerms } from "@/app/(desk)/upkeep/rules/actions";
import { TASK_KINDS, TASK_LABELS } from "@/lib/core/heaters/vocabulary";
import type { Problem } from "@/lib/core/shared/outcome";
import type { OwnWorkTerms, WorkTerms } from "@/lib/core/upkeep/work-terms";
import { taskField, workTermsFormSchema } from "@/lib/services/upkeep-forms";
import { CellInput } from "./cell-input";
import styles from "./rules.module.css";

const dollars = (cents: number) => String(cents / 100);
const clock = (minute: number) =>
  `${String(Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;

/** How long tasks take and what an hour costs; an empty field keeps what is assumed. */
export function WorkTermsForm({
  work,
  own,
  mayEdit,
}: {
  readonly work: WorkTerms;
  readonly own: OwnWorkTerms;
  readonly mayEdit: boolean;
}) {
  const fields = (problems: readonly Problem[]) => (
    <>
      <LedgerFrame label="Minutes and parts by task">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Task</th>
              <th scope="col" className={styles.months}>
                Minutes
              </th>
              <th scope="col" className={styles.months}>
                Parts, dollars
              </th>
              <th scope="col">Rests on</th>
            </tr>
          </thead>
          <tbody>
            {TASK_KINDS.map((task) => {
              const isOwn =
                own.taskMinutes[task] !== undefined || own.taskPartsCents[task] !== undefined;
              return (
                <tr key={task}>
                  <th scope="row">{TASK_LABELS[task]}</th>
                  <td className={styles.months}>
                    <CellInput
                      name={taskField("minutes", task)}
                      label={`${TASK_LABELS[task]}: minutes`}
                      defaultValue={own.taskMinutes[task] ?? ""}
                      placeholder={String(work.taskMinutes[task].value)}
                      inputMode="numeric"
                      disabled={!mayEdit}
                      problems={problems}
                    />
                  </td>
                  <td className={styles.months}>
                    <CellInput
                      name={taskField("parts", task)}
                      label={`${TASK_LABELS[task]}: parts in dollars`}
                      defaultValue={
                        own.taskPartsCents[task] === undefined
                          ? ""
                          : dollars(own.taskPartsCents[task])
                      }
                      placeholder={dollars(work.taskPartsCents[task].value)}
                      inputMode="decimal"
                      disabled={!mayEdit}
                      problems={problems}
                    />
                  </td>
                  <td className="soft">{isOwn ? "entered here" : "assumed"}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </LedgerFrame>
      <div className="field-grid">
        <TextField
          name="entryMinutes"
          label="Minutes to enter a home"
          hint={`Knock, protect the floor, sign: ${said(work.entryMinutes, "minutes")}`}
          defaultValue={own.entryMinutes ?? ""}
          inputMode="numeric"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="labourDollarsPerHour"
          label="Labor, dollars per hour"
          hint={said(
            { ...work.labourCentsPerHour, value: work.labourCentsPerHour.value / 100 },
            "dollars",
          )}
          defaultValue={own.labourCentsPerHour === undefined ? "" : dollars(own.labourCentsPerHour)}
          inputMode="decimal"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="doorToDoorMinutes"
          label="From door to door, minutes"
          hint={said(work.travel.doorToDoor, "minutes")}
          defaultValue={own.doorToDoorMinutes ?? ""}
          inputMode="decimal"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="perFloorMinutes"
          label="For each floor, minutes"
          hint={said(work.travel.perFloor, "minutes")}
          defaultValue={own.perFloorMinutes ?? ""}
          inputMode="decimal"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="betweenBuildingsMinutes"
          label="From building to building, minutes"
          hint={said(work.travel.betweenBuildings, "minutes")}
          defaultValue={own.betweenBuildingsMinutes ?? ""}
          inputMode="decimal"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="start"
          label="Rounds begin at"
          hint={`now ${clock(work.startMinute.value)}, ${work.startMinute.evidence}`}
          defaultValue={own.startMinute === undefined ? "" : clock(own.startMinute)}
          placeholder="08:00"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="dayMinutes"
          label="Longest round, minutes"
          hint={said(work.dayMinutes, "minutes")}
          defaultValue={own.dayMinutes ?? ""}
          inputMode="numeric"
          disabled={!mayEdit}
          problems={problems}
        />
        <TextField
          name="noticeDays"
          label="Days of notice before an entry"
          hint={`${said(work.noticeDays, "days")}. Local law and the lease decide.`}
          defaultValue={own.noticeDays ?? ""}
          inputMode="numeric"
          disabled={!mayEdit}
          problems={problems}
        />
      </div>
    </>
  );
  if (!mayEdit) return fields([]);
  return (
    <CheckedForm schema={workTermsFormSchema} action={sendWorkTerms} submitLabel="Save">
      {fields}
    </CheckedForm>
  );
}

function said(
  { value, evidence }: { readonly value: number; readonly evidence: string },
  unit: string,
): string {
  return `now ${value} ${unit}, ${evidence}`;
}
