import { formatInstant } from "@/app/_lib/format";
import {
  describeFormText,
  HEATER_FORM_FIELDS,
  HEATER_FORM_LABELS,
} from "@/lib/core/heaters/heater-form";
import type { HeaterPage } from "@/lib/services/heater-page";
import styles from "./heater.module.css";

type Change = HeaterPage["changes"][number];

const ACTIONS: Readonly<Record<string, string>> = {
  "heater.add": "Added",
  "heater.edit": "Changed",
  "heater.retire": "Retired",
  "heater.reinstate": "Put back in service",
};

/** Who changed what, the latest first. */
export function ChangesPart({ page }: { readonly page: HeaterPage }) {
  return (
    <section className="section" aria-labelledby="changes">
      <h2 id="changes">Changes</h2>
      {page.changes.length === 0 ? (
        <p className="soft">Nothing has been changed since it came on record.</p>
      ) : (
        <ul className={styles.plain}>
          {page.changes.map((change) => (
            <li key={change.id}>
              {ACTIONS[change.action] ?? change.action} by {change.personName ?? "an import"},{" "}
              {formatInstant(change.at)}
              {change.action === "heater.edit" && <FieldChanges change={change} />}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function FieldChanges({ change }: { readonly change: Change }) {
  const before = textsOf(change.before);
  const after = textsOf(change.after);
  const fields = HEATER_FORM_FIELDS.filter(
    (field) => field !== "buildingId" && (before[field] ?? "") !== (after[field] ?? ""),
  );
  return (
    <span className="soft">
      {fields.map((field) => (
        <span key={field}>
          {"; "}
          {HEATER_FORM_LABELS[field].toLowerCase()}: {describeFormText(field, before[field] ?? "")}{" "}
          → {describeFormText(field, after[field] ?? "")}
        </span>
      ))}
    </span>
  );
}

function textsOf(value: unknown): Readonly<Record<string, string | null>> {
  return typeof value === "object" && value !== null ? (value as Record<string, string>) : {};
}
