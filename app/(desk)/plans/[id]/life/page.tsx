import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { formatInstant, formatMoney, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { type LifePage, readLifePage } from "@/lib/services/plan-life";
import styles from "./_components/life.module.css";
import { LifeLines } from "./_components/lines";
import { StandingActs } from "./_components/standing";
import { VarianceTable } from "./_components/variance-table";

export const metadata: Metadata = { title: "Life of the plan" };

export default async function PlanLifePage({
  params,
  searchParams,
}: {
  readonly params: Promise<{ readonly id: string }>;
  readonly searchParams: Promise<{ readonly year?: string | string[] }>;
}) {
  const page = await readLifePage(await requireViewer(), (await params).id);
  if (!page) notFound();
  const { run, approval, total } = page;
  const years = page.byYear.map(([year]) => year);
  const asked = (await searchParams).year;
  const year = years.find((each) => each === asked) ?? years[0];
  return (
    <>
      <PageHeading
        title={`${run.scenarioName}: promised and done`}
        question="Which lines are promised, which are done, and what did they really cost?"
      >
        <Link href={`/plans/${run.id}`}>The plan</Link>
        {approval.standing === "in-force" && page.mayEdit && (
          <Link href={`/plans/${run.id}/replan`}>Replan from today</Link>
        )}
        <a className="button" href={`/plans/${run.id}/variance.csv`}>
          Planned against actual as CSV
        </a>
      </PageHeading>
      <section className="section">
        <h2>Where it stands</h2>
        <p>{standingWords(page)}</p>
        <StandingActs
          runId={run.id}
          version={approval.version}
          standing={approval.standing}
          mayEdit={page.mayEdit}
          isFrozen={approval.isFrozen}
        />
      </section>
      <section className="section">
        <h2>Lines</h2>
        {year === undefined ? (
          <p>The plan replaces nothing: there is no line to act on.</p>
        ) : (
          <>
            <nav aria-label="Budget years" className={`actions ${styles.years}`}>
              {years.map((each) => (
                <Link
                  key={each}
                  href={`/plans/${run.id}/life?year=${encodeURIComponent(each)}`}
                  aria-current={each === year ? "page" : undefined}
                >
                  {each}
                </Link>
              ))}
            </nav>
            <LifeLines
              key={year}
              runId={run.id}
              year={year}
              rows={page.rows.filter(({ budgetYear }) => budgetYear === year)}
              optionNames={page.optionNames}
              mayAct={page.mayEdit && approval.standing === "in-force"}
            />
          </>
        )}
      </section>
      <section className="section">
        <h2>Planned against actual</h2>
        <p>{varianceWords(page)}</p>
        {hasHappened(total) && (
          <>
            <VarianceTable label="Year" rows={page.byYear} />
            <details>
              <summary>The same by building</summary>
              <VarianceTable
                label="Building"
                rows={page.byBuilding.filter(([, each]) => hasHappened(each))}
              />
              <p className="small soft">
                Buildings where nothing is committed, done or dropped are left out.
              </p>
            </details>
          </>
        )}
      </section>
    </>
  );
}

function hasHappened({ done, dropped, committed }: LifePage["total"]): boolean {
  return done + dropped + committed > 0;
}

function standingWords({ approval, otherInForce }: LifePage): string {
  if (approval.standing === "in-force") {
    return `In force since ${approval.approvedAt ? formatInstant(approval.approvedAt) : "its approval"}. What it commits binds every later run.`;
  }
  if (approval.standing === "withdrawn") {
    return `Withdrawn ${approval.withdrawnAt ? formatInstant(approval.withdrawnAt) : ""}. It binds nothing; its lines stay as they were.`;
  }
  if (!approval.isFrozen) {
    return "A draft that was computed before inputs were stored with plans. Compute it again to approve it.";
  }
  return otherInForce
    ? `A draft. “${otherInForce.scenarioName}” is in force; approving this one withdraws it, and what it has committed must be kept.`
    : "A draft: nothing is promised yet. Approving it freezes inputs, costs and fingerprint.";
}

function varianceWords({ total }: LifePage): string {
  const billed = total.done - total.costUnknown;
  if (total.done === 0) return "Nothing is marked done yet.";
  const difference = total.actualCents - total.plannedOfKnownCents;
  const money =
    billed === 0
      ? "No bill is known yet."
      : `${formatNumber(billed)} of them cost ${formatMoney(total.actualCents)} against ${formatMoney(total.plannedOfKnownCents)} planned: ${
          difference === 0
            ? "as planned."
            : `${formatMoney(Math.abs(difference))} ${difference > 0 ? "more" : "less"}.`
        }`;
  return `${formatNumber(total.done)} of ${formatNumber(total.lines)} ${total.lines === 1 ? "line is" : "lines are"} done; ${formatNumber(total.early)} early, ${formatNumber(total.onTime)} on time, ${formatNumber(total.late)} late. ${money}`;
}
