import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { METER_HOLDER_LABELS, type MeterHolder } from "@/lib/core/energy/meters";
import { readEnergyProperties } from "@/lib/services/energy";

export const metadata: Metadata = { title: "Meters and readings" };

export default async function MetersPage() {
  const properties = await readEnergyProperties(await requireViewer());
  if (properties.length === 0) {
    return (
      <div className="empty">
        <p>No property yet. Properties come in with your heaters.</p>
        <Link className="button" href="/import">
          Bring in a spreadsheet
        </Link>
      </div>
    );
  }
  return (
    <section className="section">
      <h2>Meters and readings</h2>
      <p>
        Who holds the meters decides the scope and who pays. Where it is not on record, a home’s own
        heater is taken to be on the resident’s meters, and the account says so.
      </p>
      <LedgerFrame label="Meters and readings by property">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Property</th>
              <th scope="col" className="number">
                Heaters on record
              </th>
              <th scope="col">Fuel meters</th>
              <th scope="col">Electricity meters</th>
              <th scope="col">Tariffs</th>
              <th scope="col" className="number">
                Readings
              </th>
              <th scope="col">Read</th>
              <th scope="col">Model</th>
            </tr>
          </thead>
          <tbody>
            {properties.map(({ id, name, heaters, energy, readings }) => (
              <tr key={id}>
                <th scope="row">
                  <Link href={`/emissions/properties/${id}`}>{name}</Link>
                </th>
                <td className="number">{formatNumber(heaters)}</td>
                <td>{holderOf(energy.meters.fuel)}</td>
                <td>{holderOf(energy.meters.electricity)}</td>
                <td>
                  {energy.tariffs.fuel?.tariff.kind ?? "flat"},{" "}
                  {energy.tariffs.electricity?.tariff.kind ?? "flat"}
                </td>
                <td className="number">{readings ? formatNumber(readings.readings) : "–"}</td>
                <td>
                  {readings ? `${formatDay(readings.from)} to ${formatDay(readings.to)}` : "–"}
                </td>
                <td>{energy.usesCalibration ? "calibrated to meters" : "as it is"}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}

function holderOf(holder: MeterHolder | null) {
  if (holder !== null) return METER_HOLDER_LABELS[holder];
  return <span className="mark mark--attention">not on record</span>;
}
