import type { Metadata } from "next";
import { ActButton } from "@/app/_components/act-button";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatNumber, formatShare } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { dropContract } from "@/app/(desk)/emissions/record-actions";
import { readContracts } from "@/lib/services/emissions-records";
import { ContractForm } from "./contract-form";

export const metadata: Metadata = { title: "Contracts" };

const KIND_LABELS = {
  certificate: "Certificate",
  contract: "Contract",
  "supplier-rate": "Supplier’s rate or green tariff",
} as const;

export default async function ContractsPage() {
  const { mayEdit, instruments, properties, market } = await readContracts(await requireViewer());
  return (
    <>
      <section className="section">
        <h2>Certificates, contracts, green tariffs</h2>
        <p>
          They count for the market-based figure of scope 2 alone and never move the location-based
          one. Certificates go first, then contracts, then suppliers’ rates, each kilowatt hour
          once. One that fails a quality criterion of the GHG Protocol Scope 2 Guidance (2015) is
          not used, and the account says why.
        </p>
        {instruments.length === 0 ? (
          <p className="soft">None on record: the residual mix or the grid average answers.</p>
        ) : (
          <LedgerFrame label="Contracts about electricity">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Name</th>
                  <th scope="col">Kind</th>
                  <th scope="col">Covers</th>
                  <th scope="col" className="number">
                    kg CO2e a kWh
                  </th>
                  <th scope="col" className="number">
                    Vintage
                  </th>
                  <th scope="col">Used for</th>
                  <th scope="col">Quality</th>
                  <th scope="col">Source</th>
                  {mayEdit && <th scope="col">Take out</th>}
                </tr>
              </thead>
              <tbody>
                {instruments.map((line) => (
                  <tr key={line.id}>
                    <th scope="row">{line.name}</th>
                    <td>{KIND_LABELS[line.kind]}</td>
                    <td>
                      {line.coversKwh === null
                        ? `${formatShare(line.coversShare ?? 0, 0)} of the electricity`
                        : `${formatNumber(line.coversKwh)} kWh a year`}
                      {line.propertyName && `, ${line.propertyName}`}
                    </td>
                    <td className="number">{line.kgCo2ePerKwh}</td>
                    <td className="number">{line.vintage}</td>
                    <td>
                      {line.firstYear === line.lastYear
                        ? line.firstYear
                        : `${line.firstYear} to ${line.lastYear}`}
                    </td>
                    <td>
                      {line.problems.length === 0 ? (
                        <span className="mark mark--good">meets every criterion</span>
                      ) : (
                        <>
                          <span className="mark mark--attention">not used</span>{" "}
                          {line.problems.join("; ")}
                        </>
                      )}
                    </td>
                    <td>{line.source}</td>
                    {mayEdit && (
                      <td>
                        <ActButton act={dropContract.bind(null, line.id)} label="Take out" />
                      </td>
                    )}
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        )}
      </section>
      {mayEdit && (
        <section className="section">
          <h2>Add one</h2>
          <ContractForm
            properties={properties.map(({ id, name }) => ({ id, name }))}
            market={market}
          />
        </section>
      )}
    </>
  );
}
