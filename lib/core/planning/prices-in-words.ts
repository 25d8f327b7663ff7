import { formatCents } from "@/lib/core/shared/money";
import type { PlanPrices } from "./problem";

/** Savings below these are not worth a sentence: a tenth of a cent on a dollar, a cent an hour or tonne. */
const LEAST_ON_A_DOLLAR = 0.001;
const LEAST_CENTS = 1;

/**
 * What one more unit of each limit would be worth, in sentences, dearest first within each kind. They
 * are slopes of the lower bound: true for a little more, and the plan itself moves in whole heaters.
 */
export function describePrices(prices: PlanPrices): readonly string[] {
  const sentences: string[] = [];
  const byWorth = (limits: Readonly<Record<string, number>>) =>
    Object.entries(limits).sort(([a, x], [b, y]) => y - x || (a < b ? -1 : 1));
  for (const [year, worth] of byWorth(prices.budget)) {
    if (worth < LEAST_ON_A_DOLLAR) continue;
    sentences.push(
      `One more dollar in the budget of ${year} would save ${formatCents(Math.round(worth * 100))} ` +
        "in present value, its own cost already counted.",
    );
  }
  for (const [period, cents] of byWorth(prices.crew)) {
    if (cents < LEAST_CENTS) continue;
    sentences.push(
      `One more crew hour in ${period} would save ${formatCents(Math.round(cents))} in present value.`,
    );
  }
  if (prices.emission !== null) {
    const perTonne = prices.emission * 1_000;
    sentences.push(
      perTonne < LEAST_CENTS
        ? "The emission cap costs nothing: the plan would stay below it anyway."
        : `One more tonne under the emission cap would save ${formatCents(Math.round(perTonne))} ` +
            "in present value: that is what the last tonne avoided costs.",
    );
  }
  return sentences.length > 0
    ? sentences
    : ["No limit binds: more money or more crew hours would not make the plan cheaper."];
}
