import type { PlanSolver } from "@/lib/core/planning/problem";
import { solveExactly } from "./exact";

export type SolverName = "auto" | "exact" | "decomposition";

export function solverNamed(_name: SolverName): PlanSolver {
  return solveExactly;
}
