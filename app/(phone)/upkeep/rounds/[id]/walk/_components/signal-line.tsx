import type { OutboxItem, SendOutcome } from "@/app/_lib/outbox";
import styles from "./walk.module.css";

/** What is sent and what waits, in words; it stays in sight. */
export function SignalLine({
  items,
  signal,
  isKept,
}: {
  readonly items: readonly OutboxItem[];
  readonly signal: SendOutcome;
  readonly isKept: boolean | null;
}) {
  const waiting = items.filter(({ state, kind }) => state === "waiting" && kind !== "photo").length;
  const photos = items.filter(({ state, kind }) => state === "waiting" && kind === "photo").length;
  const undecided = items.filter(({ state }) => state === "conflict" || state === "refused").length;
  const isGood = signal === "sent" && waiting + photos + undecided === 0;
  return (
    <p className={isGood ? styles.signal : `${styles.signal} ${styles.signalBad}`} role="status">
      {signal === "signed-out" ? (
        <>
          You are signed out. What waits here is kept: <a href="/sign-in">sign in</a> and open the
          round again.
        </>
      ) : (
        <>
          {signal === "no-signal" && "No signal. "}
          {signal === "server-failed" && "The server does not take it now; it is sent again. "}
          {waiting > 0 &&
            `${waiting} ${waiting === 1 ? "entry waits" : "entries wait"} on this phone. `}
          {photos > 0 && `${photos} ${photos === 1 ? "photo waits" : "photos wait"}. `}
          {undecided > 0 &&
            `${undecided} ${undecided === 1 ? "entry needs" : "entries need"} you. `}
          {isGood && "Everything is sent. "}
          {isKept === true && "Opens without a signal."}
        </>
      )}
    </p>
  );
}
