"use client";

import { useState, useTransition } from "react";
import { formatMoney } from "@/app/_lib/format";
import { ProblemList } from "@/app/(desk)/plans/_components/problem-list";
import {
  type ActState,
  type RecheckState,
  submitApproval,
  submitRecheck,
} from "@/app/(desk)/plans/[id]/life/actions";
import type { PlanStanding } from "@/lib/core/planning/plan-life";

/** Approve or withdraw a plan, and check it again from what it was computed from. */
export function StandingActs({
  runId,
  version,
  standing,
  mayEdit,
  isFrozen,
}: {
  readonly runId: string;
  readonly version: number;
  readonly standing: PlanStanding;
  readonly mayEdit: boolean;
  readonly isFrozen: boolean;
}) {
  const [state, setState] = useState<ActState>({ problems: [], said: null });
  const [check, setCheck] = useState<RecheckState>({ problems: [], recheck: null });
  const [isPending, start] = useTransition();
  const decide = (what: "approve" | "withdraw") =>
    start(async () => setState(await submitApproval(runId, version, what)));
  return (
    <>
      <p className="actions">
        {mayEdit && standing === "draft" && isFrozen && (
          <button
            type="button"
            className="button button--primary"
            disabled={isPending}
            onClick={() => decide("approve")}
          >
            Approve this plan
          </button>
        )}
        {mayEdit && standing === "in-force" && (
          <button
            type="button"
            className="button"
            disabled={isPending}
            onClick={() => decide("withdraw")}
          >
            Withdraw it
          </button>
        )}
        {isFrozen && (
          <button
            type="button"
            className="button"
            disabled={isPending}
            onClick={() => start(async () => setCheck(await submitRecheck(runId)))}
          >
            {isPending ? "Working …" : "Check again from stored inputs"}
          </button>
        )}
      </p>
      <ProblemList problems={[...state.problems, ...check.problems]} />
      <div role="status">
        {state.said && <p>{state.said}</p>}
        {check.recheck && <Recheck recheck={check.recheck} />}
      </div>
    </>
  );
}

function Recheck({ recheck }: { readonly recheck: NonNullable<RecheckState["recheck"]> }) {
  return (
    <div className={recheck.isSame ? "notice notice--good" : "notice notice--attention"}>
      <p>
        <strong>
          {recheck.isSame
            ? "The stored inputs give the same fingerprint and the same cost, and every rule is kept."
            : "The plan and its stored inputs do not agree."}
        </strong>
      </p>
      <dl className="facts">
        <dt>Cost anew, present value</dt>
        <dd>{formatMoney(recheck.objectiveCents)}</dd>
        <dt>Cost as stored</dt>
        <dd>{formatMoney(recheck.storedObjectiveCents)}</dd>
        <dt>Fingerprint anew</dt>
        <dd style={{ overflowWrap: "anywhere" }}>{recheck.fingerprint}</dd>
        {recheck.fingerprint !== recheck.storedFingerprint && (
          <>
            <dt>Fingerprint as stored</dt>
            <dd style={{ overflowWrap: "anywhere" }}>{recheck.storedFingerprint}</dd>
          </>
        )}
      </dl>
      {recheck.violations.length > 0 && (
        <ul>
          {recheck.violations.slice(0, 10).map((words) => (
            <li key={words}>{words}</li>
          ))}
        </ul>
      )}
    </div>
  );
}
