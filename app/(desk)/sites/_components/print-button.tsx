"use client";

/** Prints the page as it stands. */
export function PrintButton() {
  return (
    <button className="button button--primary" type="button" onClick={() => window.print()}>
      Print
    </button>
  );
}
