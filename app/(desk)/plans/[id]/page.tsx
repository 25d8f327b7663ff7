import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { requireViewer } from "@/app/_lib/viewer";
import { RunButton } from "@/app/(desk)/plans/_components/run-button";
import { RunStatusMark } from "@/app/(desk)/plans/_components/run-status-mark";
import { RunWatch } from "@/app/(desk)/plans/_components/run-watch";
import { type PlanPage, readPlanPage } from "@/lib/services/plan-pages";
import { Assumptions } from "./_components/assumptions";
import { LedgerOfYears } from "./_components/ledger-of-years";
import { PlanFigures } from "./_components/plan-figures";
import { Prices } from "./_components/prices";
import { Proof } from "./_components/proof";
import { Schedule } from "./_components/schedule";
import { Simulation } from "./_components/simulation";
import { Strategies } from "./_components/strategies";
import { Upgrades } from "./_components/upgrades";
import { YearCharts } from "./_components/year-charts";

export const metadata: Metadata = { title: "Plan" };

export default async function PlanRunPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const page = await readPlanPage(await requireViewer(), (await params).id);
  if (!page) notFound();
  const { run, terms, plan, mayEdit } = page;
  const last = terms.periods[terms.periods.length - 1];
  return (
    <>
      <PageHeading
        title={run.scenarioName}
        question={
          <>
            What do we replace when, with what, for how much?{" "}
            {terms.periods[0] && last && (
              <>
                {terms.periods[0].budgetYear} to {last.budgetYear}.
              </>
            )}
          </>
        }
      >
        <Link href="/plans">All scenarios</Link>
        {plan && (
          <>
            <Link href={`/plans/${run.id}/life`}>Promised and done</Link>
            {terms.replan && <Link href={`/plans/${run.id}/replan`}>What changed and why</Link>}
            <a className="button" href={`/plans/${run.id}/schedule.csv`}>
              Schedule as CSV
            </a>
          </>
        )}
        {mayEdit && (
          <>
            <Link className="button" href={`/plans/scenarios/${run.scenarioId}`}>
              Edit scenario
            </Link>
            {!isUnderWay(page) && <RunButton scenarioId={run.scenarioId} />}
          </>
        )}
      </PageHeading>
      {isUnderWay(page) && <RunWatch runId={run.id} start={run} mayCancel={mayEdit} />}
      {!isUnderWay(page) && !plan && <WithoutPlan page={page} />}
      {plan && (
        <>
          <Proof run={run} summary={plan.summary} />
          <PlanFigures run={run} summary={plan.summary} />
          <YearCharts summary={plan.summary} />
          <Strategies summary={plan.summary} />
          <Simulation summary={plan.summary} />
          <LedgerOfYears summary={plan.summary} />
          <Schedule runId={run.id} terms={terms} summary={plan.summary} groups={plan.groups} />
          <Upgrades upgrades={plan.upgrades} />
          <Prices summary={plan.summary} terms={terms} />
          <Assumptions summary={plan.summary} />
        </>
      )}
    </>
  );
}

function isUnderWay({ run }: PlanPage): boolean {
  return run.status === "queued" || run.status === "running";
}

const NEXT_STEPS = {
  infeasible:
    "Give the years named more money or crew time, raise the latest age or the cap, or allow more options; then compute again.",
  failed: "Compute again. If it fails again, edit the scenario: fewer years or options are easier.",
  cancelled: "Nothing was stored. Compute again when you want the plan.",
} as const;

function WithoutPlan({ page: { run } }: { readonly page: PlanPage }) {
  const status = run.status;
  if (status !== "infeasible" && status !== "failed" && status !== "cancelled") return null;
  return (
    <section className="section">
      <h2>
        <RunStatusMark status={status} />
      </h2>
      <div className={status === "cancelled" ? "notice" : "notice notice--attention"}>
        {(run.message ?? "").split("\n").map((sentence) => (
          <p key={sentence}>{sentence}</p>
        ))}
      </div>
      <p>{NEXT_STEPS[status]}</p>
    </section>
  );
}
