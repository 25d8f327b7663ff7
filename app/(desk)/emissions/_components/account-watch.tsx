"use client";

import { useRouter } from "next/navigation";
import { useEffect, useState } from "react";
import { ActButton } from "@/app/_components/act-button";
import { stopAccount } from "@/app/(desk)/emissions/actions";

type Progress = {
  readonly status: string;
  readonly progress: number;
  readonly message: string | null;
};

/** Shows how far an account is while it is computed, and the page anew when it has ended. */
export function AccountWatch({
  runId,
  year,
  start,
  mayCancel,
}: {
  readonly runId: string;
  readonly year: number;
  readonly start: Progress;
  readonly mayCancel: boolean;
}) {
  const router = useRouter();
  const [now, setNow] = useState(start);
  useEffect(() => {
    const source = new EventSource(`/emissions/runs/${runId}/progress`);
    source.onmessage = (event) => {
      const next = JSON.parse(event.data) as Progress;
      setNow(next);
      if (next.status === "queued" || next.status === "running") return;
      source.close();
      router.refresh();
    };
    return () => source.close();
  }, [runId, router]);
  const percent = Math.round(now.progress * 100);
  const words = now.message ?? "Waiting for a worker";
  return (
    <section className="section" aria-live="polite">
      <h2>The account of {year} is being computed</h2>
      <div
        className="progress"
        role="progressbar"
        aria-label="Progress of the account"
        aria-valuemin={0}
        aria-valuemax={100}
        aria-valuenow={percent}
        aria-valuetext={words}
      >
        <div style={{ width: `${percent}%` }} />
      </div>
      <p>{words}.</p>
      <p className="soft small">
        You may leave this page: the work goes on, and the account is kept.
      </p>
      {mayCancel && <ActButton act={() => stopAccount(runId)} label="Cancel" className="button" />}
    </section>
  );
}
