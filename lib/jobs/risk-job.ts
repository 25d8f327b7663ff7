import type { JobHandler } from "./definitions";
export const runRiskJob: JobHandler = async () => undefined;
