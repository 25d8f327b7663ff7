import type { InputHTMLAttributes } from "react";
import type { Problem } from "@/lib/core/shared/outcome";
import styles from "./rules.module.css";

/** An input in a cell of a table; its label is for those who do not see the row and column. */
export function CellInput({
  name,
  label,
  problems,
  ...input
}: {
  readonly name: string;
  readonly label: string;
  readonly problems: readonly Problem[];
} & Omit<InputHTMLAttributes<HTMLInputElement>, "name">) {
  const own = problems.filter(({ path }) => path === name);
  return (
    <div className={styles.cell}>
      <input
        name={name}
        aria-label={label}
        aria-invalid={own.length > 0 || undefined}
        aria-describedby={own.length > 0 ? `${name}-problem` : undefined}
        {...input}
      />
      {own.length > 0 && (
        <div className="field__problem" id={`${name}-problem`} role="alert">
          {own.map(({ message }) => message).join(" ")}
        </div>
      )}
    </div>
  );
}
