import type { InputHTMLAttributes, ReactNode, SelectHTMLAttributes } from "react";
import type { Problem } from "@/lib/core/shared/outcome";

type Frame = {
  readonly name: string;
  readonly label: string;
  readonly hint?: ReactNode;
  /** All problems of the form; the field shows its own, by path. */
  readonly problems?: readonly Problem[];
};

export type TextFieldProps = Frame & Omit<InputHTMLAttributes<HTMLInputElement>, "name">;

/** A labelled input that says its own problem. */
export function TextField({ name, label, hint, problems = [], ...input }: TextFieldProps) {
  const own = problems.filter((problem) => problem.path === name);
  return (
    <FieldFrame name={name} label={label} hint={hint} own={own}>
      <input
        id={name}
        name={name}
        aria-invalid={own.length > 0 || undefined}
        aria-describedby={describedBy(name, hint, own)}
        {...input}
      />
    </FieldFrame>
  );
}

export type SelectFieldProps = Frame &
  Omit<SelectHTMLAttributes<HTMLSelectElement>, "name"> & {
    readonly options: readonly { readonly value: string; readonly label: string }[];
  };

/** A labelled choice that says its own problem. */
export function SelectField({
  name,
  label,
  hint,
  problems = [],
  options,
  ...select
}: SelectFieldProps) {
  const own = problems.filter((problem) => problem.path === name);
  return (
    <FieldFrame name={name} label={label} hint={hint} own={own}>
      <select
        id={name}
        name={name}
        aria-invalid={own.length > 0 || undefined}
        aria-describedby={describedBy(name, hint, own)}
        {...select}
      >
        {options.map((option) => (
          <option key={option.value} value={option.value}>
            {option.label}
          </option>
        ))}
      </select>
    </FieldFrame>
  );
}

function FieldFrame({
  name,
  label,
  hint,
  own,
  children,
}: {
  readonly name: string;
  readonly label: string;
  readonly hint?: ReactNode;
  readonly own: readonly Problem[];
  readonly children: ReactNode;
}) {
  return (
    <div className="field">
      <label htmlFor={name}>{label}</label>
      {children}
      {hint && (
        <div className="field__hint" id={`${name}-hint`}>
          {hint}
        </div>
      )}
      {own.length > 0 && (
        <div className="field__problem" id={`${name}-problem`} role="alert">
          {own.map((problem) => problem.message).join(" ")}
        </div>
      )}
    </div>
  );
}

function describedBy(name: string, hint: ReactNode, own: readonly Problem[]): string | undefined {
  const ids = [hint ? `${name}-hint` : "", own.length > 0 ? `${name}-problem` : ""];
  return ids.filter(Boolean).join(" ") || undefined;
}
