"use client";

import { useEffect, useMemo, useState } from "react";
import type { OutboxItem } from "@/app/_lib/outbox";
import { useForgetSent, useOutbox } from "@/app/_lib/use-outbox";
import type { RoundOnPhone } from "@/app/(phone)/upkeep/rounds/[id]/walk/_lib/round-on-phone";
import { SignalLine } from "./signal-line";
import { StopForm } from "./stop-form";
import { StopList } from "./stop-list";
import { StopRecorded } from "./stop-recorded";
import { useKeptRound } from "./use-kept-round";
import styles from "./walk.module.css";

/** The whole round in one page: the list of stops, or the stop that the address names after its #. */
export function WalkRound({
  round,
  owner,
}: {
  readonly round: RoundOnPhone;
  readonly owner: string;
}) {
  const { items, signal } = useOutbox(owner);
  const isKept = useKeptRound(owner);
  const [stopId, open] = useOpenStop();
  const onServer = useMemo(
    () => new Set(round.stops.flatMap(({ entries }) => entries.map(({ key }) => key))),
    [round],
  );
  useForgetSent(items, onServer);
  const own = (items ?? []).filter((item) => item.roundId === round.id);
  const stop = round.stops.find(({ id }) => id === stopId);
  const recorded = stop ? own.filter((item) => item.stopId === stop.id) : [];
  const isOpen = stop !== undefined && isStillOpen(stop.status, recorded);
  return (
    <main className={styles.page}>
      <SignalLine items={own} signal={signal} isKept={isKept} />
      {items === null ? (
        <p className={styles.pad}>Opening the round …</p>
      ) : stop === undefined ? (
        <StopList round={round} items={own} open={open} />
      ) : isOpen ? (
        <StopForm
          key={stop.id}
          roundId={round.id}
          stop={stop}
          owner={owner}
          close={() => open(null)}
        />
      ) : (
        <StopRecorded
          key={stop.id}
          round={round}
          stop={stop}
          items={recorded}
          owner={owner}
          close={() => open(null)}
        />
      )}
    </main>
  );
}

/** A stop is open unless the server or an entry that is kept here has closed it. */
function isStillOpen(status: "open" | "done" | "no-access", items: readonly OutboxItem[]): boolean {
  const hasTakeBack = items.some(({ kind }) => kind === "take-back");
  const hasEntry = items.some(({ kind }) => kind === "entry");
  return !hasEntry && (status === "open" || hasTakeBack);
}

/**
 * The open stop stands in the address, so that going back closes it and loading anew keeps it. It is kept
 * here as well: a refresh of the page writes the address without asking.
 */
function useOpenStop(): readonly [string | null, (stopId: string | null) => void] {
  const [stopId, setStopId] = useState<string | null>(null);
  useEffect(() => {
    const read = () => setStopId(window.location.hash.slice(1) || null);
    read();
    window.addEventListener("popstate", read);
    window.addEventListener("hashchange", read);
    return () => {
      window.removeEventListener("popstate", read);
      window.removeEventListener("hashchange", read);
    };
  }, []);
  return [
    stopId,
    (next) => {
      window.history.pushState(null, "", next === null ? window.location.pathname : `#${next}`);
      setStopId(next);
      window.scrollTo(0, 0);
    },
  ];
}
