"use client";

import { useSyncExternalStore } from "react";

/** The width below which a table becomes a list, as in register.module.css. */
const NARROW = "(max-width: 46rem)";

/** True on a phone; the server draws for a desk. */
export function useIsNarrow(): boolean {
  return useSyncExternalStore(
    (onChange) => {
      const query = window.matchMedia(NARROW);
      query.addEventListener("change", onChange);
      return () => query.removeEventListener("change", onChange);
    },
    () => window.matchMedia(NARROW).matches,
    () => false,
  );
}
