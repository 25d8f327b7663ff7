import type { Metadata } from "next";
import { ActButton } from "@/app/_components/act-button";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatDay } from "@/app/_lib/format";
import { requireViewer } from "@/app/_lib/viewer";
import { activityName, gasName } from "@/app/(desk)/emissions/_lib/words";
import { changeFactor } from "@/app/(desk)/emissions/record-actions";
import { readFactors } from "@/lib/services/emissions-records";
import { FactorForm } from "./factor-form";

export const metadata: Metadata = { title: "Factors" };

export default async function FactorsPage() {
  const { mayEdit, own, published } = await readFactors(await requireViewer());
  return (
    <>
      <section className="section">
        <h2>Your own factors</h2>
        <p>
          An own factor replaces the published one of the same region and vintage. Entering it again
          adds a version; nothing is overwritten, and a kept account keeps the rows it used. A year
          takes the latest vintage that is not after it.
        </p>
        {own.length === 0 ? (
          <p className="soft">None: the published factors below hold.</p>
        ) : (
          <LedgerFrame label="Own factors">
            <table className="ledger">
              <thead>
                <tr>
                  <th scope="col">Of what</th>
                  <th scope="col">Gas</th>
                  <th scope="col" className="number">
                    Value
                  </th>
                  <th scope="col" className="number">
                    Vintage
                  </th>
                  <th scope="col" className="number">
                    Version
                  </th>
                  <th scope="col">Entered</th>
                  <th scope="col">Source</th>
                  {mayEdit && <th scope="col">In force</th>}
                </tr>
              </thead>
              <tbody>
                {own.map((factor) => (
                  <tr key={factor.id}>
                    <th scope="row">{activityName(factor)}</th>
                    <td>{gasName(factor.gas)}</td>
                    <td className="number">
                      {factor.value} {factor.unit}
                    </td>
                    <td className="number">{factor.vintage}</td>
                    <td className="number">{factor.version}</td>
                    <td>
                      {formatDay(factor.createdAt.toISOString().slice(0, 10))}
                      {factor.enteredBy && `, ${factor.enteredBy}`}
                      {factor.withdrawnAt && (
                        <span className="mark mark--attention"> withdrawn</span>
                      )}
                    </td>
                    <td>{factor.source}</td>
                    {mayEdit && (
                      <td>
                        <ActButton
                          act={changeFactor.bind(null, factor.id, factor.withdrawnAt === null)}
                          label={factor.withdrawnAt === null ? "Withdraw" : "Take back into force"}
                        />
                      </td>
                    )}
                  </tr>
                ))}
              </tbody>
            </table>
          </LedgerFrame>
        )}
        {mayEdit && <FactorForm />}
      </section>
      <section className="section">
        <h2>Published factors that ship with the program</h2>
        <LedgerFrame label="Published factors">
          <table className="ledger">
            <thead>
              <tr>
                <th scope="col">Of what</th>
                <th scope="col">Gas</th>
                <th scope="col" className="number">
                  Value
                </th>
                <th scope="col" className="number">
                  Vintage
                </th>
                <th scope="col">Source</th>
              </tr>
            </thead>
            <tbody>
              {published.map((row) => (
                <tr key={row.id}>
                  <th scope="row">{activityName(row)}</th>
                  <td>{gasName(row.gas)}</td>
                  <td className="number">
                    {row.value} {row.unit}
                  </td>
                  <td className="number">{row.vintage}</td>
                  <td>
                    {row.source} <span className="soft">({row.evidence})</span>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </LedgerFrame>
      </section>
    </>
  );
}
