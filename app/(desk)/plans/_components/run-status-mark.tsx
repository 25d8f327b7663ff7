import type { RunStatus } from "@/lib/services/plan-pages";

const WORDS: Readonly<Record<RunStatus, string>> = {
  queued: "Waiting",
  running: "Being computed",
  done: "Done",
  infeasible: "No plan is possible",
  failed: "Failed",
  cancelled: "Cancelled",
};

/** The status of a run by word and shape. */
export function RunStatusMark({ status }: { readonly status: RunStatus }) {
  const shape =
    status === "done"
      ? "mark--good"
      : status === "infeasible" || status === "failed"
        ? "mark--attention"
        : "";
  return <span className={`mark ${shape}`}>{WORDS[status]}</span>;
}
