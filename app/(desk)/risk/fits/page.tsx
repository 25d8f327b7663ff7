import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { AdoptPublishedButton, StartFitButton } from "@/app/(desk)/risk/_components/fit-buttons";
import { FreshWatch } from "@/app/(desk)/risk/_components/fresh-watch";
import { GRADES } from "@/app/(desk)/risk/_lib/risk-words";
import { type FitRow, readFits } from "@/lib/services/risk-fits";

export const metadata: Metadata = { title: "Fits" };

export default async function FitsPage() {
  const viewer = await requireViewer();
  const { fits, inUse, isUnderWay, heaters, mayRun } = await readFits(viewer);
  const waits = fits.some(({ backTestStatus }) => ["queued", "running"].includes(backTestStatus));
  return (
    <>
      <PageHeading
        title="Fits"
        question="What has the model learnt, when, and which of it ranks the heaters?"
      >
        {mayRun && heaters > 0 && !isUnderWay && <StartFitButton isPrimary={fits.length === 0} />}
        <Link className="button" href="/risk">
          Risk
        </Link>
      </PageHeading>
      <p>
        A fit reads the whole record as of a day and moves the published lifetimes to what your own
        heaters did. It stays as it is; a later one is held against the one in use, and a person
        says which of them ranks.
      </p>
      {(isUnderWay || waits) && <FreshWatch />}
      {fits.length === 0 ? (
        <div className="empty">
          <p>
            {heaters === 0
              ? "There is no heater on record to learn from."
              : "Nothing has been learnt yet: published lifetimes rank the heaters."}
          </p>
          {heaters === 0 && (
            <Link className="button" href="/import">
              Bring in a spreadsheet
            </Link>
          )}
        </div>
      ) : (
        <LedgerFrame label="Fits, the latest first">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Fit</th>
                <th scope="col">As of</th>
                <th scope="col">State</th>
                <th scope="col" className="number">
                  Heaters
                </th>
                <th scope="col" className="number">
                  Failures
                </th>
                <th scope="col">On past years</th>
                <th scope="col">Asked for by</th>
              </tr>
            </thead>
            <tbody>
              {fits.map((fit) => (
                <FitLine key={fit.id} fit={fit} isInUse={fit.id === inUse?.id} />
              ))}
              <tr>
                <th scope="row">Published lifetimes</th>
                <td>–</td>
                <td>{inUse === null && <span className="mark mark--good">in use</span>}</td>
                <td className="number">–</td>
                <td className="number">–</td>
                <td>not tried: nothing learnt</td>
                <td>–</td>
              </tr>
            </tbody>
          </table>
        </LedgerFrame>
      )}
      {inUse && mayRun && (
        <section className="section" aria-labelledby="back">
          <h2 id="back">Without your own record</h2>
          <p>
            Fit {inUse.number} ranks. To rank by published lifetimes again until you choose another
            fit:
          </p>
          <AdoptPublishedButton />
        </section>
      )}
    </>
  );
}

function FitLine({ fit, isInUse }: { readonly fit: FitRow; readonly isInUse: boolean }) {
  const { id, number, asOf, records, failures, requestedBy, adoptsItself } = fit;
  return (
    <tr>
      <th scope="row">
        <Link href={`/risk/fits/${id}`}>Fit {number}</Link>
      </th>
      <td>{formatDay(asOf)}</td>
      <td>{isInUse ? <span className="mark mark--good">in use</span> : stateInWords(fit)}</td>
      <td className="number">{records === null ? "–" : formatNumber(records)}</td>
      <td className="number">{failures === null ? "–" : formatNumber(failures)}</td>
      <td>{testInWords(fit)}</td>
      <td>{requestedBy ?? (adoptsItself ? "the demo’s first start" : "someone who has left")}</td>
    </tr>
  );
}

function stateInWords({ status, progress }: FitRow) {
  switch (status) {
    case "queued":
      return "waiting";
    case "running":
      return `${Math.round(100 * progress)} % done`;
    case "done":
      return "done, not in use";
    case "failed":
      return <span className="mark mark--attention">could not be made</span>;
    case "cancelled":
      return "cancelled";
  }
}

function testInWords({ status, verdict, backTestStatus, backTestProgress }: FitRow) {
  if (status !== "done") return "–";
  if (verdict) {
    const { label, mark } = GRADES[verdict.grade];
    return (
      <>
        {verdict.headline} <span className={mark}>{label}</span>
      </>
    );
  }
  if (backTestStatus === "running") return `${Math.round(100 * backTestProgress)} % done`;
  return backTestStatus === "queued" ? "waiting" : "could not be tried";
}
