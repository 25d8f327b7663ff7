import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { ComparisonSection, otherName } from "@/app/(desk)/risk/_components/comparison-section";
import {
  AdoptButton,
  CancelFitButton,
  StartFitButton,
  TestAgainButton,
} from "@/app/(desk)/risk/_components/fit-buttons";
import { FitProgress } from "@/app/(desk)/risk/_components/fit-progress";
import { FitSections } from "@/app/(desk)/risk/_components/fit-sections";
import { FreshWatch } from "@/app/(desk)/risk/_components/fresh-watch";
import { LeftOutSection } from "@/app/(desk)/risk/_components/left-out-section";
import { type FitView, readFit } from "@/lib/services/risk-fits";

export const metadata: Metadata = { title: "Fit" };

export default async function FitPage({
  params,
}: {
  readonly params: Promise<{ readonly id: string }>;
}) {
  const viewer = await requireViewer();
  const view = await readFit(viewer, (await params).id);
  if (!view) notFound();
  const { fit, inUse, mayRun, isReadable } = view;
  const isInUse = fit.id === inUse?.id;
  return (
    <>
      <PageHeading
        title={`Fit ${fit.number}`}
        question={`What the record of ${formatDay(fit.asOf)} says about how long heaters last`}
      >
        {mayRun && fit.status === "done" && isReadable && !isInUse && (
          <AdoptButton fitId={fit.id} number={fit.number} />
        )}
        {mayRun && (fit.status === "failed" || fit.status === "cancelled") && <StartFitButton />}
        <Link className="button" href="/risk/fits">
          All fits
        </Link>
      </PageHeading>
      <FitBody view={view} isInUse={isInUse} />
    </>
  );
}

function FitBody({ view, isInUse }: { readonly view: FitView; readonly isInUse: boolean }) {
  const { fit, mayRun } = view;
  switch (fit.status) {
    case "queued":
    case "running":
      return (
        <>
          <FitProgress fit={fit} />
          {mayRun && <CancelFitButton fitId={fit.id} />}
        </>
      );
    case "failed":
      return (
        <div className="notice notice--attention">
          <p>
            <strong>No model could be made.</strong> {fit.message}
          </p>
          <p>Nothing was changed: what ranked before still ranks.</p>
        </div>
      );
    case "cancelled":
      return (
        <div className="notice">
          <p>{fit.message} Nothing was changed.</p>
        </div>
      );
    case "done":
      return <DoneFit view={view} isInUse={isInUse} />;
  }
}

/** Fewer failures than this say little. */
const FEW_FAILURES = 20;

function DoneFit({ view, isInUse }: { readonly view: FitView; readonly isInUse: boolean }) {
  const { fit, inUse, learntBefore, heaterNames, sameAs, isReadable, mayRun } = view;
  const { report } = fit;
  if (!report) return null;
  const isTesting = fit.backTestStatus === "queued" || fit.backTestStatus === "running";
  return (
    <>
      <div className={isInUse ? "notice notice--good" : "notice"}>
        <p>
          <strong>{isInUse ? "This fit ranks the heaters" : "This fit does not rank"}</strong>
          {isInUse
            ? fit.adoptedAt &&
              `, since ${formatDay(fit.adoptedAt.toISOString().slice(0, 10))}, ${fit.adoptedBy ? `chosen by ${fit.adoptedBy}` : "taken into use by the demo’s first start"}`
            : `: ${inUse ? `fit ${inUse.number} does` : "published lifetimes do"}. Compare below, then choose`}
          .
        </p>
        {report.counts.failures < FEW_FAILURES && (
          <p>
            It rests on {formatNumber(report.counts.failures)}{" "}
            {report.counts.failures === 1 ? "failure" : "failures"}, which is little: it stays close
            to published lifetimes and says so number by number.
          </p>
        )}
        {!isReadable && (
          <p>
            It was made by an earlier method whose models are no longer read: learn again to rank.
          </p>
        )}
        {sameAs && (
          <p>
            Nothing on record had changed since{" "}
            <Link href={`/risk/fits/${sameAs.id}`}>fit {sameAs.number}</Link> of the same day: both
            are the same.
          </p>
        )}
      </div>
      {isTesting && <FreshWatch />}
      <section className="section" aria-labelledby="change">
        <h2 id="change">Against {otherName(report.comparison.against)}, in use when it was made</h2>
        <ComparisonSection
          comparison={report.comparison}
          learning={report.learning}
          learntBefore={learntBefore}
          heaterNames={heaterNames}
        />
      </section>
      <FitSections detail={view} />
      {mayRun && fit.backTestStatus === "failed" && <TestAgainButton fitId={fit.id} />}
      <section className="section" aria-labelledby="left-out">
        <h2 id="left-out">Left out</h2>
        <LeftOutSection leftOut={report.leftOut} heaterNames={heaterNames} />
      </section>
      <section className="section" aria-labelledby="repeat">
        <h2 id="repeat">To repeat it</h2>
        <dl className="facts">
          <dt>As of</dt>
          <dd>{formatDay(fit.asOf)}</dd>
          <dt>Ends on record since</dt>
          <dd>{report.recordsBegin === null ? "–" : formatDay(report.recordsBegin)}</dd>
          <dt>Method</dt>
          <dd>
            {fit.method}, {formatNumber(report.iterations)} steps, log-likelihood{" "}
            {formatNumber(report.logLikelihood, 1)}
          </dd>
          <dt>Fingerprint of all that went in</dt>
          <dd style={{ overflowWrap: "anywhere" }}>{fit.fingerprint}</dd>
        </dl>
      </section>
    </>
  );
}
