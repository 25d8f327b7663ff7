import { Chart } from "@/app/_components/chart";
import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import { kilogramsToPounds } from "@/lib/core/shared/units";
import type { HeaterYear } from "@/lib/services/heater-page";

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** A year of energy, cost and emissions as the heater stands. */
export function EnergyPart({ year }: { readonly year: HeaterYear }) {
  return (
    <section className="section" aria-labelledby="energy">
      <h2 id="energy">Energy and emissions now</h2>
      <YearText year={year} />
    </section>
  );
}

function YearText({ year }: { readonly year: HeaterYear }) {
  const { energy, emissions, gridRegion } = year;
  const burns = energy.thermsPerYear > 0;
  const [low, high] = energy.thermsRange;
  return (
    <div className="columns">
      <div className="section">
        <dl className="facts">
          {burns && (
            <>
              <dt>Fuel</dt>
              <dd>
                {formatNumber(energy.thermsPerYear)} therms a year
                {Math.round(high) > Math.round(low) &&
                  ` (${formatNumber(low)} to ${formatNumber(high)} by how much scale costs)`}
              </dd>
            </>
          )}
          <dt>Electricity</dt>
          <dd>{formatNumber(energy.kwhPerYear)} kWh a year</dd>
          <dt>Cost</dt>
          <dd>
            {formatMoney(energy.costCentsPerYear)} a year
            {energy.standingCentsPerYear > 0 &&
              `, of it ${formatMoney(energy.standingCentsPerYear)} standing charge`}
          </dd>
          <dt>Heat out per energy in</dt>
          <dd>
            {energy.systemEfficiency === null ? "–" : formatNumber(energy.systemEfficiency, 2)}
          </dd>
        </dl>
        <LedgerFrame label="Emissions by line">
          <table className="ledger">
            <caption>
              Emissions a year, pounds of CO₂e (kilograms); grid region {gridRegion}; GWP set{" "}
              {emissions.gwpSet}
            </caption>
            <thead>
              <tr>
                <th scope="col">Scope and gas</th>
                <th scope="col" className="number">
                  lb (kg)
                </th>
                <th scope="col">Factor</th>
              </tr>
            </thead>
            <tbody>
              {emissions.lines
                .filter(({ method }) => method !== "market")
                .map((line) => (
                  <tr key={`${line.scope} ${line.source} ${line.gas}`}>
                    <th scope="row">
                      Scope {line.scope}, {line.source}, {line.gas.toUpperCase()}
                    </th>
                    <td className="number">
                      {formatNumber(kilogramsToPounds(line.kgCo2e), line.kgCo2e < 10 ? 1 : 0)} (
                      {formatNumber(line.kgCo2e, line.kgCo2e < 10 ? 1 : 0)})
                    </td>
                    <td>
                      {line.factor.value} {line.factor.unit}, {line.factor.vintage}
                      <div className="soft">{line.factor.source}</div>
                    </td>
                  </tr>
                ))}
            </tbody>
          </table>
        </LedgerFrame>
        {(energy.assumed.length > 0 || emissions.notes.length > 0) && (
          <details className="small">
            <summary>
              {energy.assumed.length} assumed {energy.assumed.length === 1 ? "value" : "values"}
              {emissions.notes.length > 0 && `, ${emissions.notes.length} notes on the factors`}
            </summary>
            <ul>
              {[...energy.assumed, ...emissions.notes].map((words) => (
                <li key={words}>{words}</li>
              ))}
            </ul>
          </details>
        )}
      </div>
      <Chart
        title="Cost by month"
        summary={`Modelled cost of each month: ${formatMoney(Math.min(...energy.monthly.costCents))} to ${formatMoney(Math.max(...energy.monthly.costCents))}.`}
        labelsName="Month"
        labels={MONTHS}
        unit="dollars"
        format="money"
        series={[
          {
            label: "Energy cost",
            values: energy.monthly.costCents.map((cents) => cents / 100),
            ink: burns ? "copper" : "tide",
          },
        ]}
      />
    </div>
  );
}
