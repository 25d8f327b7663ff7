import type { ReactNode } from "react";

/** Holds a wide table, scrolls it sideways on its own, by touch and by keyboard. */
export function LedgerFrame({
  label,
  children,
}: {
  readonly label: string;
  readonly children: ReactNode;
}) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard (WCAG 2.1.1)
    <section className="ledger-frame" tabIndex={0} aria-label={label}>
      {children}
    </section>
  );
}
