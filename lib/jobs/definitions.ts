import type { QueueName } from "@/lib/services/work-queue";

/** What a job is given while it runs. */
export type JobContext = { readonly signal: AbortSignal };

export type JobHandler = (data: unknown, context: JobContext) => Promise<void>;

/** Each queue's handler, loaded when its first job comes. */
export const JOB_HANDLERS: Readonly<Record<QueueName, () => Promise<JobHandler>>> = {
  plan: async () => (await import("./plan-job")).runPlanJob,
  risk: async () => (await import("./risk-job")).runRiskJob,
  fit: async () => (await import("./fit-job")).runFitJob,
  "back-test": async () => (await import("./fit-job")).runBackTestJob,
  import: async () => (await import("./import-job")).runImportJob,
  emissions: async () => (await import("./emissions-job")).runEmissionsJob,
};
