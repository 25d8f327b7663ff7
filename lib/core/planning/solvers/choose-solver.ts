import type { PlanSolver } from "@/lib/core/planning/problem";
import { solveAutomatically } from "./auto";
import { solveByDecomposition } from "./by-decomposition";
import { solveExactly } from "./exact";

export const SOLVER_NAMES = ["auto", "exact", "decomposition"] as const;
export type SolverName = (typeof SOLVER_NAMES)[number];

const SOLVERS: Readonly<Record<SolverName, PlanSolver>> = {
  auto: solveAutomatically,
  exact: solveExactly,
  decomposition: solveByDecomposition,
};

export function solverNamed(name: SolverName): PlanSolver {
  return SOLVERS[name];
}
