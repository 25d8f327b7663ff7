import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { requireViewer } from "@/app/_lib/viewer";
import {
  DEFAULT_MOVE_PENALTY_CENTS,
  type ReplanPage,
  readReplanPage,
} from "@/lib/services/plan-replan";
import { Changes } from "./changes";
import { ReplanForm } from "./replan-form";

export const metadata: Metadata = { title: "Replan" };

export default async function PlanReplanPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const page = await readReplanPage(await requireViewer(), (await params).id);
  if (!page) notFound();
  const { run, changes } = page;
  return (
    <>
      <PageHeading
        title={`${run.scenarioName}: replan`}
        question={
          changes
            ? "What changed against the earlier plan, and why?"
            : "Something happened: what is the best plan now that moves few lines?"
        }
      >
        <Link href={`/plans/${run.id}`}>The plan</Link>
        <Link href={`/plans/${run.id}/life`}>Promised and done</Link>
        {changes && (
          <a className="button" href={`/plans/${run.id}/changes.csv`}>
            Changes as CSV
          </a>
        )}
      </PageHeading>
      {changes && <Changes changes={changes} />}
      {(page.standing === "in-force" || !changes) && <Ask page={page} />}
    </>
  );
}

function Ask({ page: { run, standing, mayEdit, scenarios } }: { readonly page: ReplanPage }) {
  return (
    <section className="section">
      <h2>Replan from today</h2>
      {standing !== "in-force" ? (
        <p>
          Only the plan in force can be planned anew around.{" "}
          <Link href={`/plans/${run.id}/life`}>Approve this one</Link> first.
        </p>
      ) : !mayEdit ? (
        <p>Your role may read plans but not ask for one.</p>
      ) : (
        <>
          <p>
            Takes the record as it is today and the terms of a scenario (
            <Link href={`/plans/scenarios/${run.scenarioId}`}>change this plan’s own</Link>).
            Committed lines stay, done lines are not planned again, and every other line moves only
            where that saves more than the penalty. This plan stays in force until you approve the
            new one.
          </p>
          <ReplanForm
            runId={run.id}
            ownScenarioId={run.scenarioId}
            scenarios={scenarios}
            defaultPenalty={String(DEFAULT_MOVE_PENALTY_CENTS / 100)}
          />
        </>
      )}
    </section>
  );
}
