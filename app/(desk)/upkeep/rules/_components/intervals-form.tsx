"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { sendIntervals } from "@/app/(desk)/upkeep/rules/actions";
import { TASK_KINDS, TASK_LABELS, type TaskKind } from "@/lib/core/heaters/vocabulary";
import type { Problem } from "@/lib/core/shared/outcome";
import { DEFAULT_UPKEEP_RULES, type OwnInterval } from "@/lib/core/upkeep/rules";
import { intervalsFormSchema, taskField } from "@/lib/services/upkeep-forms";
import { CellInput } from "./cell-input";
import styles from "./rules.module.css";

/** Base intervals with their sources, and the property's own beside them. */
export function IntervalsForm({
  propertyId,
  propertyName,
  own,
  mayEdit,
}: {
  readonly propertyId: string;
  readonly propertyName: string;
  readonly own: Readonly<Partial<Record<TaskKind, OwnInterval>>>;
  readonly mayEdit: boolean;
}) {
  const table = (problems: readonly Problem[]) => (
    <LedgerFrame label={`Intervals of ${propertyName}`}>
      <table className="ledger">
        <thead>
          <tr>
            <th scope="col">Task</th>
            <th scope="col" className="number">
              Base, months
            </th>
            <th scope="col">Where that is from</th>
            <th scope="col" className={styles.months}>
              Here, months
            </th>
            <th scope="col" className={styles.source}>
              Source of our own
            </th>
          </tr>
        </thead>
        <tbody>
          {TASK_KINDS.map((task) => {
            const base = DEFAULT_UPKEEP_RULES.intervalMonths[task];
            return (
              <tr key={task}>
                <th scope="row">{TASK_LABELS[task]}</th>
                <td className="number">{base.value}</td>
                <td>
                  {base.source} <span className="soft">({base.evidence})</span>
                </td>
                <td className={styles.months}>
                  <CellInput
                    name={taskField("months", task)}
                    label={`${TASK_LABELS[task]}: months at ${propertyName}`}
                    defaultValue={own[task]?.months ?? ""}
                    inputMode="numeric"
                    disabled={!mayEdit}
                    problems={problems}
                  />
                </td>
                <td className={styles.source}>
                  <CellInput
                    name={taskField("source", task)}
                    label={`${TASK_LABELS[task]}: source at ${propertyName}`}
                    defaultValue={own[task]?.source ?? ""}
                    placeholder={own[task] ? "not given" : ""}
                    disabled={!mayEdit}
                    problems={problems}
                  />
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </LedgerFrame>
  );
  return (
    <>
      <p className="soft">
        An empty field follows the base. Water and the last finding change either one. For “Replace
        anode” the number is the median life of an anode, from which its forecast starts.
      </p>
      {mayEdit ? (
        <CheckedForm
          schema={intervalsFormSchema}
          action={sendIntervals}
          submitLabel={`Save intervals of ${propertyName}`}
        >
          {(problems) => (
            <>
              <input type="hidden" name="propertyId" value={propertyId} />
              {table(problems)}
            </>
          )}
        </CheckedForm>
      ) : (
        table([])
      )}
    </>
  );
}
