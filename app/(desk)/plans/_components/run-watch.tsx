"use client";

import { useRouter } from "next/navigation";
import { useActionState, useEffect, useState } from "react";
import { stopRun } from "@/app/(desk)/plans/actions";

type Progress = {
  readonly status: string;
  readonly progress: number;
  readonly message: string | null;
};

const isUnderWay = (status: string) => status === "queued" || status === "running";

/** Shows how far a run is while it is computed, and the page anew when it has ended. */
export function RunWatch({
  runId,
  start,
  mayCancel,
  isBrief = false,
}: {
  readonly runId: string;
  readonly start: Progress;
  readonly mayCancel: boolean;
  /** One line, for a list. */
  readonly isBrief?: boolean;
}) {
  const router = useRouter();
  const [now, setNow] = useState(start);
  const [cancelState, cancel, isCancelling] = useActionState(stopRun, { problems: [] });

  useEffect(() => {
    const source = new EventSource(`/plans/${runId}/progress`);
    source.onmessage = (event) => {
      const next = JSON.parse(event.data) as Progress;
      setNow(next);
      if (isUnderWay(next.status)) return;
      source.close();
      router.refresh();
    };
    return () => source.close();
  }, [runId, router]);

  const percent = Math.round(now.progress * 100);
  const words = now.message ?? (now.status === "queued" ? "Waiting for a worker" : "Computing");
  const bar = (
    <div
      className="progress"
      role="progressbar"
      aria-label="Progress of the plan"
      aria-valuemin={0}
      aria-valuemax={100}
      aria-valuenow={percent}
      aria-valuetext={words}
    >
      <div style={{ width: `${percent}%` }} />
    </div>
  );
  if (isBrief) {
    return (
      <div>
        {bar}
        <div className="small soft">{percent} % done</div>
      </div>
    );
  }
  return (
    <section className="section" aria-live="polite">
      <h2>The plan is being computed</h2>
      {bar}
      <p>{words}.</p>
      <p className="soft small">
        This takes up to about a minute and a half for a thousand heaters. You may leave this page:
        the work goes on, and the plan is kept.
      </p>
      {mayCancel && (
        <form action={cancel} className="actions">
          <input type="hidden" name="runId" value={runId} />
          <button className="button" type="submit" disabled={isCancelling}>
            {isCancelling ? "Cancelling …" : "Cancel"}
          </button>
          {cancelState.problems.map((problem) => (
            <span key={problem.message} className="field__problem" role="alert">
              {problem.message}
            </span>
          ))}
        </form>
      )}
    </section>
  );
}
