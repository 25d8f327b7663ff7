import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { DISPOSAL_ROUTE_LABELS } from "@/lib/core/emissions/retirement-ledger";
import { TECHNOLOGY_LABELS } from "@/lib/core/heaters/vocabulary";
import { kilogramsToPounds } from "@/lib/core/shared/units";
import { readRetirements } from "@/lib/services/emissions-ledger";
import { readRefrigerantLog } from "@/lib/services/emissions-refrigerant";
import { DisposalForm } from "./disposal-form";
import { RefrigerantSection } from "./refrigerant-section";

export const metadata: Metadata = { title: "Retirement ledger" };

type Search = Readonly<Record<string, string | string[] | undefined>>;

export default async function RetirementsPage({
  searchParams,
}: {
  readonly searchParams: Promise<Search>;
}) {
  const { year: asked } = await searchParams;
  const year = typeof asked === "string" && /^\d{4}$/.test(asked) ? Number(asked) : null;
  const viewer = await requireViewer();
  const view = await readRetirements(viewer, year);
  const refrigerant = <RefrigerantSection {...(await readRefrigerantLog(viewer))} />;
  if (view.years.length === 0) {
    return (
      <>
        <div className="empty">
          <p>No heater has been taken out yet. Retire one on its page and it appears here.</p>
          <Link className="button" href="/heaters">
            Heaters
          </Link>
        </div>
        {refrigerant}
      </>
    );
  }
  return (
    <>
      <section className="section">
        <h2>Where the old heaters went</h2>
        <p>
          A heater whose way nobody noted counts as unknown, never as recycled. Weights without a
          ticket are assumed from technology and volume, 85 % of them metal (assumed).
        </p>
        <LedgerFrame label="Retirement ledger by year">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Year</th>
                <th scope="col" className="number">
                  Taken out
                </th>
                <th scope="col" className="number">
                  Recycled
                </th>
                <th scope="col" className="number">
                  Used again
                </th>
                <th scope="col" className="number">
                  Landfill
                </th>
                <th scope="col" className="number">
                  Not known
                </th>
                <th scope="col" className="number">
                  Metal recycled
                </th>
                <th scope="col" className="number">
                  Landfill avoided
                </th>
                <th scope="col" className="number">
                  Weighed
                </th>
                <th scope="col" className="number">
                  Refrigerant recovered
                </th>
              </tr>
            </thead>
            <tbody>
              {view.years.map((each) => (
                <tr key={each.year}>
                  <th scope="row">
                    <Link href={`/emissions/retirements?year=${each.year}`}>{each.year}</Link>
                  </th>
                  <td className="number">{formatNumber(each.retired)}</td>
                  <td className="number">{formatNumber(each.byRoute.recycled)}</td>
                  <td className="number">{formatNumber(each.byRoute.reused)}</td>
                  <td className="number">{formatNumber(each.byRoute.landfill)}</td>
                  <td className="number">{formatNumber(each.unknown)}</td>
                  <td className="number">{weight(each.metalRecycledKg)}</td>
                  <td className="number">{weight(each.landfillAvoidedKg)}</td>
                  <td className="number">{formatNumber(each.weighed)}</td>
                  <td className="number">
                    {each.circuits === 0
                      ? "–"
                      : `${formatNumber(each.recoveredKg, 2)} of ${formatNumber(each.chargeKg, 2)} kg`}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
      <section className="section">
        <h2>Heaters taken out in {view.year}</h2>
        <LedgerFrame label={`Heaters taken out in ${view.year}`}>
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Heater</th>
                <th scope="col">Property</th>
                <th scope="col">Technology</th>
                <th scope="col">Taken out by</th>
                <th scope="col">Went to</th>
                <th scope="col" className="number">
                  Weighed
                </th>
                <th scope="col">Receiver, document</th>
              </tr>
            </thead>
            <tbody>
              {view.heaters.map((heater) => (
                <tr key={heater.heaterId}>
                  <th scope="row">
                    <Link href={`/heaters/${heater.heaterId}`}>{heater.tag}</Link>
                  </th>
                  <td>{heater.propertyName}</td>
                  <td>{TECHNOLOGY_LABELS[heater.technology]}</td>
                  <td>{formatDay(heater.retiredOn)}</td>
                  <td>
                    {heater.route === null ? "not known" : DISPOSAL_ROUTE_LABELS[heater.route]}
                  </td>
                  <td className="number">
                    {heater.weighedKg === null ? "–" : weight(heater.weighedKg)}
                  </td>
                  <td>{[heater.receiver, heater.document].filter(Boolean).join(", ") || "–"}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
      {view.mayEdit && (
        <section className="section">
          <h2>Note where one went</h2>
          <DisposalForm
            heaters={view.heaters.map(({ heaterId, tag, propertyName }) => ({
              id: heaterId,
              label: `${tag}, ${propertyName}`,
            }))}
          />
        </section>
      )}
      {refrigerant}
    </>
  );
}

function weight(kilograms: number): string {
  return `${formatNumber(kilogramsToPounds(kilograms))} lb (${formatNumber(kilograms)} kg)`;
}
