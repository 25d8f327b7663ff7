import type { ReactNode } from "react";

/** A caution where the act is: short, deferring to local code and licensed trades. */
export function Caution({ children }: { readonly children: ReactNode }) {
  return (
    <p className="caution" role="note">
      <strong>Caution.</strong> {children}
    </p>
  );
}
