"use client";

/** Prints the page without the masthead, which belongs to the screen. */
export function PrintButton() {
  return (
    <>
      <style>{"@media print { header { display: none } }"}</style>
      <button className="button button--primary" type="button" onClick={() => window.print()}>
        Print
      </button>
    </>
  );
}
