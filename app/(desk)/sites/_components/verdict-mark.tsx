import { VERDICT_LABELS, type VerdictState } from "@/lib/core/planning/option-verdict";

const MARKS: Readonly<Record<VerdictState, string>> = {
  ready: "mark mark--good",
  "needs-work": "mark mark--attention",
  "not-seen": "mark",
  "not-possible": "mark mark--combustion",
};

/** The state of an option at a place, by word and shape. */
export function VerdictMark({ state }: { readonly state: VerdictState }) {
  return <span className={MARKS[state]}>{VERDICT_LABELS[state]}</span>;
}
