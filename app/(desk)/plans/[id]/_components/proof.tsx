import { formatDay, formatMoney, formatNumber } from "@/app/_lib/format";
import { gapWords } from "@/app/(desk)/plans/_lib/words";
import type { PlanPage } from "@/lib/services/plan-pages";
import type { PlanSummary } from "@/lib/services/plan-summary";

/** How good the plan is, and how that is known. */
export function Proof({
  run,
  summary,
}: {
  readonly run: PlanPage["run"];
  readonly summary: PlanSummary;
}) {
  const { gap, objectiveCents, lowerBoundCents } = run;
  const others = summary.replan ? "schedule that moves no more lines" : "schedule";
  return (
    <section className="notice notice--good" aria-label="Proof of quality">
      <p>
        <strong>
          {gap === null
            ? "The plan keeps every rule. How good it is could not be proven in the time given."
            : gap <= 1e-6
              ? `The plan keeps every rule, and no ${others} is better.`
              : `The plan keeps every rule, and no ${others} can be more than ${gapWords(gap)} better.`}
        </strong>
      </p>
      <details className="small">
        <summary>How this is known</summary>
        <dl className="facts">
          <dt>Total cost of this plan</dt>
          <dd>{objectiveCents === null ? "–" : formatMoney(objectiveCents)} in present value</dd>
          <dt>No {summary.replan ? others : "plan"} can cost less than</dt>
          <dd>{lowerBoundCents === null ? "not proven" : formatMoney(lowerBoundCents)}</dd>
          <dt>Method</dt>
          <dd>
            {run.method}, {formatNumber(summary.solveSeconds)} seconds, seed {run.seed}
          </dd>
          <dt>Checked</dt>
          <dd>
            Every rule and every cent anew, by a part of the program that shares nothing with the
            solver
          </dd>
          <dt>Record read as of</dt>
          <dd>{formatDay(summary.asOf)}</dd>
          <dt>Risk model</dt>
          <dd>{summary.survivalMethod}</dd>
          <dt>Fingerprint of all inputs</dt>
          <dd style={{ overflowWrap: "anywhere" }}>{run.fingerprint}</dd>
        </dl>
        <p>
          The proof is about the inputs as they are given, assumed ones included. Equal inputs give
          an equal fingerprint.
        </p>
      </details>
    </section>
  );
}
