import { availableParallelism } from "node:os";
import { parentPort, workerData } from "node:worker_threads";
import type { PlanSolution, SolveProgress } from "@/lib/core/planning/problem";
import { solverNamed } from "@/lib/core/planning/solvers/choose-solver";
import type { SolveRequest } from "@/lib/services/plan-run";
import { threadTeam } from "./thread-team";

/** What the thread sends: progress any number of times, then the solution or why there is none. */
export type SolveMessage =
  | { readonly kind: "progress"; readonly progress: SolveProgress }
  | { readonly kind: "solution"; readonly solution: PlanSolution }
  | { readonly kind: "failure"; readonly message: string };

/** More threads than this find too little to do between what one of them must do alone. */
const MOST_THREADS = 4;

const post = (message: SolveMessage) => parentPort?.postMessage(message);

const { problem, gap, seconds, seed, start } = workerData.input as SolveRequest;
const began = performance.now();
try {
  const solution = await solverNamed("auto")(problem, {
    gap,
    seconds,
    seed,
    ...(start ? { start } : {}),
    elapsedSeconds: () => (performance.now() - began) / 1000,
    teamFor: threadTeam(Math.min(MOST_THREADS, availableParallelism())),
    onProgress: (progress) => post({ kind: "progress", progress }),
  });
  post({ kind: "solution", solution });
} catch (error) {
  post({ kind: "failure", message: error instanceof Error ? error.message : String(error) });
}
