import { executeEmissionsRun } from "@/lib/services/emissions-run";
import type { JobHandler } from "./definitions";

/** Computes a requested emissions account. Done twice it keeps one. */
export const runEmissionsJob: JobHandler = (data, context) => executeEmissionsRun(data, context);
