import { formatMoney } from "@/app/_lib/format";
import styles from "@/app/(desk)/plans/_components/plans.module.css";
import { periodWords } from "@/app/(desk)/plans/_lib/words";
import type { ScenarioTerms } from "@/lib/core/planning/scenario";
import { formatCents } from "@/lib/core/shared/money";
import type { PlanSummary } from "@/lib/services/plan-summary";

/** A price below this is the arithmetic of the solver, not of the plan. */
const LEAST_BUDGET_PRICE = 0.005;
const LEAST_CREW_CENTS = 50;

/** What one more dollar, crew hour or tonne would be worth, in words. */
export function Prices({
  summary,
  terms,
}: {
  readonly summary: PlanSummary;
  readonly terms: ScenarioTerms;
}) {
  const { prices } = summary;
  const budget = Object.entries(prices.budget);
  const dear = budget.filter(([, price]) => price >= LEAST_BUDGET_PRICE);
  const crews = Object.entries(prices.crew).filter(([, cents]) => cents >= LEAST_CREW_CENTS);
  const idle = budget.filter(([, price]) => price < LEAST_BUDGET_PRICE).map(([year]) => year);
  return (
    <section className="section">
      <h2>What a little more would bring</h2>
      <p className="soft">
        Slopes of the proof at the plan’s limits: what one unit more would save in present value,
        its own cost already paid. They hold for small changes.
      </p>
      <ul className={styles.list}>
        {dear.map(([year, price]) => (
          <li key={year}>
            One more dollar in {year} saves {formatCents(Math.round(price * 100))} beyond itself:{" "}
            {formatMoney(price * 1_000_000)} for every $10,000.
          </li>
        ))}
        {crews.map(([period, cents]) => (
          <li key={period}>
            One more crew hour in the {periodWords(period)} saves {formatMoney(cents)}.
          </li>
        ))}
        {prices.emission !== null && (
          <li>
            {prices.emission < 0.001
              ? "The emission cap does not bind: one more tonne would save nothing."
              : `One more tonne of CO2e under the cap saves ${formatMoney(prices.emission * 1000)}.`}
            {summary.excessKg > 0 && terms.emissionCap !== null && (
              <>
                {" "}
                The plan is {(summary.excessKg / 1000).toFixed(1)} tonnes above the cap and pays for
                it.
              </>
            )}
          </li>
        )}
        {idle.length > 0 && (
          <li>
            {budget.length === idle.length
              ? "Money is not what limits this plan: more in any year would save nothing."
              : `In ${yearList(idle)} the budget is not what limits the plan: more would save nothing.`}
          </li>
        )}
      </ul>
    </section>
  );
}

/** `2033 to 2041`, or the years one by one where they do not follow each other. */
function yearList(years: readonly string[]): string {
  const first = years[0] ?? "";
  const last = years[years.length - 1] ?? "";
  const isRun = Number(last) - Number(first) === years.length - 1;
  return isRun && years.length > 2 ? `${first} to ${last}` : years.join(", ");
}
