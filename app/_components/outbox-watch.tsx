"use client";

import { useEffect } from "react";
import { useOutbox } from "@/app/_lib/use-outbox";

/** Sends what a round on this device left unsent, and says so as long as something is left. */
export function OutboxWatch({ owner }: { readonly owner: string }) {
  const { items, signal } = useOutbox(owner);
  useEffect(() => {
    if (process.env.NODE_ENV !== "production" || !("serviceWorker" in navigator)) return;
    // Without it rounds need a signal to be opened; everything else works the same.
    navigator.serviceWorker
      .register("/sw.js")
      .then(() => navigator.serviceWorker.ready)
      .then(({ active }) => active?.postMessage({ type: "owner", owner }))
      .catch(() => undefined);
  }, [owner]);
  const left = (items ?? []).filter(({ state, kind }) => state !== "sent" && kind !== "photo");
  const [first] = left;
  if (!first) return null;
  const isUndecided = left.some(({ state }) => state !== "waiting");
  return (
    <p className="notice notice--attention" role="status">
      {left.length} {left.length === 1 ? "entry" : "entries"} of a round{" "}
      {isUndecided
        ? "need you"
        : signal === "no-signal" || signal === "server-failed"
          ? "wait for a signal"
          : "are being sent"}
      : <a href={`/upkeep/rounds/${first.roundId}/walk`}>open the round</a>.
    </p>
  );
}
