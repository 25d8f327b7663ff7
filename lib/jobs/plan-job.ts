import type { PlanSolution, SolveProgress } from "@/lib/core/planning/problem";
import { executePlanRun, type SolveAside } from "@/lib/services/plan-run";
import type { JobHandler } from "./definitions";
import type { SolveMessage } from "./solve-thread";
import { startThread } from "./thread";

/** Seconds that a solver may overrun its own limit before its thread is ended. */
const GRACE_SECONDS = 45;

/** How often a solver that says nothing is reported as still at work, in milliseconds. */
const QUIET_MILLISECONDS = 1_000;

export const runPlanJob: JobHandler = (data, { signal }) =>
  executePlanRun(data, { signal, solve: solveInThread });

/**
 * Solves in a worker thread of its own. The thread is ended when the signal says so or when the
 * solver has overrun its limit: it cannot be interrupted from inside.
 */
export const solveInThread: SolveAside = (request, { signal, onProgress }) =>
  new Promise<PlanSolution>((resolve, reject) => {
    const thread = startThread(new URL("./solve-thread.ts", import.meta.url), request);
    let latest: SolveProgress = { stage: "start", objectiveCents: null, lowerBoundCents: null };
    const quiet = setInterval(() => onProgress(latest), QUIET_MILLISECONDS);
    const deadline = setTimeout(
      () =>
        end(() =>
          reject(new Error(`no plan was found within ${request.seconds + GRACE_SECONDS} seconds`)),
        ),
      (request.seconds + GRACE_SECONDS) * 1000,
    );
    const onAbort = () => end(() => reject(signal.reason));
    let isOver = false;
    const end = (settle: () => void) => {
      if (isOver) return;
      isOver = true;
      clearInterval(quiet);
      clearTimeout(deadline);
      signal.removeEventListener("abort", onAbort);
      // The promise settles when the thread is gone, so that nothing of it outlives the run.
      void thread.terminate().then(settle, settle);
    };
    signal.addEventListener("abort", onAbort);
    if (signal.aborted) onAbort();
    thread.on("message", (message: SolveMessage) => {
      if (message.kind === "progress") {
        latest = message.progress;
        onProgress(latest);
      } else if (message.kind === "solution") {
        end(() => resolve(message.solution));
      } else {
        end(() => reject(new Error(message.message)));
      }
    });
    thread.once("error", (error) => end(() => reject(error)));
    thread.once("exit", (code) =>
      end(() => reject(new Error(`the solver ended without an answer (code ${code})`))),
    );
  });
