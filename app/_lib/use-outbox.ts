"use client";

import { useRouter } from "next/navigation";
import { useCallback, useEffect, useState } from "react";
import {
  changeOutbox,
  type OutboxItem,
  onOutboxChange,
  readOutbox,
  type SendOutcome,
  sendOutbox,
} from "@/app/_lib/outbox";

const TRY_AGAIN_MILLISECONDS = 15_000;

/**
 * What is kept on this device, sent as soon as there is a signal: after each change, when the browser
 * says that it is back, when the page comes to the front, and every quarter of a minute while
 * something waits.
 */
export function useOutbox(owner: string): {
  /** null until it was read for the first time. */
  readonly items: readonly OutboxItem[] | null;
  readonly signal: SendOutcome;
} {
  const router = useRouter();
  const [items, setItems] = useState<readonly OutboxItem[] | null>(null);
  const [signal, setSignal] = useState<SendOutcome>("sent");

  const read = useCallback(async () => setItems(await readOutbox(owner)), [owner]);
  const send = useCallback(async () => {
    const before = await readOutbox(owner);
    if (!before.some(({ state }) => state === "waiting")) {
      // Another page of this browser may have sent what this one still shows.
      await read();
      setSignal((last) => (navigator.onLine ? "sent" : last === "sent" ? "no-signal" : last));
      return;
    }
    const outcome = await sendOutbox(owner);
    setSignal(outcome);
    await read();
    const after = await readOutbox(owner);
    const waiting = (all: readonly OutboxItem[]) =>
      all.filter(({ state }) => state === "waiting").length;
    if (waiting(after) < waiting(before)) router.refresh();
  }, [owner, read, router]);

  useEffect(() => {
    const wake = () => void send();
    const lost = () => setSignal("no-signal");
    const shown = () => {
      if (document.visibilityState === "visible") wake();
    };
    const stop = onOutboxChange(() => void read());
    void read().then(wake);
    window.addEventListener("online", wake);
    window.addEventListener("offline", lost);
    document.addEventListener("visibilitychange", shown);
    const timer = setInterval(wake, TRY_AGAIN_MILLISECONDS);
    return () => {
      stop();
      window.removeEventListener("online", wake);
      window.removeEventListener("offline", lost);
      document.removeEventListener("visibilitychange", shown);
      clearInterval(timer);
    };
  }, [read, send]);

  // What was put in since the last pass goes out at once.
  const fresh = items?.filter(({ state }) => state === "waiting").length ?? 0;
  useEffect(() => {
    if (fresh > 0) void send();
  }, [fresh, send]);

  return { items, signal };
}

/** Forgets entries that the page has from the server by now. */
export function useForgetSent(
  items: readonly OutboxItem[] | null,
  onServer: ReadonlySet<string>,
): void {
  useEffect(() => {
    const done = (items ?? []).filter(({ state, key }) => state === "sent" && onServer.has(key));
    if (done.length > 0) void changeOutbox({ drop: done.map(({ id }) => id) });
  }, [items, onServer]);
}
