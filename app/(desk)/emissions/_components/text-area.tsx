import type { Problem } from "@/lib/core/shared/outcome";

/** A labelled field of several lines that says its own problem. */
export function TextArea({
  name,
  label,
  hint,
  defaultValue,
  problems,
}: {
  readonly name: string;
  readonly label: string;
  readonly hint: string;
  readonly defaultValue: string;
  readonly problems: readonly Problem[];
}) {
  const own = problems.filter((problem) => problem.path === name);
  return (
    <div className="field">
      <label htmlFor={name}>{label}</label>
      <textarea
        id={name}
        name={name}
        defaultValue={defaultValue}
        aria-invalid={own.length > 0 || undefined}
        aria-describedby={`${name}-hint${own.length > 0 ? ` ${name}-problem` : ""}`}
      />
      <div className="field__hint" id={`${name}-hint`}>
        {hint}
      </div>
      {own.length > 0 && (
        <div className="field__problem" id={`${name}-problem`} role="alert">
          {own.map(({ message }) => message).join(" ")}
        </div>
      )}
    </div>
  );
}
