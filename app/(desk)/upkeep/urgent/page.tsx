import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { PageHeading } from "@/app/_components/page-heading";
import { UrgentCaution } from "@/app/_components/urgent-caution";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { URGENT_KINDS, URGENT_LABELS } from "@/lib/core/upkeep/urgent-matters";
import { readUrgentMatters, type UrgentMatterRow } from "@/lib/services/upkeep-urgent";
import { ReopenButton } from "./_components/reopen-button";
import { SettleForm } from "./_components/settle-form";

export const metadata: Metadata = { title: "Urgent matters" };

export default async function UrgentPage({
  searchParams,
}: {
  readonly searchParams: Promise<Readonly<Record<string, string | string[] | undefined>>>;
}) {
  const { settle } = await searchParams;
  const { open, settled, maySettle } = await readUrgentMatters(await requireViewer());
  const kinds = URGENT_KINDS.filter((kind) => open.some((matter) => matter.kind === kind));
  return (
    <>
      <PageHeading title="Urgent matters" question="What cannot wait for the next round?" />
      {open.length === 0 ? (
        <div className="empty">
          <p>
            Nothing is open. A failed relief valve, a leak, a tap that scalds, flue gas or a gas
            smell recorded on a round or at the desk stands here until somebody says what was done.
          </p>
        </div>
      ) : (
        <>
          {kinds.map((kind) => (
            <UrgentCaution key={kind} kind={kind} />
          ))}
          <section className="section">
            <h2>{formatNumber(open.length)} open</h2>
            <LedgerFrame label="Open matters">
              <table className="ledger">
                <thead>
                  <tr>
                    <th scope="col">What</th>
                    <th scope="col">Where</th>
                    <th scope="col">Raised</th>
                    <th scope="col">Note</th>
                  </tr>
                </thead>
                <tbody>
                  {open.map((matter) => (
                    <tr key={matter.id}>
                      <th scope="row">
                        <span className="mark mark--attention">{URGENT_LABELS[matter.kind]}</span>
                        {matter.tapF !== null && ` (${formatNumber(matter.tapF)} °F at the tap)`}
                      </th>
                      <Where matter={matter} />
                      <td>
                        {formatDay(matter.raisedOn)}, {matter.raisedBy}
                      </td>
                      <td>
                        {matter.note}
                        {maySettle && settle === matter.id && <SettleForm id={matter.id} />}
                        {maySettle && settle !== matter.id && (
                          <p>
                            <Link href={`/upkeep/urgent?settle=${matter.id}`} scroll={false}>
                              Settled …
                            </Link>
                          </p>
                        )}
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </LedgerFrame>
          </section>
        </>
      )}
      {settled.length > 0 && (
        <section className="section">
          <h2>Settled lately</h2>
          <LedgerFrame label="Settled matters">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">What</th>
                  <th scope="col">Where</th>
                  <th scope="col">Raised</th>
                  <th scope="col">Settled</th>
                  <th scope="col">What was done</th>
                </tr>
              </thead>
              <tbody>
                {settled.map((matter) => (
                  <tr key={matter.id}>
                    <th scope="row">{URGENT_LABELS[matter.kind]}</th>
                    <Where matter={matter} />
                    <td>
                      {formatDay(matter.raisedOn)}, {matter.raisedBy}
                    </td>
                    <td>
                      {matter.settledOn && formatDay(matter.settledOn)}, {matter.settledBy}
                    </td>
                    <td>
                      {matter.settledNote}
                      {maySettle && <ReopenButton id={matter.id} />}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        </section>
      )}
    </>
  );
}

function Where({ matter }: { readonly matter: UrgentMatterRow }) {
  return (
    <td>
      {matter.property}, {matter.building}
      {matter.home && `, home ${matter.home}`}
      <br />
      <Link href={`/heaters/${matter.heaterId}`}>{matter.tag}</Link>
    </td>
  );
}
