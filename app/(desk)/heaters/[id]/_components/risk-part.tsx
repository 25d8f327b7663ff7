import Link from "next/link";
import { formatDay, formatMoney, formatNumber, formatShare } from "@/app/_lib/format";
import type { HeaterPage, HeaterRisk } from "@/lib/services/heater-page";
import { SurvivalCurve } from "./survival-curve";

/** Why it may fail, and when. */
export function RiskPart({ page, risk }: { readonly page: HeaterPage; readonly risk: HeaterRisk }) {
  const { explanation, loss, assumptions } = risk;
  const assumed = Object.values(assumptions).filter(
    ({ evidence }) => evidence !== "entered",
  ).length;
  return (
    <section className="section" aria-labelledby="risk">
      <h2 id="risk">Risk</h2>
      <p className="small soft">
        {risk.fit ? (
          <>
            By <Link href={`/risk/fits/${risk.fit.id}`}>fit {risk.fit.number}</Link> of{" "}
            {formatDay(risk.fit.asOf)}, learnt from {formatNumber(risk.fit.failures ?? 0)} failures
            of your own record.
          </>
        ) : (
          <>
            By published lifetimes: nothing has been learnt from your own record yet, or it is not{" "}
            <Link href="/risk/fits">in use</Link>.
          </>
        )}
      </p>
      <div className="columns">
        <SurvivalCurve
          curve={risk.curve}
          install={page.entry.install}
          plannedDay={page.planned?.periodStart ?? null}
          medianRemainingYears={risk.forecast.medianRemainingYears}
        />
        <div className="section">
          <h3>What raises or lowers it</h3>
          <table className="ledger">
            <caption className="visually-hidden">
              Chance of failing within 12 months, split into its reasons
            </caption>
            <thead>
              <tr>
                <th scope="col">Reason</th>
                <th scope="col" className="number">
                  Points
                </th>
              </tr>
            </thead>
            <tbody>
              <tr>
                <th scope="row">{explanation.baselineSentence}</th>
                <td className="number">{formatNumber(100 * explanation.baselineProbability, 1)}</td>
              </tr>
              {explanation.factors.map((factor) => (
                <tr key={factor.factor}>
                  <th scope="row">{factor.sentence}</th>
                  <td className="number">
                    {factor.change >= 0 ? "+" : "−"}
                    {formatNumber(Math.abs(100 * factor.change), 1)}
                  </td>
                </tr>
              ))}
            </tbody>
            <tfoot>
              <tr>
                <th scope="row">This heater, in 12 months</th>
                <td className="number">{formatShare(explanation.probability)}</td>
              </tr>
            </tfoot>
          </table>
          {explanation.factors.length === 0 && (
            <p className="small soft">
              Nothing on record sets it apart from an ordinary heater. A setpoint, a water test or a
              visit would.
            </p>
          )}
          <h3>If it fails</h3>
          <table className="ledger">
            <caption className="visually-hidden">Loss if it fails and expected loss</caption>
            <thead>
              <tr>
                <th scope="col">Beyond a planned swap</th>
                <th scope="col" className="number">
                  If it fails
                </th>
                <th scope="col" className="number">
                  × chance, a year
                </th>
              </tr>
            </thead>
            <tbody>
              {(
                [
                  ["Emergency premium", "emergencyPremiumCents"],
                  ["Damage, leaks only, by place", "damageCents"],
                  ["Days without hot water", "noHotWaterCents"],
                ] as const
              ).map(([label, part]) => (
                <tr key={part}>
                  <th scope="row">{label}</th>
                  <td className="number">{formatMoney(loss.ifItFails[part])}</td>
                  <td className="number">{formatMoney(loss.expected[part])}</td>
                </tr>
              ))}
            </tbody>
            <tfoot>
              <tr>
                <th scope="row">Loss</th>
                <td className="number">{formatMoney(loss.ifItFails.totalCents)}</td>
                <td className="number">{formatMoney(loss.expected.totalCents)}</td>
              </tr>
            </tfoot>
          </table>
          <p className="small soft">
            {assumed} of the {Object.keys(assumptions).length} values behind it are assumed; an
            owner or manager can enter your own under Settings.
          </p>
        </div>
      </div>
    </section>
  );
}
