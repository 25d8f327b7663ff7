import { checkPlan } from "./check-plan";
import type {
  PlanAssignment,
  PlanProblem,
  PlanSolution,
  PlanSolver,
  SolveOptions,
} from "./problem";

/** One budget of the frontier. */
export type FrontierPoint = {
  /** Every year's budget times this. */
  readonly factor: number;
  readonly solution: PlanSolution;
  /** Undiscounted, over the whole horizon; null without a plan. */
  readonly spentCents: number | null;
  readonly kg: number | null;
};

/** Budgets from half to half as much again: what a board may ask for. */
export const FRONTIER_FACTORS = [
  0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1, 1.05, 1.1, 1.2, 1.3, 1.5,
] as const;

/**
 * The best plan for each of several budgets, from the smallest up: each begins from the plan before,
 * which a larger budget still allows, so that cost never rises along the frontier.
 *
 * @param options of each solve; `seconds` is for one point, counted from its own beginning
 * @throws {RangeError} for a factor below zero
 */
export async function budgetFrontier(
  problem: PlanProblem,
  factors: readonly number[],
  solve: PlanSolver,
  options: SolveOptions,
): Promise<readonly FrontierPoint[]> {
  const points: FrontierPoint[] = [];
  let start: readonly PlanAssignment[] | undefined = options.start;
  for (const factor of [...factors].sort((a, b) => a - b)) {
    if (!(factor >= 0)) throw new RangeError(`factor must be zero or more, got ${factor}`);
    if (options.shouldStop?.()) break;
    const budgets = Object.fromEntries(
      Object.entries(problem.budgets).map(([year, { cents, carryOver }]) => [
        year,
        { cents: Math.round(cents * factor), carryOver },
      ]),
    );
    const begin = options.elapsedSeconds();
    const scaled = { ...problem, budgets };
    const solution = await solve(scaled, {
      ...options,
      elapsedSeconds: () => options.elapsedSeconds() - begin,
      ...(start ? { start } : {}),
    });
    const check = solution.objectiveCents === null ? null : checkPlan(scaled, solution);
    points.push({
      factor,
      solution,
      spentCents: check
        ? Object.values(check.spentCents).reduce((sum, each) => sum + each, 0)
        : null,
      kg: check?.kg ?? null,
    });
    if (solution.objectiveCents !== null) start = solution.assignments;
  }
  return points;
}
