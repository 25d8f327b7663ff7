import { LedgerFrame } from "@/app/_components/ledger-frame";
import { formatKilograms, formatMoney, formatNumber } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { STRATEGY_LABELS } from "@/lib/core/planning/strategies";
import type { PlanSummary } from "@/lib/services/plan-summary";

/** The plan beside the ways to decide that need no planning. */
export function Strategies({ summary }: { readonly summary: PlanSummary }) {
  const { outcomes, replaceAtAgeYears } = summary;
  return (
    <section className="section">
      <h2>Against other ways to decide</h2>
      <p className="soft small">
        Over the whole horizon, in today’s dollars; expected values from the same failure
        probabilities. Replacing at {replaceAtAgeYears} years is the trade’s rule of thumb (common
        practice, no source) and asks neither budget nor crews.
      </p>
      <LedgerFrame label="The plan against other ways to decide">
        <table className={`ledger ${styles.wide}`}>
          <thead>
            <tr>
              <th scope="col">Way to decide</th>
              <th scope="col" className="number">
                Total cost, present value
              </th>
              <th scope="col" className="number">
                Planned swaps
              </th>
              <th scope="col" className="number">
                Planned spend
              </th>
              <th scope="col" className="number">
                Expected emergencies
              </th>
              <th scope="col" className="number">
                Their cost
              </th>
              <th scope="col" className="number">
                Emissions, CO2e
              </th>
              <th scope="col">Limits</th>
            </tr>
          </thead>
          <tbody>
            {outcomes.map((outcome) => (
              <tr key={outcome.strategy}>
                <th scope="row">
                  {outcome.strategy === "replace-at-age" ? (
                    `Replace at ${replaceAtAgeYears} years`
                  ) : outcome.strategy === "plan" ? (
                    <strong>{STRATEGY_LABELS.plan}</strong>
                  ) : (
                    STRATEGY_LABELS[outcome.strategy]
                  )}
                </th>
                <td className="number">{formatMoney(outcome.objectiveCents)}</td>
                <td className="number">{formatNumber(outcome.swaps)}</td>
                <td className="number">{formatMoney(outcome.spendCents)}</td>
                <td className="number">{formatNumber(outcome.emergencies)}</td>
                <td className="number">{formatMoney(outcome.emergencyCents)}</td>
                <td className="number">{formatKilograms(outcome.kg)}</td>
                <td>
                  {outcome.brokenRules === 0 ? (
                    "keeps all"
                  ) : (
                    <span className="mark mark--attention">
                      breaks {formatNumber(outcome.brokenRules)}
                    </span>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </LedgerFrame>
    </section>
  );
}
