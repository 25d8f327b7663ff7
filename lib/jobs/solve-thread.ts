import { parentPort, workerData } from "node:worker_threads";
import type { PlanSolution, SolveProgress } from "@/lib/core/planning/problem";
import { solverNamed } from "@/lib/core/planning/solvers/choose-solver";
import type { SolveRequest } from "@/lib/services/plan-run";

/** What the thread sends: progress any number of times, then the solution or why there is none. */
export type SolveMessage =
  | { readonly kind: "progress"; readonly progress: SolveProgress }
  | { readonly kind: "solution"; readonly solution: PlanSolution }
  | { readonly kind: "failure"; readonly message: string };

const post = (message: SolveMessage) => parentPort?.postMessage(message);

const { problem, gap, seconds, seed } = workerData.input as SolveRequest;
const began = performance.now();
try {
  const solution = await solverNamed("auto")(problem, {
    gap,
    seconds,
    seed,
    elapsedSeconds: () => (performance.now() - began) / 1000,
    onProgress: (progress) => post({ kind: "progress", progress }),
  });
  post({ kind: "solution", solution });
} catch (error) {
  post({ kind: "failure", message: error instanceof Error ? error.message : String(error) });
}
