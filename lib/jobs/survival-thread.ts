import { parentPort, workerData } from "node:worker_threads";
import { computeBackTest, computeFit, type FitRequest } from "@/lib/services/risk-fit-run";
import { closeDatabase } from "@/lib/services/work-queue";
import type { AsideMessage } from "./aside";

/** A fit or a back-test in a thread of its own, with its own look at the database. */
export type SurvivalWork = { readonly kind: "fit" | "back-test"; readonly request: FitRequest };

const post = (message: AsideMessage<unknown>) => parentPort?.postMessage(message);

const { kind, request } = workerData.input as SurvivalWork;
try {
  const compute = kind === "fit" ? computeFit : computeBackTest;
  const answer = await compute(request, (share, message) =>
    post({ kind: "progress", share, message }),
  );
  await closeDatabase();
  post({ kind: "answer", answer });
} catch (error) {
  post({ kind: "failure", message: error instanceof Error ? error.message : String(error) });
}
