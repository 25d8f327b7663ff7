import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import type { PlanSummary } from "@/lib/services/plan-summary";

type Year = PlanSummary["ledger"][number];

const or = (cents: number | null) => (cents === null ? "no limit" : formatMoney(cents));
const tonnes = (kilograms: number) => formatNumber(kilograms / 1000, 1);

/** The plan as a table of years; a year opens to its lines in the schedule below. */
export function LedgerOfYears({
  summary: { ledger, circuitCentsByYear },
}: {
  readonly summary: PlanSummary;
}) {
  const circuits = circuitCentsByYear.reduce((sum, cents) => sum + cents, 0);
  const total = (pick: (year: Year) => number | null) =>
    ledger.reduce((sum, year) => sum + (pick(year) ?? 0), 0);
  return (
    <section className="section">
      <h2>Ledger of years</h2>
      <p className="soft small">
        In today’s dollars. A year’s name opens its lines in the schedule. Emergencies are expected
        first failures before a planned swap; their cost is not part of the budget, what is kept is
        there for it.
      </p>
      <LedgerFrame label="Ledger of years">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Year</th>
              <th scope="col" className="number">
                Budget
              </th>
              <th scope="col" className="number">
                Swaps
              </th>
              <th scope="col" className="number">
                for
              </th>
              <th scope="col" className="number">
                Circuits and panels
              </th>
              <th scope="col" className="number">
                Service upgrades
              </th>
              <th scope="col" className="number">
                Visits
              </th>
              <th scope="col" className="number">
                Kept for emergencies
              </th>
              <th scope="col" className="number">
                Left over
              </th>
              <th scope="col" className="number">
                Crew hours
              </th>
              <th scope="col" className="number">
                Expected emergencies
              </th>
              <th scope="col" className="number">
                Their expected cost
              </th>
              <th scope="col" className="number">
                Tonnes CO2e
              </th>
            </tr>
          </thead>
          <tbody>
            {ledger.map((year, index) => (
              <tr key={year.year}>
                <th scope="row">
                  {year.swaps + year.upgradeCents > 0 ? (
                    <a href={`#lines-${year.year}`}>{year.year}</a>
                  ) : (
                    year.year
                  )}
                </th>
                <td className="number">{or(year.budgetCents)}</td>
                <td className="number">{formatNumber(year.swaps)}</td>
                <td className="number">
                  {formatMoney(year.swapCents - (circuitCentsByYear[index] ?? 0))}
                </td>
                <td className="number">{formatMoney(circuitCentsByYear[index] ?? 0)}</td>
                <td className="number">{formatMoney(year.upgradeCents)}</td>
                <td className="number">{formatMoney(year.mobilisationCents)}</td>
                <td className="number">{or(year.contingencyCents)}</td>
                <td className="number">{or(year.unspentCents)}</td>
                <td className="number">
                  {formatNumber(year.crewHours)}
                  {year.crewHoursAvailable !== null && (
                    <span className="soft"> of {formatNumber(year.crewHoursAvailable)}</span>
                  )}
                </td>
                <td className="number">{formatNumber(year.expectedEmergencies, 1)}</td>
                <td className="number">{formatMoney(year.expectedEmergencyCents)}</td>
                <td className="number">{tonnes(year.expectedKg)}</td>
              </tr>
            ))}
          </tbody>
          <tfoot>
            <tr>
              <th scope="row">All years</th>
              <td className="number">{formatMoney(total((year) => year.budgetCents))}</td>
              <td className="number">{formatNumber(total((year) => year.swaps))}</td>
              <td className="number">{formatMoney(total((year) => year.swapCents) - circuits)}</td>
              <td className="number">{formatMoney(circuits)}</td>
              <td className="number">{formatMoney(total((year) => year.upgradeCents))}</td>
              <td className="number">{formatMoney(total((year) => year.mobilisationCents))}</td>
              <td className="number">{formatMoney(total((year) => year.contingencyCents))}</td>
              <td />
              <td className="number">{formatNumber(total((year) => year.crewHours))}</td>
              <td className="number">
                {formatNumber(
                  total((year) => year.expectedEmergencies),
                  1,
                )}
              </td>
              <td className="number">
                {formatMoney(total((year) => year.expectedEmergencyCents))}
              </td>
              <td className="number">{tonnes(total((year) => year.expectedKg))}</td>
            </tr>
          </tfoot>
        </table>
      </LedgerFrame>
    </section>
  );
}
