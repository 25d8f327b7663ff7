import {
  type ComputeAside,
  executeBackTest,
  executeFit,
  type FitRequest,
} from "@/lib/services/risk-fit-run";
import { runAside } from "./aside";
import type { JobHandler } from "./definitions";
import type { SurvivalWork } from "./survival-thread";

const inThread =
  <T>(kind: SurvivalWork["kind"]): ComputeAside<T> =>
  (request: FitRequest, options) =>
    runAside(
      new URL("./survival-thread.ts", import.meta.url),
      { kind, request } satisfies SurvivalWork,
      options,
    );

/** Learns from an organisation's record. Done twice it stores one answer. */
export const runFitJob: JobHandler = (data, { signal }) =>
  executeFit(data, { signal, compute: inThread("fit") });

/** Tries the model on past years. Done twice it stores one answer. */
export const runBackTestJob: JobHandler = (data, { signal }) =>
  executeBackTest(data, { signal, compute: inThread("back-test") });
