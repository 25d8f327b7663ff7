import Link from "next/link";
import { formatDay, formatNumber, formatShare } from "@/app/_lib/format";
import { GRADES } from "@/app/(desk)/risk/_lib/risk-words";
import type { RiskView } from "@/lib/services/risk";
import type { FitRow } from "@/lib/services/risk-fits";
import { StartFitButton } from "./fit-buttons";
import { FreshWatch } from "./fresh-watch";
import { verdictInWords } from "./record-section";

/** Which model ranks, how far it may be believed, and what can be done about it. */
export function ModelNotice({ view }: { readonly view: RiskView }) {
  const { inUse, newer, mayRun } = view;
  return (
    <div className="notice">
      {inUse ? <FitInUse fit={inUse.fit} /> : <Published view={view} />}
      {newer ? <Newer fit={newer} /> : null}
      {!inUse && !newer && mayRun && <StartFitButton isPrimary />}
    </div>
  );
}

function FitInUse({ fit }: { readonly fit: FitRow }) {
  const { id, number, asOf, failures, records, verdict, backTestStatus, backTestProgress } = fit;
  const isTesting = backTestStatus === "queued" || backTestStatus === "running";
  return (
    <>
      <p>
        <strong>Ranked with fit {number}</strong>, learnt from {formatNumber(failures ?? 0)}{" "}
        failures among {formatNumber(records ?? 0)} heaters on record as of {formatDay(asOf)}.{" "}
        {verdict && (
          <>
            On past years: {verdict.headline}{" "}
            <span className={GRADES[verdict.grade].mark}>{GRADES[verdict.grade].label}</span>.{" "}
          </>
        )}
        {isTesting &&
          `It is being tried on past years (${formatShare(backTestProgress, 0)} done); until then nothing says how good it is. `}
        <a href="#believe">Can I believe it?</a> <a href="#learnt">What it learnt</a>.{" "}
        <Link href={`/risk/fits/${id}`}>More about fit {number}</Link>.
      </p>
      {isTesting && <FreshWatch />}
    </>
  );
}

function Published({ view }: { readonly view: RiskView }) {
  return (
    <p>
      <strong>Ranked by published lifetimes.</strong> They start from expert ranges and have not
      learnt from this portfolio’s own failures. {verdictInWords(view.comparison)}{" "}
      <a href="#record">The record, year by year</a>; <a href="#rests-on">what it rests on</a>.
    </p>
  );
}

function Newer({ fit }: { readonly fit: FitRow }) {
  const link = <Link href={`/risk/fits/${fit.id}`}>Fit {fit.number}</Link>;
  switch (fit.status) {
    case "queued":
    case "running":
      return (
        <>
          <p>
            {link} is learning from the record: {formatShare(fit.progress, 0)} done. You may leave
            this page.
          </p>
          <FreshWatch />
        </>
      );
    case "done":
      return (
        <p>{link} is done and waits for you to compare it and to say whether it shall rank.</p>
      );
    case "failed":
      return (
        <p>
          {link} could not be made: {fit.message}
        </p>
      );
    case "cancelled":
      return null;
  }
}
