import type { ReactNode } from "react";

/** One large number with what it is and, opened, what it is made of. */
export function Figure({
  label,
  value,
  children,
  sourceLabel = "How it is made",
}: {
  readonly label: string;
  readonly value: ReactNode;
  /** Parts, unit, source or assumption, uncertainty. */
  readonly children?: ReactNode;
  readonly sourceLabel?: string;
}) {
  return (
    <div>
      <div className="figure__label">{label}</div>
      <div className="figure__value">{value}</div>
      {children && (
        <details className="figure__source">
          <summary>{sourceLabel}</summary>
          {children}
        </details>
      )}
    </div>
  );
}

export function Figures({ children }: { readonly children: ReactNode }) {
  return <div className="figures">{children}</div>;
}
