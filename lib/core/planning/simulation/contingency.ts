import { quantile } from "@/lib/core/stats/quantile";

/** In how many years out of a hundred the contingency should suffice, as a share. */
export const CONTINGENCY_QUANTILE = 0.8;

/**
 * Share of the budget that covers the emergencies of a year in `quantile` of all simulated years; 1 when
 * even the whole budget does not. Null when no year has a budget above zero.
 *
 * @param emergencyCents what emergencies cost, trial by trial, `budgetCents.length` years each
 * @param budgetCents whole budget of each year; Infinity without a limit, and such a year is left out
 * @throws {RangeError} when the quantile is outside 0 to 1.
 */
export function contingencyShare(
  emergencyCents: ArrayLike<number>,
  budgetCents: ArrayLike<number>,
  atQuantile: number = CONTINGENCY_QUANTILE,
): number | null {
  const years = budgetCents.length;
  const shares: number[] = [];
  for (let n = 0; n < emergencyCents.length; n++) {
    const budget = budgetCents[n % years];
    if (budget > 0 && Number.isFinite(budget)) shares.push(emergencyCents[n] / budget);
  }
  return shares.length === 0 ? null : Math.min(1, quantile(shares, atQuantile));
}

/** How a contingency that depends on the plan, which depends on it, was settled. */
export type SettledContingency<P> = {
  /** What was kept for the last plan. */
  readonly share: number;
  /** What that plan turns out to need. */
  readonly needed: number;
  readonly plan: P;
  readonly solves: number;
  /** The two differ by no more than the tolerance. */
  readonly isSettled: boolean;
};

/**
 * Fixed point of the contingency: plan with a share kept, see what that plan's emergencies need, plan
 * again with it, at most `solves` times.
 */
export async function settleContingency<P>(
  planWith: (share: number) => Promise<{ readonly plan: P; readonly needed: number }>,
  {
    start,
    solves = 3,
    tolerance = 0.01,
  }: { readonly start: number; readonly solves?: number; readonly tolerance?: number },
): Promise<SettledContingency<P>> {
  if (!(Number.isInteger(solves) && solves >= 1)) {
    throw new RangeError(`solves must be a whole number above zero, got ${solves}`);
  }
  let share = start;
  for (let solve = 1; ; solve++) {
    const { plan, needed } = await planWith(share);
    const isSettled = Math.abs(needed - share) <= tolerance;
    if (isSettled || solve === solves) return { share, needed, plan, solves: solve, isSettled };
    share = needed;
  }
}
