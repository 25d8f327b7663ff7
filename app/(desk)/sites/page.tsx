import type { Metadata } from "next";
import Link from "next/link";
import { Figure, Figures } from "@/app/_components/figure";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import { today } from "@/app/_lib/today";
import { requireViewer } from "@/app/_lib/viewer";
import { UNKNOWN_NEEDS_WORK } from "@/lib/core/planning/option-verdict";
import { readSites, type SitesView } from "@/lib/services/sites";
import { SiteFilter } from "./_components/site-filter";
import styles from "./_components/sites.module.css";
import { one, type Search } from "./_lib/search";

export const metadata: Metadata = { title: "Sites" };

export default async function SitesPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const search = await searchParams;
  const view = await readSites(
    await requireViewer(),
    { propertyId: one(search, "property"), optionCode: one(search, "option") },
    today(),
  );
  return (
    <>
      <PageHeading title="Site survey" question="Can it go there, and what does nobody know yet?" />
      <SiteFilter {...view} optionCode={view.option.code} />
      {view.total.heaters === 0 ? (
        <div className="empty">
          <p>No heater is in service here. Bring in a list first, then look at its closets.</p>
        </div>
      ) : (
        <>
          <Totals view={view} />
          <Buildings view={view} />
        </>
      )}
    </>
  );
}

function Totals({ view: { total, option } }: { readonly view: SitesView }) {
  const { states } = total;
  return (
    <Figures>
      <Figure
        label="Places that somebody has seen"
        value={`${formatNumber(total.seen)} of ${formatNumber(total.heaters)}`}
      >
        <p>
          {formatShare(total.seen / total.heaters)} of the heaters in service have at least one
          answer from a visit. Answers carried over from a like home do not count as seen.
        </p>
      </Figure>
      <Figure label="Answers not known" value={formatNumber(total.unknown)}>
        <p>
          Of {formatNumber(total.asked)} that the survey asks; {formatNumber(total.inferred)} of the
          known are inferred from a like home. Each blocks a firm line of a plan, not a budget line.
        </p>
      </Figure>
      <Figure label="Expected behind them" value={formatMoney(total.unseenCents)}>
        <p>
          For {option.name}: {formatShare(UNKNOWN_NEEDS_WORK.value, 0)} of the likely price of every
          part that nobody has looked for (assumed: {UNKNOWN_NEEDS_WORK.source}). All work still
          expected, known and not: {formatMoney(total.workCents)}.
        </p>
      </Figure>
      <Figure label="Ready for it today" value={formatNumber(states.ready)}>
        <p>
          {option.name}: {formatNumber(states.ready)} ready, {formatNumber(states["needs-work"])}{" "}
          need work, {formatNumber(states["not-seen"])} not seen,{" "}
          {formatNumber(states["not-possible"])} not possible. Too small for{" "}
          {formatNumber(total.tooSmall)} homes, which are counted all the same.
        </p>
      </Figure>
    </Figures>
  );
}

function Buildings({ view: { buildings, option } }: { readonly view: SitesView }) {
  return (
    <LedgerFrame label="Survey by building">
      <table className={`ledger ${styles.wide}`}>
        <caption>Held against {option.name}</caption>
        <thead>
          <tr>
            <th scope="col">Building</th>
            <th scope="col" className="number">
              Seen
            </th>
            <th scope="col" className="number">
              Not known
            </th>
            <th scope="col" className="number">
              Inferred
            </th>
            <th scope="col" className="number">
              Expected behind it
            </th>
            <th scope="col" className="number">
              Ready
            </th>
            <th scope="col" className="number">
              Need work
            </th>
            <th scope="col" className="number">
              Not possible
            </th>
            <th scope="col" className="number">
              Too small
            </th>
            <th scope="col" className="number">
              New circuits
            </th>
          </tr>
        </thead>
        <tbody>
          {buildings.map(({ building, sum }) => (
            <tr key={building.id}>
              <th scope="row">
                <Link href={`/sites/buildings/${building.id}?option=${option.code}`}>
                  {building.propertyName}, {building.name}
                </Link>
              </th>
              <td className="number">
                {sum.seen === 0 ? (
                  <span className="mark mark--attention">0 of {sum.heaters}</span>
                ) : (
                  `${sum.seen} of ${sum.heaters}`
                )}
              </td>
              <td className="number">{formatNumber(sum.unknown)}</td>
              <td className="number">{formatNumber(sum.inferred)}</td>
              <td className="number">{formatMoney(sum.unseenCents)}</td>
              <td className="number">{sum.states.ready}</td>
              <td className="number">{sum.states["needs-work"]}</td>
              <td className="number">{sum.states["not-possible"]}</td>
              <td className="number">{sum.tooSmall}</td>
              <td className="number">{building.headroomCircuits ?? "no limit known"}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </LedgerFrame>
  );
}
