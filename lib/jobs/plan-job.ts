import type { JobHandler } from "./definitions";
export const runPlanJob: JobHandler = async () => undefined;
