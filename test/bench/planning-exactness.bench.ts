import { checkPlan } from "@/lib/core/planning/check-plan";
import type { PlanProblem, PlanSolution } from "@/lib/core/planning/problem";
import { solveAutomatically } from "@/lib/core/planning/solvers/auto";
import { solveByDecomposition } from "@/lib/core/planning/solvers/by-decomposition";
import { solveExactly } from "@/lib/core/planning/solvers/exact";
import { aPlanProblem } from "@/test/support/a-plan-problem";
import { planByBruteForce } from "@/test/support/brute-force-planner";

/** 200 seeded portfolios of up to 50 heaters with headroom, upgrades, visits, crews, caps and locks. */
const INSTANCES = 200;
const SECONDS = 30;

export async function run(): Promise<void> {
  const plan = { decomposition: [] as number[], auto: [] as number[] };
  const bound: number[] = [];
  const broken: string[] = [];
  let infeasible = 0;
  let undecided = 0;
  let judged = 0;
  let noPlan = 0;
  const spent = { exact: 0, decomposition: 0, auto: 0 };
  for (let seed = 1; seed <= INSTANCES; seed++) {
    const problem = instance(seed);
    const exact = await timed(solveExactly, problem, 0, (ms) => (spent.exact += ms));
    const decomposed = await timed(
      solveByDecomposition,
      problem,
      0,
      (ms) => (spent.decomposition += ms),
    );
    const auto = await timed(solveAutomatically, problem, 1e-4, (ms) => (spent.auto += ms));
    if (exact.status === "infeasible") {
      infeasible++;
      if (auto.status !== "infeasible") broken.push(`${seed}: auto says ${auto.status}`);
      if (decomposed.objectiveCents !== null) broken.push(`${seed}: a plan where there is none`);
      continue;
    }
    if (exact.status !== "optimal" || exact.objectiveCents === null) {
      undecided++;
      continue;
    }
    const optimum = exact.objectiveCents;
    const judge = bruteForceOptimum(problem);
    if (judge !== null) {
      judged++;
      if (Math.abs(judge - optimum) > 1e-6 * Math.abs(optimum)) broken.push(`${seed}: brute force`);
    }
    for (const [name, solution] of [
      ["decomposition", decomposed],
      ["auto", auto],
    ] as const) {
      if ((solution.lowerBoundCents ?? 0) > optimum * (1 + 1e-6))
        broken.push(`${seed}: ${name} bound`);
      if (solution.objectiveCents === null) {
        noPlan++;
        continue;
      }
      if (solution.objectiveCents < optimum * (1 - 1e-6)) broken.push(`${seed}: ${name} plan`);
      if (checkPlan(problem, solution).violations.length > 0) broken.push(`${seed}: ${name} rules`);
      plan[name].push((solution.objectiveCents - optimum) / optimum);
    }
    bound.push((optimum - (decomposed.lowerBoundCents ?? 0)) / optimum);
  }
  console.log(
    `${INSTANCES} instances: ${bound.length} compared, ${infeasible} infeasible, ${undecided} not solved ` +
      `to 1e-6 in ${SECONDS} s, ${judged} also by brute force`,
  );
  console.log(
    broken.length === 0
      ? "lower bound ≤ optimum ≤ plan, and every rule kept, on all"
      : `BROKEN on ${broken.join("; ")}`,
  );
  console.log(`plan above optimum, auto: ${quantiles(plan.auto)}`);
  console.log(
    `plan above optimum, decomposition alone: ${quantiles(plan.decomposition)}; no plan on ${noPlan}`,
  );
  console.log(`bound below optimum, decomposition alone: ${quantiles(bound)}`);
  console.log(
    `time against the exact solver: decomposition ${(spent.decomposition / spent.exact).toFixed(3)}×, ` +
      `auto ${(spent.auto / spent.exact).toFixed(3)}×`,
  );
}

function instance(seed: number): PlanProblem {
  // Every tenth is small enough for every combination to be tried.
  const tiny = seed % 10 === 0;
  return aPlanProblem({
    seed,
    heaters: tiny ? 4 : 5 + ((seed * 7) % 46),
    periods: tiny ? 2 : 3 + (seed % 5),
    heatersPerBuilding: 3 + (seed % 8),
    options: 2 + (tiny ? 0 : seed % 2),
    tightness: 0.4 + (seed % 5) * 0.15,
    crews: seed % 3 !== 0,
    cap: seed % 2 === 0 ? null : 0.25 + (seed % 3) * 0.15,
    carryOver: (seed % 3) * 0.5,
    lockShare: seed % 4 === 0 ? 0.05 : 0,
  });
}

function bruteForceOptimum(problem: PlanProblem): number | null {
  if (problem.heaters.length > 4 || problem.periods.length > 2) return null;
  return planByBruteForce(problem)?.check.objectiveCents ?? null;
}

async function timed(
  solve: typeof solveExactly,
  problem: PlanProblem,
  gap: number,
  took: (milliseconds: number) => void,
): Promise<PlanSolution> {
  const begin = performance.now();
  const elapsedSeconds = () => (performance.now() - begin) / 1_000;
  const solution = await solve(problem, { gap, seconds: SECONDS, seed: 1, elapsedSeconds });
  took(performance.now() - begin);
  return solution;
}

function quantiles(values: readonly number[]): string {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (share: number) =>
    `${(100 * (sorted[Math.floor((sorted.length - 1) * share)] ?? Number.NaN)).toFixed(4)} %`;
  return `median ${at(0.5)}, 95 of 100 ${at(0.95)}, worst ${at(1)}`;
}
