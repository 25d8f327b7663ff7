import type { Metadata } from "next";
import Link from "next/link";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay, formatNumber } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { formatHardness, formatTemperature } from "@/app/(desk)/settings/_lib/quantities";
import { formatCents } from "@/lib/core/shared/money";
import { readProperties } from "@/lib/services/settings-properties";

export const metadata: Metadata = { title: "Properties" };

export default async function PropertiesPage() {
  const viewer = await requireViewer();
  const properties = await readProperties(viewer);
  if (properties.length === 0) {
    return (
      <div className="empty">
        <p>No property yet. Properties and buildings come in with your heaters.</p>
        <Link className="button" href="/import">
          Bring in a spreadsheet
        </Link>
      </div>
    );
  }
  return (
    <section className="section" aria-labelledby="properties">
      <h2 id="properties">Properties</h2>
      <p>
        Climate, water, prices and use of each place. Energy, emissions, upkeep and risk are
        computed from them.
      </p>
      <LedgerFrame label="Table of properties">
        <table className="ledger">
          <thead>
            <tr>
              <th scope="col">Property</th>
              <th scope="col">Place</th>
              <th scope="col" className="number">
                Buildings
              </th>
              <th scope="col" className="number">
                Heaters
              </th>
              <th scope="col">Hardness, latest test</th>
              <th scope="col">Mean air</th>
              <th scope="col" className="number">
                Gas, a therm
              </th>
              <th scope="col" className="number">
                Electricity, a kWh
              </th>
              <th scope="col">Grid region</th>
              <th scope="col">Hot-water use</th>
            </tr>
          </thead>
          <tbody>
            {properties.map((property) => (
              <tr key={property.id}>
                <th scope="row">
                  <Link href={`/settings/properties/${property.id}`}>{property.name}</Link>
                </th>
                <td>{[property.city, property.region].filter(Boolean).join(", ") || "–"}</td>
                <td className="number">{formatNumber(property.buildings)}</td>
                <td className="number">{formatNumber(property.heaters)}</td>
                <td>
                  {property.lastTestedOn === null ? (
                    <span className="mark mark--attention">never tested</span>
                  ) : (
                    <>
                      {property.hardnessMgPerLitre === null
                        ? "not measured"
                        : formatHardness(property.hardnessMgPerLitre, viewer.unitSystem)}
                      , {formatDay(property.lastTestedOn)}
                    </>
                  )}
                </td>
                <td>{formatTemperature(property.annualMeanAirF, viewer.unitSystem)}</td>
                <td className="number">{formatCents(Math.round(property.gasCentsPerTherm))}</td>
                <td className="number">{formatNumber(property.electricityCentsPerKwh, 1)} ¢</td>
                <td>{property.gridRegion}</td>
                <td>{property.demandLevel}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}
