"use client";

import { CheckedForm } from "@/app/_components/checked-form";
import { TextField } from "@/app/_components/field";
import { saveAccess } from "@/app/(desk)/upkeep/rounds/actions";
import { accessFormSchema, dayField, WEEKDAY_LABELS } from "@/lib/services/round-form";
import styles from "./rounds.module.css";

const clock = (minute: number | null) =>
  minute === null
    ? ""
    : `${String(Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;

/** When a home may be entered. */
export function AccessForm({
  unitId,
  access,
}: {
  readonly unitId: string;
  readonly access: {
    readonly fromMinute: number | null;
    readonly toMinute: number | null;
    readonly weekdays: readonly number[];
    readonly note: string | null;
  } | null;
}) {
  return (
    <CheckedForm schema={accessFormSchema} action={saveAccess} submitLabel="Save access">
      {(problems) => (
        <>
          <input type="hidden" name="unitId" value={unitId} />
          <fieldset className={styles.choices}>
            <legend>Days; none chosen is any day</legend>
            {WEEKDAY_LABELS.map((label, index) => (
              <label key={label}>
                <input
                  type="checkbox"
                  name={dayField(index + 1)}
                  defaultChecked={access?.weekdays.includes(index + 1)}
                />
                {label}
              </label>
            ))}
          </fieldset>
          <div className="field-grid">
            <TextField
              name="from"
              label="From"
              type="time"
              defaultValue={clock(access?.fromMinute ?? null)}
              problems={problems}
            />
            <TextField
              name="to"
              label="Until"
              type="time"
              defaultValue={clock(access?.toMinute ?? null)}
              problems={problems}
            />
            <TextField
              name="note"
              label="Note"
              hint="Such as: call first, dog, key at the office."
              defaultValue={access?.note ?? ""}
              problems={problems}
            />
          </div>
        </>
      )}
    </CheckedForm>
  );
}
