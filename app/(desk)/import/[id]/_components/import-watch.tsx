"use client";

import { useRouter } from "next/navigation";
import { useEffect, useState } from "react";
import { FileButton } from "@/app/(desk)/import/_components/action-button";

type Progress = {
  readonly work: "check" | "commit" | "undo" | null;
  readonly progress: number;
  readonly silentSeconds: number | null;
};

const POLL_MILLISECONDS = 700;
/** Work that gives no sign of life for so long may be asked for again. */
const SILENT_SECONDS = 60;

const TITLES = {
  check: "The rows are being checked",
  commit: "The file is being brought in",
  undo: "The file is being undone",
} as const;

const STARTING = {
  check: "Waiting for a worker.",
  commit: "Waiting for a worker.",
  undo: "This is done in one go.",
} as const;

/** Shows how far the work on a file is, and the page anew when it has ended. */
export function ImportWatch({
  batchId,
  start,
  mayImport,
}: {
  readonly batchId: string;
  readonly start: Progress;
  readonly mayImport: boolean;
}) {
  const router = useRouter();
  const [now, setNow] = useState(start);

  useEffect(() => {
    let isOpen = true;
    const poll = async () => {
      try {
        const answer = await fetch(`/import/${batchId}/progress`, { cache: "no-store" });
        if (!answer.ok) return;
        const next = (await answer.json()) as Progress;
        if (!isOpen) return;
        if (next.work !== null) {
          setNow(next);
          return;
        }
        // Once: another refresh would break off the one that is under way.
        clearInterval(timer);
        router.refresh();
      } catch {
        // The connection is away: the next poll tells.
      }
    };
    const timer = setInterval(() => void poll(), POLL_MILLISECONDS);
    return () => {
      isOpen = false;
      clearInterval(timer);
    };
  }, [batchId, router]);

  const percent = Math.round(now.progress * 100);
  const isSilent = (now.silentSeconds ?? 0) > SILENT_SECONDS;
  return (
    <section className="section" aria-live="polite">
      <h2>{TITLES[now.work ?? "check"]}</h2>
      <div
        className="progress"
        role="progressbar"
        aria-label="Progress"
        aria-valuemin={0}
        aria-valuemax={100}
        aria-valuenow={percent}
      >
        <div style={{ width: `${percent}%` }} />
      </div>
      <p>{percent === 0 ? STARTING[now.work ?? "check"] : `${percent} % of the rows.`}</p>
      <p className="small soft">
        You may leave this page: the work goes on. It is all written or nothing is.
      </p>
      {isSilent && (
        <div className="notice notice--attention">
          <p>
            The work has given no sign of life for a minute. If it broke off, nothing of it was
            written, and it can be started again.
          </p>
          {mayImport && (
            <div className="actions">
              <FileButton batchId={batchId} act="resume" />
            </div>
          )}
        </div>
      )}
    </section>
  );
}
